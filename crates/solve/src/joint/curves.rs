//! The joint solve with any number of straight edges and rims beside the target.
//!
//! Parameters are those of the [`JointProblem`] without features of its own, then those of each curve, then the shift
//! of each curve across itself in each photo (photo by photo, px).

use super::{Crossing, EDGE_LOSS, Group, JointProblem, JointState, LOST_RESIDUAL};
use crate::features::{Curve, across};
use crate::least_squares::gradient;
use crate::{Circle, CurvePoint, Error, Line, Loss, Model, Options, Residuals, Solution, solve};
use nalgebra::{DMatrix, DVector};
use shimwright_geom::{Vec2, Vec3};

/// A curve in the fixed frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// A straight edge.
    Line(Line),
    /// A rim.
    Circle(Circle),
}

impl Shape {
    /// The point at a curve parameter (mm along a line, rad around a rim), mm.
    pub fn point(&self, t: f64) -> Vec3 {
        match self {
            Self::Line(line) => line.point(t),
            Self::Circle(circle) => circle.point(t),
        }
    }

    /// The point that a height is stated for: of a line, its own; of a rim, the centre. In mm.
    pub fn middle(&self) -> Vec3 {
        match self {
            Self::Line(line) => line.point,
            Self::Circle(circle) => circle.centre,
        }
    }

    /// Unit direction of a line, unit normal of a rim's plane.
    pub fn direction(&self) -> Vec3 {
        match self {
            Self::Line(line) => line.direction,
            Self::Circle(circle) => circle.normal,
        }
    }

    /// Number of its parameters: of a line, two shifts and two turns across it; of a rim, the centre's three coordinates, two
    /// turns of its plane, and the radius.
    pub fn parameters(&self) -> usize {
        match self {
            Self::Line(_) => Line::PARAMETERS,
            Self::Circle(_) => Circle::PARAMETERS,
        }
    }

    /// The curve moved by a step of its parameters, mm and rad.
    pub fn moved(&self, step: &[f64]) -> Self {
        match self {
            Self::Line(line) => Self::Line(line.moved(step)),
            Self::Circle(circle) => Self::Circle(circle.moved(step)),
        }
    }
}

/// A point of a curve's edge seen in a photo.
#[derive(Clone, Copy, Debug)]
pub struct CurveSight {
    /// Index of the photo.
    pub photo: usize,
    /// Index of the curve.
    pub curve: usize,
    /// A point of the edge, px.
    pub at: Vec2,
    /// Unit vector across the edge, px.
    pub side: Vec2,
    /// Curve parameter to start the search for the nearest point from (mm or rad).
    pub t: f64,
    /// Standard deviation across the edge, px.
    pub sigma_px: f64,
}

/// What is known of the curves beforehand, each with its standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Known {
    /// Height of a curve's middle above the target there, towards the cameras, mm.
    Height {
        /// Index of the curve.
        curve: usize,
        /// The height, mm.
        height: f64,
        /// Standard deviation, mm.
        sigma: f64,
    },
    /// Radius of a rim, mm.
    Radius {
        /// Index of the curve.
        curve: usize,
        /// The radius, mm.
        radius: f64,
        /// Standard deviation, mm.
        sigma: f64,
    },
    /// The curve lies flat on the target: the angle by which a rim's plane or a line may fail to, rad.
    Flat {
        /// Index of the curve.
        curve: usize,
        /// Standard deviation, rad.
        sigma: f64,
    },
    /// Two curves lie in one plane parallel to the target: their heights differ by nothing.
    Level {
        /// Indices of the curves.
        curves: [usize; 2],
        /// Standard deviation, mm.
        sigma: f64,
    },
    /// Two lines, or the axes of two rims, are parallel.
    Parallel {
        /// Indices of the curves.
        curves: [usize; 2],
        /// Standard deviation of the angle about each of two axes, rad.
        sigma: f64,
    },
    /// A direction of a rim's axis or of a line, by its part along a unit vector: how far it may be from square to it.
    Square {
        /// Index of the curve.
        curve: usize,
        /// The unit vector.
        to: Vec3,
        /// Standard deviation, rad.
        sigma: f64,
    },
}

/// Everything that is solved for.
#[derive(Clone, Debug)]
pub struct CurvesState {
    /// Cameras, photos, print scale, bend.
    pub base: JointState,
    /// The curves.
    pub curves: Vec<Shape>,
    /// Shift of each curve across itself in each photo, px: photo by photo.
    pub shifts: Vec<f64>,
}

impl CurvesState {
    /// How far a curve passes from where a piece of its edge was seen, px across it; `None` where it has no nearest point.
    pub fn miss_px(&self, sight: &CurveSight) -> Option<f64> {
        let camera = self.base.camera_of(sight.photo);
        let pose = &self.base.photos[sight.photo].camera_from_fixed;
        let near = match &self.curves[sight.curve] {
            Shape::Line(line) => CurvePoint::nearest(line, &camera, pose, &sight.at, &sight.side, sight.t),
            Shape::Circle(circle) => {
                CurvePoint::nearest(circle, &camera, pose, &sight.at, &sight.side, sight.t)
            }
        }?;
        Some((near.seen.at - sight.at).dot(&near.normal))
    }
}

/// A joint problem with curves. The base problem holds corners and priors; its own features are not used.
pub struct CurvesProblem<'a> {
    /// Corners, cameras, print.
    pub base: JointProblem<'a>,
    /// Points of the curves.
    pub sights: &'a [CurveSight],
    /// What is known of the curves.
    pub known: &'a [Known],
    /// The curves' kinds, as in the state.
    pub curves: &'a [Shape],
    /// Standard deviation of a shift, px.
    pub shift_sigma: f64,
}

/// Solution of a joint problem with curves.
pub type CurvesSolution = Solution<CurvesState>;

impl CurvesProblem<'_> {
    /// Residual group of stated heights: they have a line of their own in a budget.
    pub const HEIGHT: usize = Group::COUNT;

    /// Solves from a start.
    ///
    /// # Errors
    /// As [`solve`].
    pub fn solve(&self, start: CurvesState, options: &Options) -> Result<CurvesSolution, Error> {
        solve(self, start, options)
    }

    /// Derivatives of `value(state)` by each step parameter; `value` must be smooth at the state.
    pub fn gradient_of(&self, state: &CurvesState, value: impl Fn(&CurvesState) -> f64) -> DVector<f64> {
        gradient(self, state, value)
    }

    /// Variance of a scalar, split by group: those of [`Group::ALL`], then [`Self::HEIGHT`].
    pub fn uncertainty_of(
        &self,
        solution: &CurvesSolution,
        covariance: &DMatrix<f64>,
        value: impl Fn(&CurvesState) -> f64,
    ) -> Vec<f64> {
        let by = self.gradient_of(&solution.state, value);
        solution.variance_by_group(covariance, &by)
    }

    /// Height of a curve's middle above the target there, towards the cameras, mm.
    pub fn height_of(&self, state: &CurvesState, curve: usize) -> f64 {
        let middle = state.curves[curve].middle();
        let place = Vec2::new(middle.x, middle.y).component_div(&state.base.scale);
        self.base.corner_place(&state.base, &place).0.z - middle.z
    }

    /// Cost of what is known of the curves.
    pub fn known_cost(&self, state: &CurvesState) -> f64 {
        let cost = |known: &Known| -> f64 {
            let sigma = known.group_and_sigma().1;
            known
                .offs(self, state)
                .iter()
                .map(|off| (off / sigma).powi(2))
                .sum()
        };
        self.known.iter().map(cost).sum()
    }

    /// Index of a curve's first parameter.
    fn curve_at(&self, curve: usize) -> usize {
        let before: usize = self.curves[..curve].iter().map(Shape::parameters).sum();
        self.base.parameters() + before
    }

    fn shifts_at(&self) -> usize {
        self.curve_at(self.curves.len())
    }

    fn sight_residuals(&self, state: &CurvesState, out: &mut Residuals) {
        let mut derivatives = Vec::with_capacity(32);
        for sight in self.sights {
            let seen = Crossing {
                photo: sight.photo,
                at: sight.at,
                side: sight.side,
                t: sight.t,
                sigma_px: sight.sigma_px,
            };
            let first = self.curve_at(sight.curve);
            let wanted = out.wants_derivatives().then_some(&mut derivatives);
            let miss = match &state.curves[sight.curve] {
                Shape::Line(line) => self.base.crossing(&state.base, line, &seen, first, wanted),
                Shape::Circle(circle) => self.base.crossing(&state.base, circle, &seen, first, wanted),
            };
            let Some(miss) = miss else {
                out.push(Group::Edges as usize, EDGE_LOSS, LOST_RESIDUAL, &[]);
                continue;
            };
            let shift = sight.photo * self.curves.len() + sight.curve;
            derivatives.push((self.shifts_at() + shift, 1.0 / sight.sigma_px));
            let residual = miss + state.shifts[shift] / sight.sigma_px;
            out.push(Group::Edges as usize, EDGE_LOSS, residual, &derivatives);
        }
    }

    fn known_residuals(&self, state: &CurvesState, out: &mut Residuals) {
        for known in self.known {
            let (group, sigma) = known.group_and_sigma();
            for (i, off) in known.offs(self, state).into_iter().enumerate() {
                let mut row = Vec::new();
                if out.wants_derivatives() {
                    let slope = gradient(self, state, |moved| known.offs(self, moved)[i]);
                    let used = slope.iter().enumerate().filter(|(_, d)| **d != 0.0);
                    row.extend(used.map(|(k, d)| (k, d / sigma)));
                }
                out.push(group, Loss::Squares, off / sigma, &row);
            }
        }
    }
}

impl Known {
    fn group_and_sigma(&self) -> (usize, f64) {
        let (group, sigma) = match *self {
            Self::Height { sigma, .. } => (CurvesProblem::HEIGHT, sigma),
            Self::Radius { sigma, .. }
            | Self::Flat { sigma, .. }
            | Self::Level { sigma, .. }
            | Self::Parallel { sigma, .. }
            | Self::Square { sigma, .. } => (Group::Features as usize, sigma),
        };
        (group, sigma.max(1e-9))
    }

    /// How far the state is off, in the unit of the standard deviation.
    fn offs(&self, problem: &CurvesProblem, state: &CurvesState) -> Vec<f64> {
        match *self {
            Self::Height { curve, height, .. } => vec![problem.height_of(state, curve) - height],
            Self::Radius { curve, radius, .. } => match &state.curves[curve] {
                Shape::Circle(circle) => vec![circle.radius - radius],
                Shape::Line(_) => vec![],
            },
            Self::Flat { curve, .. } => match &state.curves[curve] {
                Shape::Circle(circle) => vec![circle.normal.x, circle.normal.y],
                Shape::Line(line) => vec![line.direction.z],
            },
            Self::Level { curves: [a, b], .. } => {
                vec![problem.height_of(state, a) - problem.height_of(state, b)]
            }
            Self::Parallel { curves: [a, b], .. } => {
                let (a, b) = (state.curves[a].direction(), state.curves[b].direction());
                let (u, v) = across(&a);
                vec![b.dot(&u), b.dot(&v)]
            }
            Self::Square { curve, to, .. } => vec![state.curves[curve].direction().dot(&to)],
        }
    }
}

impl Model for CurvesProblem<'_> {
    type State = CurvesState;

    fn parameters(&self) -> usize {
        self.shifts_at() + self.base.photos * self.curves.len()
    }

    fn groups(&self) -> usize {
        Group::COUNT + 1
    }

    fn moved(&self, state: &CurvesState, step: &DVector<f64>) -> CurvesState {
        let steps = step.as_slice();
        let curves = state.curves.iter().enumerate().map(|(i, curve)| {
            let at = self.curve_at(i);
            curve.moved(&steps[at..at + curve.parameters()])
        });
        let shifts = state.shifts.iter().zip(&steps[self.shifts_at()..]);
        CurvesState {
            base: self.base.moved(&state.base, step),
            curves: curves.collect(),
            shifts: shifts.map(|(shift, step)| shift + step).collect(),
        }
    }

    fn residuals(&self, state: &CurvesState, out: &mut Residuals) -> bool {
        if !self.base.residuals(&state.base, out) {
            return false;
        }
        self.sight_residuals(state, out);
        self.known_residuals(state, out);
        let sigma = self.shift_sigma.max(1e-9);
        for (i, shift) in state.shifts.iter().enumerate() {
            let row = [(self.shifts_at() + i, 1.0 / sigma)];
            out.push(Group::EdgeShift as usize, Loss::Squares, shift / sigma, &row);
        }
        true
    }
}
