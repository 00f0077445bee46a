//! What is known beforehand, and how it pulls on the solution.

use super::{FeatureId, JointProblem, JointState, SHIFTS};
use crate::features::{Curve, across};
use crate::{Circle, Line, Loss, Residuals};
use shimwright_camera::{Camera, INTRINSICS};
use shimwright_geom::{Vec2, Vec3};

/// Source of a part of the uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Target corners.
    Corners = 0,
    /// Edge points.
    Edges = 1,
    /// Priors on intrinsics and focal factors.
    Camera = 2,
    /// Prior on the print scale.
    Scale = 3,
    /// Prior on the bend of the card.
    Flatness = 4,
    /// Priors on the features: rim diameter, squareness, stated heights.
    Features = 5,
    /// Prior on the shift common to all points of an edge in a photo.
    EdgeShift = 6,
}

impl Group {
    /// How many there are.
    pub const COUNT: usize = 7;
    /// All, in index order.
    pub const ALL: [Group; 7] = [
        Self::Corners,
        Self::Edges,
        Self::Camera,
        Self::Scale,
        Self::Flatness,
        Self::Features,
        Self::EdgeShift,
    ];
}

/// What is known beforehand, as standard deviations about the start state or about a stated value.
#[derive(Clone, Debug)]
pub struct Priors {
    /// Intrinsics of each camera: expected values and standard deviations.
    pub cameras: Vec<([f64; INTRINSICS], [f64; INTRINSICS])>,
    /// Relative standard deviation of fx against fy: pixels are square.
    pub aspect_sigma: f64,
    /// Standard deviation of the logarithm of a photo's focal factor (refocusing).
    pub focal_factor_sigma: f64,
    /// Expected print scale and its standard deviation; the part common to both axes is `scale_sigma`, and the
    /// axes may differ by half of it.
    pub scale: Vec2,
    /// Standard deviation of the print scale.
    pub scale_sigma: f64,
    /// Standard deviation of the sagitta of the card along x and y, mm.
    pub bend_sigma: Vec2,
    /// Expected rim radius and its standard deviation, mm.
    pub radius: Option<(f64, f64)>,
    /// Standard deviation of the angle by which the rim's plane may fail to stand square to the straight edge, rad.
    pub square_sigma: f64,
    /// Standard deviation of the angle by which the rim's axis may lean out of the card's plane, rad.
    pub lean_sigma: f64,
    /// Standard deviations of the shifts common to all points of one edge in one photo, px: light and chamfer mislead
    /// neighbouring points alike.
    pub edge_shift_sigma: [f64; SHIFTS],
    /// Stated heights above the target towards the camera: feature, height and standard deviation, mm.
    pub heights: Vec<(FeatureId, f64, f64)>,
}

impl JointProblem<'_> {
    /// All priors, as residuals.
    pub(super) fn prior_residuals(&self, state: &JointState, out: &mut Residuals) {
        self.photo_priors(state, out);
        let (cameras, aspect) = (&self.priors.cameras, self.priors.aspect_sigma);
        camera_priors(out, &state.cameras, cameras, aspect, self.cameras_at());
        self.card_priors(state, out);
        self.feature_priors(state, out);
    }

    fn photo_priors(&self, state: &JointState, out: &mut Residuals) {
        for (i, photo) in state.photos.iter().enumerate() {
            let at = self.photo_at(i) + 6;
            let sigma = self.priors.focal_factor_sigma;
            pull(out, Group::Camera, at, photo.focal.ln(), sigma);
            if !self.has_edges() {
                continue;
            }
            for (k, shift) in photo.edge_shift.as_flattened().iter().enumerate() {
                let sigma = self.priors.edge_shift_sigma[k % SHIFTS];
                pull(out, Group::EdgeShift, at + 1 + k, *shift, sigma);
            }
        }
    }

    fn card_priors(&self, state: &JointState, out: &mut Residuals) {
        let priors = self.priors;
        for k in 0..2 {
            let off = state.scale[k] - priors.scale[k];
            pull(out, Group::Scale, self.scale_at() + k, off, priors.scale_sigma);
            let bend = state.bend[k];
            pull(
                out,
                Group::Flatness,
                self.bend_at() + k,
                bend,
                priors.bend_sigma[k],
            );
        }
        self.scale_difference(state, out);
    }

    /// The two axes' scale errors mostly go together.
    fn scale_difference(&self, state: &JointState, out: &mut Residuals) {
        let sigma = (0.5 * self.priors.scale_sigma).max(1e-9);
        let difference = (state.scale.x - self.priors.scale.x) - (state.scale.y - self.priors.scale.y);
        let at = self.scale_at();
        out.push(
            Group::Scale as usize,
            Loss::Squares,
            difference / sigma,
            &[(at, 1.0 / sigma), (at + 1, -1.0 / sigma)],
        );
    }

    fn feature_priors(&self, state: &JointState, out: &mut Residuals) {
        if let (Some(circle), Some((radius, sigma))) = (&state.circle, self.priors.radius) {
            let at = self.circle_at() + 5;
            let residual = (circle.radius - radius) / sigma;
            out.push(
                Group::Features as usize,
                Loss::Squares,
                residual,
                &[(at, 1.0 / sigma)],
            );
        }
        if let (Some(line), Some(circle)) = (&state.line, &state.circle) {
            self.squareness(line, circle, out);
            let (a, b) = across(&circle.normal);
            let (sigma, at) = (self.priors.lean_sigma, self.circle_at() + 3);
            let row = [
                (at, a.cross(&circle.normal).z / sigma),
                (at + 1, b.cross(&circle.normal).z / sigma),
            ];
            out.push(
                Group::Features as usize,
                Loss::Squares,
                circle.normal.z / sigma,
                &row,
            );
        }
        self.stated_heights(state, out);
    }

    fn stated_heights(&self, state: &JointState, out: &mut Residuals) {
        for &(feature, height, sigma) in &self.priors.heights {
            // Height is towards the camera, z goes into the paper.
            match (feature, &state.line, &state.circle) {
                (FeatureId::Line, Some(line), _) => {
                    for t in [-15.0, 15.0] {
                        let residual = (-line.point(t).z - height) / sigma;
                        let slope = line.by_step(t);
                        let row: Vec<_> = (0..4)
                            .map(|k| (self.line_at() + k, -slope[(2, k)] / sigma))
                            .collect();
                        out.push(Group::Features as usize, Loss::Squares, residual, &row);
                    }
                }
                (FeatureId::Circle, _, Some(circle)) => {
                    let top = circle.angle_of(&(circle.centre - Vec3::z()));
                    let residual = (-circle.point(top).z - height) / sigma;
                    let slope = circle.by_step(top);
                    let row: Vec<_> = (0..6)
                        .map(|k| (self.circle_at() + k, -slope[(2, k)] / sigma))
                        .collect();
                    out.push(Group::Features as usize, Loss::Squares, residual, &row);
                }
                _ => {}
            }
        }
    }

    /// The rim's normal is near square to the straight edge.
    fn squareness(&self, line: &Line, circle: &Circle, out: &mut Residuals) {
        let sigma = self.priors.square_sigma;
        let (la, lb) = across(&line.direction);
        let (ca, cb) = across(&circle.normal);
        let residual = circle.normal.dot(&line.direction) / sigma;
        let row = [
            (self.line_at() + 2, circle.normal.dot(&la) / sigma),
            (self.line_at() + 3, circle.normal.dot(&lb) / sigma),
            (
                self.circle_at() + 3,
                ca.cross(&circle.normal).dot(&line.direction) / sigma,
            ),
            (
                self.circle_at() + 4,
                cb.cross(&circle.normal).dot(&line.direction) / sigma,
            ),
        ];
        out.push(Group::Features as usize, Loss::Squares, residual, &row);
    }
}

/// Draws cameras towards what is known of them; the first parameter of the first camera is `first`.
pub(crate) fn camera_priors(
    out: &mut Residuals,
    cameras: &[Camera],
    known: &[([f64; INTRINSICS], [f64; INTRINSICS])],
    aspect_sigma: f64,
    first: usize,
) {
    for (i, (expected, sigma)) in known.iter().enumerate() {
        let at = first + INTRINSICS * i;
        let found = &cameras[i].intrinsics;
        for k in 0..INTRINSICS {
            pull(out, Group::Camera, at + k, found[k] - expected[k], sigma[k]);
        }
        let sigma = aspect_sigma * expected[0];
        let residual = ((found[0] - found[1]) - (expected[0] - expected[1])) / sigma;
        let row = [(at, 1.0 / sigma), (at + 1, -1.0 / sigma)];
        out.push(Group::Camera as usize, Loss::Squares, residual, &row);
    }
}

/// A parameter is drawn towards a value: how far it is off now, and the standard deviation allowed.
pub(crate) fn pull(out: &mut Residuals, group: Group, parameter: usize, off: f64, sigma: f64) {
    let sigma = sigma.max(1e-9);
    let row = [(parameter, 1.0 / sigma)];
    out.push(group as usize, Loss::Squares, off / sigma, &row);
}
