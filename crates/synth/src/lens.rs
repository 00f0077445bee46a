//! Which way each place of a picture looks.

use crate::shot::Shot;
use nalgebra::Matrix3;
use shimwright_geom::{Vec2, Vec3};

/// Distance between the nodes at which the lens is undistorted exactly, px. Straight lines between nodes this near are
/// right to 5e-4 px for a phone's lens.
const NODE: usize = 4;

/// The rays of a picture's places.
pub(crate) struct Lens {
    nodes: Vec<Vec2>,
    columns: usize,
    eye: Vec3,
    world_from_camera: Matrix3<f64>,
}

/// Places looked at beyond the picture's border, px: the blur reaches in from there.
pub(crate) const MARGIN: usize = 16;

impl Lens {
    pub fn new(shot: &Shot) -> Self {
        let camera = &shot.camera;
        let count = |size: u32| (size as usize + 2 * MARGIN).div_ceil(NODE) + 2;
        let (columns, rows) = (count(camera.width), count(camera.height));
        let place = |i: usize| (i * NODE) as f64 - MARGIN as f64 - 1.0;
        let nodes = (0..rows)
            .flat_map(|y| (0..columns).map(move |x| (x, y)))
            .map(|(x, y)| camera.undistort(&Vec2::new(place(x), place(y))))
            .collect();
        let world_from_camera = shot.camera_from_world.inverse();
        Self {
            nodes,
            columns,
            eye: world_from_camera.translation(),
            world_from_camera: world_from_camera.rotation(),
        }
    }

    /// The undistorted, normalised coordinates of a place, which lies at most [`MARGIN`] px outside the picture.
    fn ideal(&self, x: f64, y: f64) -> Vec2 {
        let node = |v: f64| (v + MARGIN as f64 + 1.0) / NODE as f64;
        let (u, v) = (node(x), node(y));
        let (i, j) = (u as usize, v as usize);
        let (fu, fv) = (u - i as f64, v - j as f64);
        let row = &self.nodes[j * self.columns + i..];
        let next = &self.nodes[(j + 1) * self.columns + i..];
        (row[0] * (1.0 - fu) + row[1] * fu) * (1.0 - fv) + (next[0] * (1.0 - fu) + next[1] * fu) * fv
    }

    /// Where all rays start, world frame.
    pub fn eye(&self) -> Vec3 {
        self.eye
    }

    /// The direction in the world that a place looks along; a length of one is a depth of one millimetre.
    pub fn along(&self, x: f64, y: f64) -> Vec3 {
        let ideal = self.ideal(x, y);
        self.world_from_camera * Vec3::new(ideal.x, ideal.y, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shot::Sensor;
    use shimwright_camera::Camera;
    use shimwright_geom::Pose;

    #[test]
    fn rays_go_through_the_places_they_are_of() {
        let camera = Camera {
            width: 2816,
            height: 2112,
            intrinsics: [2291.7, 2289.9, 1418.3, 1049.6, 0.04, -0.07, 0.0005, -0.0003, 0.01],
        };
        let shot = Shot {
            camera,
            camera_from_world: Pose::from_rotation_vector(
                Vec3::new(0.3, -0.2, 0.9),
                Vec3::new(1.0, 2.0, 200.0),
            ),
            sensor: Sensor::quiet(0.7),
        };
        let lens = Lens::new(&shot);
        for (x, y) in [
            (0.3, 0.7),
            (2815.4, 2.2),
            (1200.6, 2113.3),
            (-15.0, -15.0),
            (2000.1, 900.9),
        ] {
            let at = shot.project(&(lens.eye() + lens.along(x, y) * 250.0)).unwrap();
            assert!((at - Vec2::new(x, y)).norm() < 5e-4, "{x} {y}: {at}");
        }
    }
}
