//! What a turn is solved for.

use super::{LIGHT, OUT};
use crate::Circle;
use shimwright_camera::Camera;
use shimwright_geom::{Pose, Vec2, Vec3};

/// How a wheel stands off its axis in one photo, in the axis frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wobble(Pose);

impl Wobble {
    /// On the axis.
    pub fn none() -> Self {
        Self(Pose::identity())
    }

    /// Shift in the axis frame (x, y across and z along the axis), mm.
    pub fn shift(&self) -> Vec3 {
        self.0.translation()
    }

    /// Lean about the axis frame's x and y, rad.
    pub fn lean(&self) -> Vec2 {
        self.0.rotation_vector().xy()
    }

    pub(super) fn pose(&self) -> Pose {
        self.0
    }

    pub(super) fn moved(&self, shift: &Vec3, lean: &Vec2) -> Self {
        Self(self.0.nudged(&Vec3::new(lean.x, lean.y, 0.0), shift))
    }
}

/// State of a photo.
#[derive(Clone, Copy, Debug)]
pub struct TurnPhoto {
    /// `camera_from_fixed`.
    pub camera_from_fixed: Pose,
    /// Focal factor against its camera.
    pub focal: f64,
    /// Index of its camera.
    pub camera: usize,
    /// Shift of the observed rim across itself, px, positive outward.
    pub rim_shift: f64,
    /// Angle of the wheel about the axis frame's z, rad.
    pub angle: f64,
    /// How the wheel stands off the axis.
    pub wobble: Wobble,
}

/// Everything that is solved for.
#[derive(Clone, Debug)]
pub struct TurnState {
    /// Cameras.
    pub cameras: Vec<Camera>,
    /// Photos.
    pub photos: Vec<TurnPhoto>,
    /// Print scale of the fixed target along x and y.
    pub scale: Vec2,
    /// Factor of the turning target's print scale to that of the fixed one.
    pub own_scale: Vec2,
    /// Sagitta of the fixed target along x and y, mm.
    pub bend: Vec2,
    /// Sagitta of the turning target along x and y, mm.
    pub turning_bend: Vec2,
    /// Places the axis (its z) in the fixed frame.
    pub fixed_from_axis: Pose,
    /// Places the axis in the turning frame.
    pub turning_from_axis: Pose,
    /// The rim, in the turning frame.
    pub rim: Option<Circle>,
    /// How far out of the circle the rim's edge is seen, mm, and how deep beyond it into the paper: coefficients of
    /// cosine and sine of one to four times, and of once and twice, the angle about the axis in the fixed frame. Light
    /// comes from the same side in all photos, and what of a chamfer it shows changes with the side it is looked at
    /// from, as depth does.
    pub light: [f64; LIGHT],
}

impl TurnState {
    /// The camera of a photo as it was focused.
    pub fn camera_of(&self, photo: usize) -> Camera {
        let photo = &self.photos[photo];
        self.cameras[photo.camera].with_focal_factor(photo.focal)
    }

    /// Print scale of the turning target along x and y.
    pub fn turning_scale(&self) -> Vec2 {
        self.scale.component_mul(&self.own_scale)
    }

    /// The turn of a photo's wheel about the axis.
    pub(super) fn wheel(&self, photo: usize) -> Pose {
        Pose::from_rotation_vector(Vec3::z() * self.photos[photo].angle, Vec3::zeros())
    }

    /// From the turning frame to the axis frame as the wheel stands in a photo.
    fn axis_from_turned(&self, photo: usize) -> Pose {
        self.photos[photo].wobble.pose() * self.wheel(photo) * self.turning_from_axis.inverse()
    }

    /// Pose of the turning target in the fixed frame in a photo.
    pub fn fixed_from_turning(&self, photo: usize) -> Pose {
        self.fixed_from_axis * self.axis_from_turned(photo)
    }

    /// Pose of the turning target before the camera in a photo.
    pub fn camera_from_turning(&self, photo: usize) -> Pose {
        self.photos[photo].camera_from_fixed * self.fixed_from_turning(photo)
    }

    /// Cosine and sine of one to four times the angle, about the axis in the fixed frame, of a point of the turning
    /// frame.
    pub(super) fn around(&self, photo: usize, point: &Vec3) -> [f64; OUT] {
        let at = self.axis_from_turned(photo).point(point);
        let angle = at.y.atan2(at.x);
        std::array::from_fn(|k| {
            let (sin, cos) = ((k / 2 + 1) as f64 * angle).sin_cos();
            if k % 2 == 0 { cos } else { sin }
        })
    }

    /// The rim's centre off the axis, square to the axis, turning frame, mm: the eccentricity. `None` without a rim.
    pub fn eccentricity(&self) -> Option<Vec3> {
        let rim = self.rim.as_ref()?;
        let axis = self.turning_from_axis.direction(&Vec3::z());
        let away = rim.centre - self.turning_from_axis.translation();
        Some(away - axis * away.dot(&axis))
    }

    /// Slope of the rim's plane against the plane square to the axis, turning frame: how far the rim rises towards
    /// the printed side of the turning target a mm on the way in that direction. Its length is the tangent of the angle
    /// between the rim's normal and the axis. `None` without a rim.
    pub fn rim_slope(&self) -> Option<Vec3> {
        let rim = self.rim.as_ref()?;
        // Into the paper; the rim rises against it.
        let axis = self.turning_from_axis.direction(&Vec3::z());
        let along = rim.normal.dot(&axis);
        Some((rim.normal - axis * along) / along)
    }
}
