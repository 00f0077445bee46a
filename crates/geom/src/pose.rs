//! Rigid poses.

use crate::Vec3;
use nalgebra::{Isometry3, Matrix3, Rotation3, Translation3, UnitQuaternion};
use std::ops::Mul;

/// A rigid pose `a_from_b`: maps points of frame b into frame a, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose(Isometry3<f64>);

impl Pose {
    /// Both frames the same.
    pub fn identity() -> Self {
        Self(Isometry3::identity())
    }

    /// From a rotation vector (radians, axis times angle) and a translation (mm).
    pub fn from_rotation_vector(rotation: Vec3, translation: Vec3) -> Self {
        Self(Isometry3::new(translation, rotation))
    }

    /// From a rotation matrix, made orthogonal if it is not quite, and a translation (mm).
    pub fn from_matrix(rotation: &Matrix3<f64>, translation: Vec3) -> Self {
        let rotation = UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix(rotation));
        Self(Isometry3::from_parts(Translation3::from(translation), rotation))
    }

    /// The rotation matrix.
    pub fn rotation(&self) -> Matrix3<f64> {
        self.0.rotation.to_rotation_matrix().into_inner()
    }

    /// The rotation vector, radians.
    pub fn rotation_vector(&self) -> Vec3 {
        self.0.rotation.scaled_axis()
    }

    /// The translation, mm: where b's origin lies in a.
    pub fn translation(&self) -> Vec3 {
        self.0.translation.vector
    }

    /// `b_from_a`.
    pub fn inverse(&self) -> Self {
        Self(self.0.inverse())
    }

    /// Maps a point.
    pub fn point(&self, p: &Vec3) -> Vec3 {
        self.0.rotation * p + self.0.translation.vector
    }

    /// Maps a direction.
    pub fn direction(&self, d: &Vec3) -> Vec3 {
        self.0.rotation * d
    }

    /// The pose after a small turn `exp(rotation)` on the left (in frame a, about b's origin) and a shift in
    /// frame a: the update that the solver's pose parameters stand for.
    pub fn nudged(&self, rotation: &Vec3, translation: &Vec3) -> Self {
        let turned = UnitQuaternion::from_scaled_axis(*rotation) * self.0.rotation;
        Self(Isometry3::from_parts(
            Translation3::from(self.0.translation.vector + translation),
            turned,
        ))
    }
}

impl Mul for Pose {
    type Output = Pose;

    /// `a_from_b * b_from_c = a_from_c`.
    fn mul(self, right: Pose) -> Pose {
        Pose(self.0 * right.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn poses_chain_by_their_names() {
        let a_from_b = Pose::from_rotation_vector(Vec3::new(0.1, -0.2, 0.3), Vec3::new(1.0, 2.0, 3.0));
        let b_from_c = Pose::from_rotation_vector(Vec3::new(-0.4, 0.1, 0.2), Vec3::new(-1.0, 0.5, 2.0));
        let p_c = Vec3::new(0.3, 0.7, -1.1);
        let through = a_from_b.point(&b_from_c.point(&p_c));
        assert!(((a_from_b * b_from_c).point(&p_c) - through).norm() < 1e-12);
        assert!((a_from_b.inverse().point(&a_from_b.point(&p_c)) - p_c).norm() < 1e-12);
    }

    #[test]
    fn a_nudge_turns_about_the_target_and_shifts_in_the_camera() {
        let pose = Pose::from_rotation_vector(Vec3::new(0.1, 0.2, 0.3), Vec3::new(1.0, 2.0, 3.0));
        let nudged = pose.nudged(&Vec3::new(0.0, 0.0, 0.01), &Vec3::new(0.5, 0.0, 0.0));
        assert!((nudged.point(&Vec3::zeros()) - Vec3::new(1.5, 2.0, 3.0)).norm() < 1e-12);
        let d = nudged.direction(&Vec3::x());
        let want = Rotation3::new(Vec3::new(0.0, 0.0, 0.01)) * pose.direction(&Vec3::x());
        assert!((d - want).norm() < 1e-12);
    }
}
