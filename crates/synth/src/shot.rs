//! A photo to be taken: the camera, where it stands, and what lens and sensor do to the light.

use shimwright_camera::Camera;
use shimwright_geom::{Pose, Vec2, Vec3};

/// What lens and sensor do to the light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensor {
    /// Blur of the lens: standard deviation of a Gaussian, px. The pixels' own area blurs beside it.
    pub blur_px: f64,
    /// Factor on all light; 1 is full scale.
    pub exposure: f64,
    /// Electrons at full scale: shot noise is the square root of the electrons. Infinite for none.
    pub full_well: f64,
    /// Noise of reading a pixel, electrons.
    pub read_noise: f64,
    /// Share of light lost in the corners of the picture.
    pub vignette: f64,
}

impl Sensor {
    /// A lens that blurs a little, without noise or fall of light.
    pub fn quiet(blur_px: f64) -> Self {
        Self {
            blur_px,
            exposure: 1.0,
            full_well: f64::INFINITY,
            read_noise: 0.0,
            vignette: 0.0,
        }
    }
}

/// A photo to be taken.
#[derive(Clone, Copy, Debug)]
pub struct Shot {
    /// The camera.
    pub camera: Camera,
    /// Where it stands.
    pub camera_from_world: Pose,
    /// Lens and sensor.
    pub sensor: Sensor,
}

impl Shot {
    /// Where a point of the world appears, px; `None` when it is behind the camera.
    pub fn project(&self, p: &Vec3) -> Option<Vec2> {
        self.camera.project(&self.camera_from_world.point(p))
    }
}

/// The pose of a camera at `eye` that looks at `target`, its top turned by `roll` (rad, clockwise in the picture) from `up`.
pub fn looking_at(eye: &Vec3, target: &Vec3, up: &Vec3, roll: f64) -> Pose {
    let forward = (target - eye).normalize();
    let right = forward.cross(up).normalize();
    let down = forward.cross(&right);
    let (sin, cos) = roll.sin_cos();
    let (x, y) = (right * cos + down * sin, down * cos - right * sin);
    let rotation = nalgebra::Matrix3::from_rows(&[x.transpose(), y.transpose(), forward.transpose()]);
    Pose::from_matrix(&rotation, -(rotation * eye))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_camera_looks_where_it_is_told() {
        let (eye, target) = (Vec3::new(-60.0, -120.0, 200.0), Vec3::new(0.0, 20.0, 36.0));
        let pose = looking_at(&eye, &target, &Vec3::z(), 0.0);
        assert!(pose.point(&eye).norm() < 1e-9);
        let seen = pose.point(&target);
        assert!(seen.x.abs() < 1e-9 && seen.y.abs() < 1e-9 && seen.z > 0.0);
        assert!(pose.direction(&Vec3::z()).y < 0.0, "up is up in the picture");
        assert!((pose.rotation().determinant() - 1.0).abs() < 1e-9);
    }
}
