//! The joint solve: poses, camera, print scale, bend of the card, a straight edge and a rim, over all photos.
//!
//! The fixed frame is the fixed target's: x right, y down, z into the paper, mm. It is a true millimetre frame: a
//! corner printed at (x, y) stands at (scale.x x, scale.y y, bend).

mod curves;
mod priors;
mod sights;

pub use curves::{CurveSight, CurvesProblem, CurvesSolution, CurvesState, Known, Shape};
pub use priors::{Group, Priors};
pub(crate) use priors::{camera_priors, pull};
pub use sights::{CornerSight, EdgeSight, FeatureId};

use crate::features::Curve;
use crate::least_squares::gradient;
use crate::{Circle, CurvePoint, Error, Line, Loss, Model, Options, Residuals, Solution, solve};
use nalgebra::{DMatrix, DVector, Matrix2x3};
use shimwright_camera::{Camera, INTRINSICS};
use shimwright_geom::{Pose, Vec2, Vec3};

/// Parameters of a photo: turn (3, rad), shift (3, mm), logarithm of the focal factor (1); where there are edges, then
/// the shifts of the two across themselves (2 x [`SHIFTS`], px).
const OF_CAMERA: usize = 7;
/// Ways in which an edge may be shifted as a whole: alike everywhere, slanting, bowed (Legendre polynomials of degree 0
/// to 2 over its measured part).
pub const SHIFTS: usize = 3;
/// How strongly a corner may pull.
pub(crate) const CORNER_LOSS: Loss = Loss::Cauchy(3.0);
/// How strongly an edge point may pull.
const EDGE_LOSS: Loss = Loss::Cauchy(3.0);
/// Residual of an edge point that the curve does not come near, in standard deviations; the loss keeps it from pulling.
const LOST_RESIDUAL: f64 = 100.0;

/// State of a photo.
#[derive(Clone, Copy, Debug)]
pub struct PhotoState {
    /// `camera_from_fixed`.
    pub camera_from_fixed: Pose,
    /// Focal factor against its camera.
    pub focal: f64,
    /// Index of its camera.
    pub camera: usize,
    /// Shift of the observed straight edge and rim across themselves, px; see [`SHIFTS`].
    pub edge_shift: [[f64; SHIFTS]; 2],
}

impl PhotoState {
    /// Shift of a place of an edge, px; `along` runs from -1 at one end of the measured part to 1 at the other.
    pub fn shift_of(&self, feature: FeatureId, along: f64) -> f64 {
        let shifts = self.edge_shift[feature as usize].iter();
        shifts
            .zip(shift_ways(along))
            .map(|(shift, way)| shift * way)
            .sum()
    }

    /// Root mean square of an edge's shift over its measured part, px (the polynomials' own is 1 / sqrt(2 n + 1)).
    pub fn mean_shift(&self, feature: FeatureId) -> f64 {
        let [even, slant, bow] = self.edge_shift[feature as usize];
        (even * even + slant * slant / 3.0 + bow * bow / 5.0).sqrt()
    }
}

/// Legendre polynomials of degree 0 to 2.
fn shift_ways(along: f64) -> [f64; SHIFTS] {
    [1.0, along, 1.5 * along * along - 0.5]
}

/// Everything that is solved for.
#[derive(Clone, Debug)]
pub struct JointState {
    /// Cameras.
    pub cameras: Vec<Camera>,
    /// Photos.
    pub photos: Vec<PhotoState>,
    /// Print scale along x and y.
    pub scale: Vec2,
    /// Sagitta of the card along x and y, mm.
    pub bend: Vec2,
    /// The straight edge.
    pub line: Option<Line>,
    /// The rim.
    pub circle: Option<Circle>,
}

impl JointState {
    /// The camera of a photo as it was focused.
    pub fn camera_of(&self, photo: usize) -> Camera {
        let photo = &self.photos[photo];
        self.cameras[photo.camera].with_focal_factor(photo.focal)
    }
}

/// A joint problem.
pub struct JointProblem<'a> {
    /// Corners seen.
    pub corners: &'a [CornerSight],
    /// Edge points seen.
    pub edges: &'a [EdgeSight],
    /// Priors.
    pub priors: &'a Priors,
    /// Middle of the target, mm: the card bends about it.
    pub middle: Vec2,
    /// Half the size of the target, mm.
    pub half: Vec2,
    /// Number of photos.
    pub photos: usize,
    /// Whether the straight edge is solved for.
    pub has_line: bool,
    /// Whether the rim is solved for.
    pub has_circle: bool,
    /// How strongly an edge point may pull.
    pub edge_loss: Loss,
}

/// Solution of a joint problem.
pub type JointSolution = Solution<JointState>;

impl JointProblem<'_> {
    fn has_edges(&self) -> bool {
        self.has_line || self.has_circle
    }

    /// Index of a photo's first parameter.
    fn photo_at(&self, photo: usize) -> usize {
        let shifts = if self.has_edges() { 2 * SHIFTS } else { 0 };
        (OF_CAMERA + shifts) * photo
    }

    /// Index of the first camera's first intrinsic.
    pub(crate) fn cameras_at(&self) -> usize {
        self.photo_at(self.photos)
    }

    fn scale_at(&self) -> usize {
        self.cameras_at() + INTRINSICS * self.priors.cameras.len()
    }

    /// Index of the bend's first parameter.
    pub(crate) fn bend_at(&self) -> usize {
        self.scale_at() + 2
    }

    /// Index of the straight edge's first parameter.
    pub fn line_at(&self) -> usize {
        self.bend_at() + 2
    }

    /// Index of the rim's first parameter.
    pub fn circle_at(&self) -> usize {
        self.line_at() + if self.has_line { Line::PARAMETERS } else { 0 }
    }

    /// Solves from a start.
    ///
    /// # Errors
    /// As [`solve`].
    pub fn solve(&self, start: JointState, options: &Options) -> Result<JointSolution, Error> {
        solve(self, start, options)
    }

    /// Where a printed place stands in the fixed frame, with derivatives by scale (2) and bend (2).
    pub fn corner_place(&self, state: &JointState, place: &Vec2) -> (Vec3, [Vec3; 4]) {
        let u = (place - self.middle).component_div(&self.half);
        let (wx, wy) = (u.x * u.x, u.y * u.y);
        let at = Vec3::new(
            state.scale.x * place.x,
            state.scale.y * place.y,
            state.bend.x * wx + state.bend.y * wy,
        );
        let by = [
            Vec3::new(place.x, 0.0, 0.0),
            Vec3::new(0.0, place.y, 0.0),
            Vec3::z() * wx,
            Vec3::z() * wy,
        ];
        (at, by)
    }

    /// Derivatives of a projection by the photo's and camera's parameters.
    fn sight_derivatives(
        &self,
        state: &JointState,
        photo: usize,
        fixed: &Vec3,
        seen: &shimwright_camera::Projected,
        across: &Vec2,
        out: &mut Vec<(usize, f64)>,
    ) {
        let pose = &state.photos[photo].camera_from_fixed;
        let turned = pose.direction(fixed);
        let row = across.transpose() * seen.by_point;
        let by_turn = -row * turned.cross_matrix();
        let at = self.photo_at(photo);
        for k in 0..3 {
            out.push((at + k, by_turn[k]));
            out.push((at + 3 + k, row[k]));
        }
        let focal = state.photos[photo].focal;
        let intrinsics = across.transpose() * seen.by_intrinsics;
        let camera = &state.cameras[state.photos[photo].camera].intrinsics;
        out.push((
            at + 6,
            focal * (intrinsics[0] * camera[0] + intrinsics[1] * camera[1]),
        ));
        let cameras = self.cameras_at() + INTRINSICS * state.photos[photo].camera;
        for k in 0..INTRINSICS {
            out.push((cameras + k, intrinsics[k] * if k < 2 { focal } else { 1.0 }));
        }
    }

    fn corner_residuals(&self, state: &JointState, out: &mut Residuals) -> bool {
        let cameras: Vec<_> = (0..state.photos.len()).map(|i| state.camera_of(i)).collect();
        let mut derivatives = Vec::with_capacity(32);
        for sight in self.corners {
            let (fixed, by) = self.corner_place(state, &sight.place);
            let pose = &state.photos[sight.photo].camera_from_fixed;
            if !out.wants_derivatives() {
                let Some(at) = cameras[sight.photo].project(&pose.point(&fixed)) else {
                    return false;
                };
                for axis in 0..2 {
                    let residual = (at[axis] - sight.at[axis]) / sight.sigma_px;
                    out.push(Group::Corners as usize, CORNER_LOSS, residual, &[]);
                }
                continue;
            }
            let Some(seen) = cameras[sight.photo].project_with_derivatives(&pose.point(&fixed)) else {
                return false;
            };
            let by_fixed: Matrix2x3<f64> = seen.by_point * pose.rotation();
            for axis in 0..2 {
                let mut across = Vec2::zeros();
                across[axis] = 1.0 / sight.sigma_px;
                derivatives.clear();
                self.sight_derivatives(state, sight.photo, &fixed, &seen, &across, &mut derivatives);
                for (k, step) in by.iter().enumerate() {
                    derivatives.push((
                        self.scale_at() + k,
                        (across.transpose() * by_fixed * step)[(0, 0)],
                    ));
                }
                let residual = (seen.at[axis] - sight.at[axis]) / sight.sigma_px;
                out.push(Group::Corners as usize, CORNER_LOSS, residual, &derivatives);
            }
        }
        true
    }

    fn edge_residuals<C: Curve>(
        &self,
        state: &JointState,
        curve: &C,
        feature: FeatureId,
        first: usize,
        out: &mut Residuals,
    ) -> bool {
        let mut derivatives = Vec::with_capacity(32);
        for sight in self.edges.iter().filter(|sight| sight.feature == feature) {
            let seen = Crossing {
                photo: sight.photo,
                at: sight.at,
                side: sight.side,
                t: sight.t,
                sigma_px: sight.sigma_px,
            };
            let wanted = out.wants_derivatives().then_some(&mut derivatives);
            let Some(miss) = self.crossing(state, curve, &seen, first, wanted) else {
                // A curve that has no nearest point there misses it by far; without derivatives it does not pull.
                out.push(Group::Edges as usize, EDGE_LOSS, LOST_RESIDUAL, &[]);
                continue;
            };
            let first_shift = self.photo_at(sight.photo) + OF_CAMERA + SHIFTS * feature as usize;
            let ways = shift_ways(sight.along).into_iter().enumerate();
            derivatives.extend(ways.map(|(k, way)| (first_shift + k, way / sight.sigma_px)));
            let shift = state.photos[sight.photo].shift_of(feature, sight.along);
            let residual = miss + shift / sight.sigma_px;
            out.push(Group::Edges as usize, self.edge_loss, residual, &derivatives);
        }
        true
    }

    /// How far a projected curve passes from a point of an edge, in its standard deviations, with derivatives by the
    /// photo's and camera's parameters and by the curve's, which begin at `first`. `None` when the curve has no
    /// nearest point there.
    fn crossing<C: Curve>(
        &self,
        state: &JointState,
        curve: &C,
        seen: &Crossing,
        first: usize,
        derivatives: Option<&mut Vec<(usize, f64)>>,
    ) -> Option<f64> {
        let camera = state.camera_of(seen.photo);
        let pose = &state.photos[seen.photo].camera_from_fixed;
        let near = CurvePoint::nearest(curve, &camera, pose, &seen.at, &seen.side, seen.t)?;
        let across = near.normal / seen.sigma_px;
        if let Some(derivatives) = derivatives {
            derivatives.clear();
            self.sight_derivatives(state, seen.photo, &near.point, &near.seen, &across, derivatives);
            let row = across.transpose() * near.seen.by_point * pose.rotation() * curve.by_step(near.t);
            derivatives.extend((0..C::PARAMETERS).map(|k| (first + k, row[k])));
        }
        Some((near.seen.at - seen.at).dot(&across))
    }
}

/// A point of an edge in a photo, whatever curve it belongs to.
struct Crossing {
    photo: usize,
    at: Vec2,
    side: Vec2,
    t: f64,
    sigma_px: f64,
}

impl Model for JointProblem<'_> {
    type State = JointState;

    fn parameters(&self) -> usize {
        self.circle_at() + if self.has_circle { Circle::PARAMETERS } else { 0 }
    }

    fn groups(&self) -> usize {
        Group::COUNT
    }

    fn moved(&self, state: &JointState, step: &DVector<f64>) -> JointState {
        let mut next = state.clone();
        for (i, photo) in next.photos.iter_mut().enumerate() {
            let at = self.photo_at(i);
            photo.camera_from_fixed = photo.camera_from_fixed.nudged(
                &step.fixed_rows::<3>(at).into_owned(),
                &step.fixed_rows::<3>(at + 3).into_owned(),
            );
            photo.focal *= step[at + 6].exp();
            if self.has_edges() {
                let shifts = photo.edge_shift.as_flattened_mut().iter_mut();
                (shifts.enumerate()).for_each(|(k, shift)| *shift += step[at + OF_CAMERA + k]);
            }
        }
        for (i, camera) in next.cameras.iter_mut().enumerate() {
            for k in 0..INTRINSICS {
                camera.intrinsics[k] += step[self.cameras_at() + INTRINSICS * i + k];
            }
        }
        next.scale += step.fixed_rows::<2>(self.scale_at());
        next.bend += step.fixed_rows::<2>(self.bend_at());
        let steps = step.as_slice();
        next.line = next
            .line
            .map(|line| line.moved(&steps[self.line_at()..self.line_at() + 4]));
        next.circle = next
            .circle
            .map(|circle| circle.moved(&steps[self.circle_at()..self.circle_at() + 6]));
        next
    }

    fn residuals(&self, state: &JointState, out: &mut Residuals) -> bool {
        if !self.corner_residuals(state, out) {
            return false;
        }
        if let Some(line) = &state.line
            && !self.edge_residuals(state, line, FeatureId::Line, self.line_at(), out)
        {
            return false;
        }
        if let Some(circle) = &state.circle
            && !self.edge_residuals(state, circle, FeatureId::Circle, self.circle_at(), out)
        {
            return false;
        }
        self.prior_residuals(state, out);
        true
    }
}

impl JointProblem<'_> {
    /// Derivatives of `value(state)` by each step parameter; `value` must be smooth at the state.
    pub fn gradient_of(&self, state: &JointState, value: impl Fn(&JointState) -> f64) -> DVector<f64> {
        gradient(self, state, value)
    }

    /// Variance of a scalar, split by group.
    pub fn uncertainty_of(
        &self,
        solution: &JointSolution,
        covariance: &DMatrix<f64>,
        value: impl Fn(&JointState) -> f64,
    ) -> Vec<f64> {
        let by = self.gradient_of(&solution.state, value);
        solution.variance_by_group(covariance, &by)
    }
}
