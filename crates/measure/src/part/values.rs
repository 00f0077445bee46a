//! The numbers of a part, as functions of the solved state.

use super::problem::{EDGE_A, EDGE_B, INNER, OUTER, Problem};
use shimwright_geom::{Vec2, Vec3};
use shimwright_solve::{CurvesState, Shape};

/// Diameter of a rim, mm.
pub(super) fn diameter(state: &CurvesState, curve: usize) -> f64 {
    match &state.curves[curve] {
        Shape::Circle(circle) => 2.0 * circle.radius,
        Shape::Line(_) => f64::NAN,
    }
}

/// Distance between two straight edges where they face each other, mm.
pub(super) fn width(state: &CurvesState, a: usize, b: usize) -> f64 {
    let (Shape::Line(a), Shape::Line(b)) = (&state.curves[a], &state.curves[b]) else {
        return f64::NAN;
    };
    let direction = if a.direction.dot(&b.direction) < 0.0 {
        a.direction - b.direction
    } else {
        a.direction + b.direction
    };
    let direction = direction.normalize();
    // Halfway between the two, so that a small angle between the edges takes no part.
    let middle = (a.point + b.point) / 2.0;
    let at = |point: &Vec3, along: &Vec3| {
        point + along * ((middle - point).dot(&direction) / along.dot(&direction))
    };
    (at(&a.point, &a.direction) - at(&b.point, &b.direction)).norm()
}

/// From the bore's centre to the outer rim's, along the sheet, mm.
pub(super) fn offset(state: &CurvesState, outer: usize, inner: usize) -> Vec2 {
    let between = state.curves[outer].middle() - state.curves[inner].middle();
    Vec2::new(between.x, between.y)
}

/// What a job measures, by value name, the main value first.
pub(super) fn sizes(problem: &Problem) -> Vec<(&'static str, Size)> {
    let mut sizes = Vec::new();
    if let Some(outer) = problem.curve(OUTER) {
        sizes.push(("outer_diameter", Size::Diameter(outer)));
    }
    if let (Some(a), Some(b)) = (problem.curve(EDGE_A), problem.curve(EDGE_B)) {
        sizes.push(("width", Size::Width(a, b)));
    }
    if let Some(inner) = problem.curve(INNER) {
        sizes.push(("inner_diameter", Size::Diameter(inner)));
    }
    sizes
}

/// A size of a part.
#[derive(Clone, Copy, Debug)]
pub(super) enum Size {
    /// Diameter of a curve.
    Diameter(usize),
    /// Distance between two curves.
    Width(usize, usize),
}

impl Size {
    /// Its value in a state, mm.
    pub fn of(self, state: &CurvesState) -> f64 {
        match self {
            Self::Diameter(curve) => diameter(state, curve),
            Self::Width(a, b) => width(state, a, b),
        }
    }

    /// Its variance from how far outward each curve may lie for all that is known of its chamfer (standard deviations, mm).
    pub fn open(self, curves: &[f64]) -> f64 {
        match self {
            Self::Diameter(curve) => (2.0 * curves[curve]).powi(2),
            Self::Width(a, b) => curves[a].powi(2) + curves[b].powi(2),
        }
    }
}
