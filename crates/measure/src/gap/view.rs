//! A curve in space as a photo shows it.

use shimwright_camera::Camera;
use shimwright_edge::EdgeGuess;
use shimwright_geom::{Pose, Vec2, Vec3};
use shimwright_solve::JointState;

/// A short piece of a projected curve.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece {
    /// Curve parameter at its middle.
    pub t: f64,
    /// Where to look.
    pub guess: EdgeGuess,
}

/// A photo's camera and pose.
pub(crate) struct View {
    camera: Camera,
    camera_from_fixed: Pose,
}

impl View {
    /// The view of a camera onto a frame.
    pub fn new(camera: Camera, camera_from_frame: Pose) -> Self {
        Self {
            camera,
            camera_from_fixed: camera_from_frame,
        }
    }

    pub fn of(state: &JointState, photo: usize) -> Self {
        Self {
            camera: state.camera_of(photo),
            camera_from_fixed: state.photos[photo].camera_from_fixed,
        }
    }

    /// Projects a point of the fixed frame, px.
    pub fn see(&self, point: &Vec3) -> Option<Vec2> {
        self.camera.project(&self.camera_from_fixed.point(point))
    }

    /// Where the camera stands in the fixed frame, mm.
    pub fn place(&self) -> Vec3 {
        self.camera_from_fixed.inverse().translation()
    }

    /// Focal length, px.
    pub fn focal_px(&self) -> f64 {
        self.camera.intrinsics[0]
    }

    /// The direction in the fixed frame that a pixel looks along.
    pub fn ray(&self, pixel: &Vec2) -> Vec3 {
        self.camera_from_fixed
            .inverse()
            .direction(&self.camera.ray(pixel))
    }

    /// Points evenly spaced on the picture of the straight line between two pixels.
    pub fn straight(&self, from: &Vec2, to: &Vec2, count: usize) -> Vec<Vec2> {
        let (a, b) = (self.camera.undistort(from), self.camera.undistort(to));
        (0..count)
            .map(|i| {
                self.camera
                    .distort(&(a + (b - a) * (i as f64 / (count - 1).max(1) as f64)))
            })
            .collect()
    }

    /// Cuts a projected curve between two parameters into `count` pieces. `toward` gives, for a parameter, a point
    /// in space on the positive side. `None` when part of it is behind the camera.
    pub fn pieces(
        &self,
        range: (f64, f64),
        count: usize,
        point: impl Fn(f64) -> Vec3,
        toward: impl Fn(f64) -> Vec3,
    ) -> Option<Vec<Piece>> {
        let h = (range.1 - range.0) / count as f64;
        (0..count)
            .map(|i| {
                let t = range.0 + h * (i as f64 + 0.5);
                let (before, at, after) = (
                    self.see(&point(t - h / 2.0))?,
                    self.see(&point(t))?,
                    self.see(&point(t + h / 2.0))?,
                );
                let side = self.see(&toward(t))? - at;
                Some(Piece {
                    t,
                    guess: guess_between(&before, &at, &after, &side),
                })
            })
            .collect()
    }
}

/// An edge guess through three neighbouring points, its positive side towards `side`.
pub(crate) fn guess_between(before: &Vec2, at: &Vec2, after: &Vec2, side: &Vec2) -> EdgeGuess {
    let chord = after - before;
    let length = chord.norm().max(1e-6);
    let along = chord / length;
    let normal = Vec2::new(-along.y, along.x);
    let normal = if normal.dot(side) < 0.0 { -normal } else { normal };
    // Both ends lie curvature * l^2 / 2 towards the inside of the bend, l half the chord.
    let sag = ((before + after) / 2.0 - at).dot(&normal);
    let curvature = 8.0 * sag / (length * length);
    EdgeGuess {
        at: *at,
        side: normal,
        curvature,
        length,
    }
}

/// Edge guesses along a polyline of pixels (spaced evenly), positive side to the left of travel.
pub(crate) fn guesses_along(points: &[Vec2]) -> Vec<EdgeGuess> {
    points
        .windows(3)
        .map(|w| {
            let chord = w[2] - w[0];
            let mut guess = guess_between(&w[0], &w[1], &w[2], &Vec2::new(-chord.y, chord.x));
            guess.length /= 2.0;
            guess
        })
        .collect()
}
