//! What is known of a turn beforehand.

use super::{LIGHT, OUT, TurnProblem, TurnState};
use crate::joint::{camera_priors, pull};
use crate::{Group, Loss, Residuals};
use shimwright_camera::INTRINSICS;
use shimwright_geom::Vec2;

/// What is known beforehand, as standard deviations about zero or about a stated value.
#[derive(Clone, Debug)]
pub struct TurnPriors {
    /// Intrinsics of each camera: expected values and standard deviations.
    pub cameras: Vec<([f64; INTRINSICS], [f64; INTRINSICS])>,
    /// Relative standard deviation of fx against fy: pixels are square.
    pub aspect_sigma: f64,
    /// Standard deviation of the logarithm of a photo's focal factor (refocusing).
    pub focal_factor_sigma: f64,
    /// Expected print scale.
    pub scale: Vec2,
    /// Standard deviation of the print scale.
    pub scale_sigma: f64,
    /// Standard deviation by which the scales of the two axes differ; `None` where each was measured by itself.
    pub axes_sigma: Option<f64>,
    /// Standard deviation by which the turning target's scale differs from the fixed one's.
    pub own_scale_sigma: f64,
    /// Standard deviation of the sagitta of the fixed target along x and y, mm.
    pub bend_sigma: Vec2,
    /// The same of the turning target.
    pub turning_bend_sigma: Vec2,
    /// Expected rim radius and its standard deviation, mm.
    pub radius: Option<(f64, f64)>,
    /// Standard deviation of a shift common to the whole rim in one photo, px.
    pub rim_shift_sigma: f64,
    /// Standard deviations of each harmonic of the light around the rim, mm: of how far out its edge is seen, and how
    /// deep.
    pub light_sigma: [f64; 2],
    /// Holds everything that the photos share (lens, prints, axis, light) where it starts.
    pub hold_shared: bool,
    /// Holds the axis where it starts: with it held, the wobbles are the wheel's places.
    pub hold_axis: bool,
    /// Standard deviations of the wobble, used when the wheel may wobble: shift across and along the axis (mm), and
    /// lean (rad).
    pub wobble_sigma: [f64; 3],
}

/// Standard deviation of a parameter that is held.
const HELD: f64 = 1e-9;

impl TurnProblem<'_> {
    /// All priors, as residuals.
    pub(super) fn prior_residuals(&self, state: &TurnState, out: &mut Residuals) {
        let priors = self.priors;
        for (i, photo) in state.photos.iter().enumerate() {
            let at = self.photo_at(i);
            pull(
                out,
                Group::Camera,
                at + 6,
                photo.focal.ln(),
                priors.focal_factor_sigma,
            );
            pull(
                out,
                Group::EdgeShift,
                at + 7,
                photo.rim_shift,
                priors.rim_shift_sigma,
            );
            if self.wobbles {
                self.wobble_priors(state, i, out);
            }
        }
        if priors.hold_shared {
            (self.cameras_at()..self.rim_at()).for_each(|k| pull(out, Group::Features, k, 0.0, HELD));
            return;
        }
        if priors.hold_axis {
            (self.axis_at()..self.light_at()).for_each(|k| pull(out, Group::Features, k, 0.0, HELD));
        }
        camera_priors(
            out,
            &state.cameras,
            &priors.cameras,
            priors.aspect_sigma,
            self.cameras_at(),
        );
        self.print_priors(state, out);
        for k in 0..LIGHT {
            let sigma = priors.light_sigma[usize::from(k >= OUT)];
            pull(out, Group::EdgeShift, self.light_at() + k, state.light[k], sigma);
        }
        if let (Some(rim), Some((radius, sigma))) = (&state.rim, priors.radius) {
            pull(
                out,
                Group::Features,
                self.rim_at() + 5,
                rim.radius - radius,
                sigma,
            );
        }
    }

    fn wobble_priors(&self, state: &TurnState, photo: usize, out: &mut Residuals) {
        let [across, along, lean] = self.priors.wobble_sigma;
        let wobble = &state.photos[photo].wobble;
        let (shift, tilt) = (wobble.shift(), wobble.lean());
        let values = [shift.x, shift.y, shift.z, tilt.x, tilt.y];
        let at = self.wobble_at(photo);
        for (k, sigma) in [across, across, along, lean, lean].into_iter().enumerate() {
            pull(out, Group::Features, at + k, values[k], sigma);
        }
    }

    fn print_priors(&self, state: &TurnState, out: &mut Residuals) {
        let priors = self.priors;
        let at = self.prints_at();
        for k in 0..2 {
            let off = state.scale[k] - priors.scale[k];
            pull(out, Group::Scale, at + k, off, priors.scale_sigma);
            pull(
                out,
                Group::Scale,
                at + 2 + k,
                state.own_scale[k] - 1.0,
                priors.own_scale_sigma,
            );
            pull(
                out,
                Group::Flatness,
                at + 4 + k,
                state.bend[k],
                priors.bend_sigma[k],
            );
            pull(
                out,
                Group::Flatness,
                at + 6 + k,
                state.turning_bend[k],
                priors.turning_bend_sigma[k],
            );
        }
        let Some(sigma) = priors.axes_sigma else {
            return;
        };
        let difference = (state.scale.x - priors.scale.x) - (state.scale.y - priors.scale.y);
        let row = [(at, 1.0 / sigma), (at + 1, -1.0 / sigma)];
        out.push(Group::Scale as usize, Loss::Squares, difference / sigma, &row);
    }
}
