//! Which of a chamfer's two lines is which.
//!
//! Where a chamfer is as dark or as bright as what lies beside it, a piece cannot tell the edge's two lines apart, and
//! pieces around a rim may settle on different ones. All pieces together can: each knows what it costs wherever the edge
//! lies, and the curve is moved to where their costs add up to the least.

use super::pieces::Movable;
use super::rounds::Rounds;
use shimwright_solve::{CurvesState, Shape};

/// How far a piece's edge may lie from where the rounds before left it, in widths of the chamfer, and at least in px.
const REACH: f64 = 2.5;
const LEAST_REACH: f64 = 2.0;
/// Where the search begins: the curve grown, and sunk, by these parts of the chamfer's leg.
const GROWN: [f64; 5] = [0.0, -0.5, 0.5, -1.0, 1.0];
const SUNK: [f64; 5] = [0.0, -1.5, 1.5, -3.0, 3.0];
/// First and last step of the search, in legs.
const FIRST_STEP: f64 = 0.5;
const LAST_STEP: f64 = 0.02;

impl Rounds<'_> {
    /// Moves each chamfered curve to where all its pieces together cost least.
    pub(super) fn tell_lines_apart(&self, state: &mut CurvesState, blurs: &[Option<f64>]) {
        for curve in 0..state.curves.len() {
            let (out, up) = self.edges[curve].chamfer;
            let leg = out.abs().max(up.abs());
            if leg > 0.0 {
                let pieces = self.movable(state, blurs, curve, leg);
                state.curves[curve] = self.cheapest(state, curve, leg, &pieces);
            }
        }
    }

    fn movable(&self, state: &CurvesState, blurs: &[Option<f64>], curve: usize, leg: f64) -> Vec<Movable> {
        let mut pieces = Vec::new();
        for k in 0..state.base.photos.len() {
            let i = k * state.curves.len() + curve;
            let sighted = self.sighted(state, i);
            let middle = state.curves[curve].point(self.edges[curve].range.0);
            let depth = (middle - sighted.view.place()).norm();
            let px_per_mm = state.base.camera_of(k).intrinsics[0] / depth;
            let reach = (REACH * leg * px_per_mm).max(LEAST_REACH);
            if let Some(blur) = blurs[i] {
                pieces.extend(sighted.movable(blur, reach));
            }
        }
        pieces
    }

    /// The cheapest place of a curve: a compass search from several starts.
    fn cheapest(&self, state: &CurvesState, curve: usize, leg: f64, pieces: &[Movable]) -> Shape {
        let shape = state.curves[curve];
        let scales = scales(&shape);
        let mut moved = state.clone();
        let mut cost = |step: &[f64]| -> f64 {
            moved.curves[curve] = shape.moved(step);
            let known = self.problem(&[], state).known_cost(&moved);
            pieces.iter().map(|piece| piece.after(step)).sum::<f64>() + known
        };
        let mut best: Option<(f64, Vec<f64>)> = None;
        for grown in GROWN {
            for sunk in SUNK {
                let start = started(&shape, &self.edges[curve].across, grown * leg, sunk * leg);
                let found = compass(start, &scales, leg, &mut cost);
                if best.as_ref().is_none_or(|b| found.0 < b.0) {
                    best = Some(found);
                }
            }
        }
        best.map_or(shape, |(_, step)| shape.moved(&step))
    }
}

/// What a millimetre at the edge is in each parameter.
fn scales(shape: &Shape) -> Vec<f64> {
    match shape {
        Shape::Circle(circle) => {
            let turn = 1.0 / circle.radius;
            vec![1.0, 1.0, 1.0, turn, turn, 1.0]
        }
        // A turn counts at some ten millimetres from the middle of what is seen.
        Shape::Line(_) => vec![1.0, 1.0, 0.1, 0.1],
    }
}

/// The step that moves a curve outward and along the direction into the target by some lengths, mm.
fn started(
    shape: &Shape,
    across: &(shimwright_geom::Vec3, shimwright_geom::Vec3),
    out: f64,
    down: f64,
) -> Vec<f64> {
    match shape {
        Shape::Circle(circle) => {
            let sunk = -circle.normal * down;
            vec![sunk.x, sunk.y, sunk.z, 0.0, 0.0, out]
        }
        Shape::Line(line) => {
            let wanted = across.0 * out - across.1 * down;
            // The first two parameters shift a line along two directions across it.
            let unit = |k: usize| {
                let mut step = [0.0; 4];
                step[k] = 1.0;
                match shape.moved(&step) {
                    Shape::Line(moved) => moved.point - line.point,
                    Shape::Circle(_) => shimwright_geom::Vec3::zeros(),
                }
            };
            vec![wanted.dot(&unit(0)), wanted.dot(&unit(1)), 0.0, 0.0]
        }
    }
}

/// Steps along each parameter in turn while that lowers the cost, then in smaller steps.
fn compass(
    mut at: Vec<f64>,
    scales: &[f64],
    leg: f64,
    cost: &mut impl FnMut(&[f64]) -> f64,
) -> (f64, Vec<f64>) {
    let mut here = cost(&at);
    let mut size = FIRST_STEP * leg;
    while size > LAST_STEP * leg {
        let mut moved = false;
        for (k, scale) in scales.iter().enumerate() {
            for sign in [1.0, -1.0] {
                let before = at[k];
                at[k] += sign * size * scale;
                let there = cost(&at);
                if there < here {
                    here = there;
                    moved = true;
                    break;
                }
                at[k] = before;
            }
        }
        if !moved {
            size /= 2.0;
        }
    }
    (here, at)
}
