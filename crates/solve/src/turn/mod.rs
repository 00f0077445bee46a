//! The joint solve of a turn: a wheel turned by hand, photo by photo, about one axis.
//!
//! Two frames: the fixed target's (the mount card) and the turning target's (the hub ring), each with x right, y
//! down and z into the paper, mm. Both hold the axis: `fixed_from_axis` and `turning_from_axis` place a third frame
//! whose z axis is the turning axis. In a photo the wheel stands at an angle, so that
//! `fixed_from_turning = fixed_from_axis * wobble * Rz(angle) * turning_from_axis^-1`.
//! The target need be neither centred on the axis nor square to it. `wobble` is what does not turn about one axis:
//! bearing play, or a target that came loose.

mod priors;
mod residuals;
mod scatter;
mod standing;
mod state;

pub use priors::TurnPriors;
pub use standing::{Loose, Slip, Standing, Steadiness, steadiness};
pub use state::{TurnPhoto, TurnState, Wobble};

use crate::features::Curve;
use crate::{Circle, CornerSight, EdgeSight, Error, Group, Model, Options, Residuals, Solution, solve};
use nalgebra::{DMatrix, DVector};
use residuals::Chain;
use shimwright_camera::INTRINSICS;
use shimwright_geom::{Pose, Vec2, Vec3};

/// Parameters of a photo: turn (3, rad), shift (3, mm), logarithm of the focal factor, shift of the rim across
/// itself (px), angle of the wheel (rad).
const PER_PHOTO: usize = 9;
/// Further parameters of a photo whose wheel may wobble: shift (3, mm) and lean about the axis frame's x and y (rad).
const PER_WOBBLE: usize = 5;
/// Parameters of the axis: in the fixed frame lean (2), shift (3); in the turning frame lean (2), shift (2).
const AXIS: usize = 9;
/// Harmonics of the light around the rim: of how far out (first to eighth) and how deep (first and second) its edge is
/// seen, cosine and sine of each.
pub const LIGHT: usize = OUT + 4;
/// Those of how far out.
const OUT: usize = 16;

/// A flat target as it is printed: about what it bends, mm.
#[derive(Clone, Copy, Debug)]
pub struct Print {
    /// Middle of its pattern.
    pub middle: Vec2,
    /// Half its size.
    pub half: Vec2,
}

impl Print {
    /// Where a printed place stands in the target's frame for a scale and a bend (sagittae along x and y, mm), with
    /// derivatives by scale (2) and bend (2).
    fn place(&self, place: &Vec2, scale: &Vec2, bend: &Vec2) -> (Vec3, [Vec3; 4]) {
        let u = (place - self.middle).component_div(&self.half);
        let (wx, wy) = (u.x * u.x, u.y * u.y);
        let at = Vec3::new(scale.x * place.x, scale.y * place.y, bend.x * wx + bend.y * wy);
        let by = [
            Vec3::new(place.x, 0.0, 0.0),
            Vec3::new(0.0, place.y, 0.0),
            Vec3::z() * wx,
            Vec3::z() * wy,
        ];
        (at, by)
    }
}

/// A turn problem.
pub struct TurnProblem<'a> {
    /// Corners of the fixed target.
    pub fixed: &'a [CornerSight],
    /// Corners of the turning target.
    pub turning: &'a [CornerSight],
    /// Points of the rim seen; their side points outward.
    pub rim: &'a [EdgeSight],
    /// Priors.
    pub priors: &'a TurnPriors,
    /// The fixed target as printed.
    pub fixed_print: Print,
    /// The turning target as printed.
    pub turning_print: Print,
    /// Number of photos.
    pub photos: usize,
    /// Whether the rim is solved for.
    pub has_rim: bool,
    /// Whether the wheel may wobble.
    pub wobbles: bool,
}

/// Solution of a turn problem.
pub type TurnSolution = Solution<TurnState>;

impl TurnProblem<'_> {
    fn per_photo(&self) -> usize {
        PER_PHOTO + if self.wobbles { PER_WOBBLE } else { 0 }
    }

    fn photo_at(&self, photo: usize) -> usize {
        self.per_photo() * photo
    }

    fn cameras_at(&self) -> usize {
        self.per_photo() * self.photos
    }

    /// Scale (2), the turning target's own scale against it (2), bend of either target (2 and 2).
    fn prints_at(&self) -> usize {
        self.cameras_at() + INTRINSICS * self.priors.cameras.len()
    }

    fn axis_at(&self) -> usize {
        self.prints_at() + 8
    }

    fn light_at(&self) -> usize {
        self.axis_at() + AXIS
    }

    fn rim_at(&self) -> usize {
        self.light_at() + LIGHT
    }

    /// Index of the angle of a photo's wheel.
    pub fn angle_at(&self, photo: usize) -> usize {
        self.photo_at(photo) + 8
    }

    /// Index of the first of a photo's five wobble parameters; only with [`Self::wobbles`].
    pub fn wobble_at(&self, photo: usize) -> usize {
        self.photo_at(photo) + PER_PHOTO
    }

    /// Solves from a start.
    ///
    /// # Errors
    /// As [`solve`].
    pub fn solve(&self, start: TurnState, options: &Options) -> Result<TurnSolution, Error> {
        solve(self, start, options)
    }

    /// Where a corner of the turning target should be seen, px.
    pub fn turning_corner(&self, state: &TurnState, sight: &CornerSight) -> Option<Vec2> {
        let (at, _) = self
            .turning_print
            .place(&sight.place, &state.turning_scale(), &state.turning_bend);
        state
            .camera_of(sight.photo)
            .project(&state.camera_from_turning(sight.photo).point(&at))
    }

    /// Where a corner of the fixed target should be seen, px.
    pub fn fixed_corner(&self, state: &TurnState, sight: &CornerSight) -> Option<Vec2> {
        let (at, _) = self.fixed_print.place(&sight.place, &state.scale, &state.bend);
        state
            .camera_of(sight.photo)
            .project(&state.photos[sight.photo].camera_from_fixed.point(&at))
    }

    /// Derivatives of `value(state)` by each step parameter; `value` must be smooth at the state.
    pub fn gradient_of(&self, state: &TurnState, value: impl Fn(&TurnState) -> f64) -> DVector<f64> {
        let size = self.parameters();
        DVector::from_fn(size, |k, _| {
            let h = 1e-6;
            let mut step = DVector::zeros(size);
            step[k] = h;
            let up = value(&self.moved(state, &step));
            step[k] = -h;
            (up - value(&self.moved(state, &step))) / (2.0 * h)
        })
    }

    /// Variance of a scalar, split by group.
    pub fn uncertainty_of(
        &self,
        solution: &TurnSolution,
        covariance: &DMatrix<f64>,
        value: impl Fn(&TurnState) -> f64,
    ) -> Vec<f64> {
        solution.variance_by_group(covariance, &self.gradient_of(&solution.state, value))
    }
}

impl Model for TurnProblem<'_> {
    type State = TurnState;

    fn parameters(&self) -> usize {
        self.rim_at() + if self.has_rim { Circle::PARAMETERS } else { 0 }
    }

    fn groups(&self) -> usize {
        Group::COUNT
    }

    fn moved(&self, state: &TurnState, step: &DVector<f64>) -> TurnState {
        let mut next = state.clone();
        let three = |at: usize| Vec3::new(step[at], step[at + 1], step[at + 2]);
        let two = |at: usize| Vec2::new(step[at], step[at + 1]);
        for (i, photo) in next.photos.iter_mut().enumerate() {
            let at = self.photo_at(i);
            photo.camera_from_fixed = photo.camera_from_fixed.nudged(&three(at), &three(at + 3));
            photo.focal *= step[at + 6].exp();
            photo.rim_shift += step[at + 7];
            photo.angle += step[at + 8];
            if self.wobbles {
                let at = self.wobble_at(i);
                photo.wobble = photo.wobble.moved(&three(at), &two(at + 3));
            }
        }
        for (i, camera) in next.cameras.iter_mut().enumerate() {
            for k in 0..INTRINSICS {
                camera.intrinsics[k] += step[self.cameras_at() + INTRINSICS * i + k];
            }
        }
        let at = self.prints_at();
        next.scale += two(at);
        next.own_scale += two(at + 2);
        next.bend += two(at + 4);
        next.turning_bend += two(at + 6);
        let at = self.axis_at();
        let small =
            |lean: Vec2, shift: Vec3| Pose::from_rotation_vector(Vec3::new(lean.x, lean.y, 0.0), shift);
        next.fixed_from_axis = next.fixed_from_axis * small(two(at), three(at + 2));
        next.turning_from_axis =
            next.turning_from_axis * small(two(at + 5), Vec3::new(step[at + 7], step[at + 8], 0.0));
        for k in 0..LIGHT {
            next.light[k] += step[self.light_at() + k];
        }
        if self.has_rim {
            let rim = &step.as_slice()[self.rim_at()..];
            next.rim = next.rim.map(|circle| circle.moved(rim));
        }
        next
    }

    fn residuals(&self, state: &TurnState, out: &mut Residuals) -> bool {
        let chains: Vec<Chain> = (0..state.photos.len()).map(|i| Chain::of(state, i)).collect();
        if !self.fixed_residuals(state, &chains, out) || !self.turning_residuals(state, &chains, out) {
            return false;
        }
        if let Some(rim) = &state.rim {
            self.rim_residuals(state, rim, &chains, out);
        }
        self.prior_residuals(state, out);
        true
    }
}
