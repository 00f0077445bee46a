//! Residuals of a turn and their derivatives.

use super::{LIGHT, OUT, TurnProblem, TurnState};
use crate::features::Curve;
use crate::joint::CORNER_LOSS;
use crate::{Circle, CurvePoint, Group, Loss, Residuals};
use nalgebra::{Matrix3, RowVector3};
use shimwright_camera::{Camera, INTRINSICS, Projected};
use shimwright_geom::{Pose, Vec2, Vec3};

/// Residual of an edge point that the rim does not come near, in standard deviations.
const LOST_RESIDUAL: f64 = 100.0;

/// The poses of one photo, with the matrices that derivatives need.
pub(super) struct Chain {
    camera: Camera,
    camera_from_fixed: Pose,
    camera_from_turning: Pose,
    axis_from_turning: Pose,
    /// Rotations: camera from fixed, fixed from axis, wobble, wheel angle, axis from turning.
    turns: [Matrix3<f64>; 5],
    wobble: Pose,
    wheel: Pose,
}

impl Chain {
    pub(super) fn of(state: &TurnState, photo: usize) -> Self {
        let it = &state.photos[photo];
        let wheel = state.wheel(photo);
        let wobble = it.wobble.pose();
        let axis_from_turning = state.turning_from_axis.inverse();
        Self {
            camera: state.camera_of(photo),
            camera_from_fixed: it.camera_from_fixed,
            camera_from_turning: state.camera_from_turning(photo),
            axis_from_turning,
            turns: [
                it.camera_from_fixed.rotation(),
                state.fixed_from_axis.rotation(),
                wobble.rotation(),
                wheel.rotation(),
                axis_from_turning.rotation(),
            ],
            wobble,
            wheel,
        }
    }
}

/// Derivatives of one residual: the row in a frame, and the list it goes to.
type Row = Vec<(usize, f64)>;

impl TurnProblem<'_> {
    /// Derivatives by the photo's pose, focal factor and camera; returns the row by the point in the fixed frame.
    fn camera_row(
        &self,
        state: &TurnState,
        photo: usize,
        seen: &Projected,
        turned: &Vec3,
        across: &Vec2,
        out: &mut Row,
    ) -> RowVector3<f64> {
        let row: RowVector3<f64> = across.transpose() * seen.by_point;
        let by_turn = -row * turned.cross_matrix();
        let at = self.photo_at(photo);
        for k in 0..3 {
            out.push((at + k, by_turn[k]));
            out.push((at + 3 + k, row[k]));
        }
        let it = &state.photos[photo];
        let intrinsics = across.transpose() * seen.by_intrinsics;
        let camera = &state.cameras[it.camera].intrinsics;
        out.push((
            at + 6,
            it.focal * (intrinsics[0] * camera[0] + intrinsics[1] * camera[1]),
        ));
        let cameras = self.cameras_at() + INTRINSICS * it.camera;
        for k in 0..INTRINSICS {
            out.push((cameras + k, intrinsics[k] * if k < 2 { it.focal } else { 1.0 }));
        }
        row
    }

    /// Derivatives of the projection of a point of the turning frame by all that places it; returns the row by the
    /// point itself.
    fn turning_row(
        &self,
        state: &TurnState,
        chain: &Chain,
        (photo, point): (usize, &Vec3),
        seen: &Projected,
        across: &Vec2,
        out: &mut Row,
    ) -> RowVector3<f64> {
        let q = chain.axis_from_turning.point(point);
        let wheeled = chain.wheel.point(&q);
        let wobbled = chain.wobble.point(&wheeled);
        let fixed = state.fixed_from_axis.point(&wobbled);
        let turned = chain.camera_from_fixed.direction(&fixed);
        let row = self.camera_row(state, photo, seen, &turned, across, out);
        let [camera, axis, wobble, wheel, own] = &chain.turns;
        let by_axis = row * camera * axis;
        let at = self.axis_at();
        // A small turn w moves a point by w x p; the row times that is w times (p x row).
        let lever = wobbled.cross(&by_axis.transpose());
        out.extend([(at, lever.x), (at + 1, lever.y)]);
        out.extend((0..3).map(|k| (at + 2 + k, by_axis[k])));
        let by_wheeled = by_axis * wobble;
        if self.wobbles {
            let lever = (wobble * wheeled).cross(&by_axis.transpose());
            let at = self.wobble_at(photo);
            out.extend((0..3).map(|k| (at + k, by_axis[k])));
            out.extend([(at + 3, lever.x), (at + 4, lever.y)]);
        }
        out.push((self.angle_at(photo), wheeled.cross(&by_wheeled.transpose()).z));
        let by_q = by_wheeled * wheel;
        let lever = q.cross(&by_q.transpose());
        out.extend([
            (at + 5, -lever.x),
            (at + 6, -lever.y),
            (at + 7, -by_q[0]),
            (at + 8, -by_q[1]),
        ]);
        by_q * own
    }

    pub(super) fn fixed_residuals(&self, state: &TurnState, chains: &[Chain], out: &mut Residuals) -> bool {
        let mut row = Vec::with_capacity(32);
        for sight in self.fixed {
            let (at, by) = self.fixed_print.place(&sight.place, &state.scale, &state.bend);
            let chain = &chains[sight.photo];
            let Some(seen) = chain
                .camera
                .project_with_derivatives(&chain.camera_from_fixed.point(&at))
            else {
                return false;
            };
            for axis in 0..2 {
                let across = unit(axis) / sight.sigma_px;
                row.clear();
                if out.wants_derivatives() {
                    let turned = chain.camera_from_fixed.direction(&at);
                    let by_point = self.camera_row(state, sight.photo, &seen, &turned, &across, &mut row)
                        * chain.turns[0];
                    let prints = self.prints_at();
                    for (k, step) in by.iter().enumerate() {
                        row.push((prints + if k < 2 { k } else { 2 + k }, (by_point * step)[0]));
                    }
                }
                let residual = (seen.at[axis] - sight.at[axis]) / sight.sigma_px;
                out.push(Group::Corners as usize, CORNER_LOSS, residual, &row);
            }
        }
        true
    }

    pub(super) fn turning_residuals(&self, state: &TurnState, chains: &[Chain], out: &mut Residuals) -> bool {
        let mut row = Vec::with_capacity(48);
        let scale = state.turning_scale();
        for sight in self.turning {
            let (at, by) = self
                .turning_print
                .place(&sight.place, &scale, &state.turning_bend);
            let chain = &chains[sight.photo];
            let Some(seen) = chain
                .camera
                .project_with_derivatives(&chain.camera_from_turning.point(&at))
            else {
                return false;
            };
            for axis in 0..2 {
                let across = unit(axis) / sight.sigma_px;
                row.clear();
                if out.wants_derivatives() {
                    let by_point =
                        self.turning_row(state, chain, (sight.photo, &at), &seen, &across, &mut row);
                    let prints = self.prints_at();
                    for (k, step) in by.iter().enumerate() {
                        let slope = (by_point * step)[0];
                        if k < 2 {
                            // The scale common to both prints times the turning one's own.
                            row.push((prints + k, slope * state.own_scale[k]));
                            row.push((prints + 2 + k, slope * state.scale[k]));
                        } else {
                            row.push((prints + 4 + k, slope));
                        }
                    }
                }
                let residual = (seen.at[axis] - sight.at[axis]) / sight.sigma_px;
                out.push(Group::Corners as usize, CORNER_LOSS, residual, &row);
            }
        }
        true
    }

    pub(super) fn rim_residuals(
        &self,
        state: &TurnState,
        rim: &Circle,
        chains: &[Chain],
        out: &mut Residuals,
    ) {
        let mut row = Vec::with_capacity(48);
        for sight in self.rim {
            let chain = &chains[sight.photo];
            let (camera, pose) = (&chain.camera, &chain.camera_from_turning);
            let Some(near) = CurvePoint::nearest(rim, camera, pose, &sight.at, &sight.side, sight.t) else {
                // A rim that has no nearest point there misses it by far; the loss keeps it from pulling.
                out.push(Group::Edges as usize, Loss::Cauchy(3.0), LOST_RESIDUAL, &[]);
                continue;
            };
            let across = near.normal / sight.sigma_px;
            let around = state.around(sight.photo, &near.point);
            let by_shift = |shift: &Vec3| {
                let turned = chain.camera_from_turning.direction(shift);
                (across.transpose() * near.seen.by_point * turned)[0]
            };
            let (by_out, by_depth) = (by_shift(&rim.radial(near.t)), by_shift(&rim.normal));
            let by_light: [f64; LIGHT] = std::array::from_fn(|k| {
                if k < OUT {
                    by_out * around[k]
                } else {
                    by_depth * around[k - OUT]
                }
            });
            row.clear();
            if out.wants_derivatives() {
                let at = (sight.photo, &near.point);
                let by_point = self.turning_row(state, chain, at, &near.seen, &across, &mut row);
                let by_rim = by_point * rim.by_step(near.t);
                row.extend((0..Circle::PARAMETERS).map(|k| (self.rim_at() + k, by_rim[k])));
                row.push((self.photo_at(sight.photo) + 7, 1.0 / sight.sigma_px));
                row.extend((0..LIGHT).map(|k| (self.light_at() + k, by_light[k])));
            }
            let light: f64 = (0..LIGHT).map(|k| state.light[k] * by_light[k]).sum();
            let shift = state.photos[sight.photo].rim_shift / sight.sigma_px + light;
            let residual = (near.seen.at - sight.at).dot(&across) + shift;
            out.push(Group::Edges as usize, Loss::Cauchy(3.0), residual, &row);
        }
    }
}

fn unit(axis: usize) -> Vec2 {
    let mut unit = Vec2::zeros();
    unit[axis] = 1.0;
    unit
}
