//! Projection with derivatives.

use nalgebra::{Matrix2x3, SMatrix};
use serde::{Deserialize, Serialize};
use shimwright_geom::{Vec2, Vec3};

/// How many intrinsic parameters a camera has: fx, fy, cx, cy, k1, k2, p1, p2, k3, in this order everywhere.
pub const INTRINSICS: usize = 9;

/// A pinhole camera with Brown-Conrady distortion, in the order and sign that OpenCV uses.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Camera {
    /// Picture width, px.
    pub width: u32,
    /// Picture height, px.
    pub height: u32,
    /// fx, fy, cx, cy (px), k1, k2, p1, p2, k3 (1).
    pub intrinsics: [f64; INTRINSICS],
}

/// A projected point with its derivatives.
#[derive(Clone, Copy, Debug)]
pub struct Projected {
    /// Where it appears, px.
    pub at: Vec2,
    /// d(px) / d(point in the camera frame, mm).
    pub by_point: Matrix2x3<f64>,
    /// d(px) / d(intrinsics).
    pub by_intrinsics: SMatrix<f64, 2, INTRINSICS>,
}

impl Camera {
    /// A camera with square pixels, the principal point in the middle and no distortion.
    pub fn ideal(width: u32, height: u32, focal_px: f64) -> Self {
        let centre = |n: u32| (f64::from(n) - 1.0) / 2.0;
        Self {
            width,
            height,
            intrinsics: [
                focal_px,
                focal_px,
                centre(width),
                centre(height),
                0.0,
                0.0,
                0.0,
                0.0,
                0.0,
            ],
        }
    }

    /// The same camera focused elsewhere: both focal lengths times `factor`.
    pub fn with_focal_factor(&self, factor: f64) -> Self {
        let mut camera = *self;
        camera.intrinsics[0] *= factor;
        camera.intrinsics[1] *= factor;
        camera
    }

    /// Projects a point of the camera frame, mm. `None` when it is not in front of the camera.
    pub fn project(&self, p: &Vec3) -> Option<Vec2> {
        if p.z <= 1e-6 {
            return None;
        }
        Some(self.distort(&Vec2::new(p.x / p.z, p.y / p.z)))
    }

    /// From ideal (undistorted, normalised) coordinates to pixels.
    pub fn distort(&self, ideal: &Vec2) -> Vec2 {
        let [fx, fy, cx, cy, k1, k2, p1, p2, k3] = self.intrinsics;
        let (x, y) = (ideal.x, ideal.y);
        let r2 = x * x + y * y;
        let radial = 1.0 + r2 * (k1 + r2 * (k2 + r2 * k3));
        let xd = x * radial + 2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x);
        let yd = y * radial + p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y;
        Vec2::new(fx * xd + cx, fy * yd + cy)
    }

    /// Projects a point of the camera frame with derivatives. `None` when it is not in front of the camera.
    pub fn project_with_derivatives(&self, p: &Vec3) -> Option<Projected> {
        if p.z <= 1e-6 {
            return None;
        }
        let [fx, fy, cx, cy, k1, k2, p1, p2, k3] = self.intrinsics;
        let (iz, x, y) = (1.0 / p.z, p.x / p.z, p.y / p.z);
        let r2 = x * x + y * y;
        let radial = 1.0 + r2 * (k1 + r2 * (k2 + r2 * k3));
        let radial_by_r2 = k1 + r2 * (2.0 * k2 + 3.0 * r2 * k3);
        let xd = x * radial + 2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x);
        let yd = y * radial + p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y;
        let xd_by_x = radial + 2.0 * x * x * radial_by_r2 + 2.0 * p1 * y + 6.0 * p2 * x;
        let xd_by_y = 2.0 * x * y * radial_by_r2 + 2.0 * p1 * x + 2.0 * p2 * y;
        let yd_by_y = radial + 2.0 * y * y * radial_by_r2 + 6.0 * p1 * y + 2.0 * p2 * x;
        let by_point = Matrix2x3::new(
            fx * xd_by_x * iz,
            fx * xd_by_y * iz,
            -fx * (xd_by_x * x + xd_by_y * y) * iz,
            fy * xd_by_y * iz,
            fy * yd_by_y * iz,
            -fy * (xd_by_y * x + yd_by_y * y) * iz,
        );
        let r4 = r2 * r2;
        #[rustfmt::skip]
        let by_intrinsics = SMatrix::<f64, 2, INTRINSICS>::from_row_slice(&[
            xd, 0.0, 1.0, 0.0, fx * x * r2, fx * x * r4, fx * 2.0 * x * y, fx * (r2 + 2.0 * x * x), fx * x * r4 * r2,
            0.0, yd, 0.0, 1.0, fy * y * r2, fy * y * r4, fy * (r2 + 2.0 * y * y), fy * 2.0 * x * y, fy * y * r4 * r2,
        ]);
        Some(Projected {
            at: Vec2::new(fx * xd + cx, fy * yd + cy),
            by_point,
            by_intrinsics,
        })
    }

    /// From pixels to ideal (undistorted, normalised) coordinates, by fixed-point iteration.
    pub fn undistort(&self, pixel: &Vec2) -> Vec2 {
        let [fx, fy, cx, cy, k1, k2, p1, p2, k3] = self.intrinsics;
        let target = Vec2::new((pixel.x - cx) / fx, (pixel.y - cy) / fy);
        let mut ideal = target;
        for _ in 0..30 {
            let (x, y) = (ideal.x, ideal.y);
            let r2 = x * x + y * y;
            let radial = 1.0 + r2 * (k1 + r2 * (k2 + r2 * k3));
            let tangential = Vec2::new(
                2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x),
                p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y,
            );
            let next = (target - tangential) / radial;
            let moved = (next - ideal).norm();
            ideal = next;
            if moved < 1e-13 {
                break;
            }
        }
        ideal
    }

    /// The unit direction in the camera frame that a pixel looks along.
    pub fn ray(&self, pixel: &Vec2) -> Vec3 {
        let ideal = self.undistort(pixel);
        Vec3::new(ideal.x, ideal.y, 1.0).normalize()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn camera() -> Camera {
        Camera {
            width: 2816,
            height: 2112,
            intrinsics: [2291.7, 2289.9, 1418.3, 1049.6, 0.04, -0.07, 0.0005, -0.0003, 0.01],
        }
    }

    #[test]
    fn derivatives_agree_with_differences() {
        let (camera, p) = (camera(), Vec3::new(40.0, -55.0, 210.0));
        let d = camera.project_with_derivatives(&p).unwrap();
        for k in 0..3 {
            let mut step = Vec3::zeros();
            step[k] = 1e-4;
            let slope = (camera.project(&(p + step)).unwrap() - camera.project(&(p - step)).unwrap()) / 2e-4;
            assert!((slope - d.by_point.column(k)).norm() < 1e-6, "point {k}");
        }
        for k in 0..INTRINSICS {
            let h = if k < 4 { 1e-3 } else { 1e-6 };
            let (mut up, mut down) = (camera, camera);
            up.intrinsics[k] += h;
            down.intrinsics[k] -= h;
            let slope = (up.project(&p).unwrap() - down.project(&p).unwrap()) / (2.0 * h);
            assert!((slope - d.by_intrinsics.column(k)).norm() < 1e-4, "intrinsic {k}");
        }
    }

    #[test]
    fn undistort_is_the_way_back() {
        let camera = camera();
        for (u, v) in [(0.0, 0.0), (2815.0, 0.0), (700.0, 1900.0), (1418.3, 1049.6)] {
            let pixel = Vec2::new(u, v);
            assert!((camera.distort(&camera.undistort(&pixel)) - pixel).norm() < 1e-7);
        }
    }

    /// A projection with the values of Zhang (2000) as a stored public camera test computes it: identity pose,
    /// X (40, 70, 800) projects to (345.5060, 279.2637). Zhang's distortion acts about the principal point and
    /// his skew of 0.204494 px is added here by hand.
    #[test]
    fn agrees_with_a_published_projection() {
        let camera = Camera {
            width: 640,
            height: 480,
            intrinsics: [
                832.5, 832.53, 303.959, 206.585, -0.228601, 0.190353, 0.0, 0.0, 0.0,
            ],
        };
        let at = camera.project(&Vec3::new(40.0, 70.0, 800.0)).unwrap();
        let skew = 0.204494 * (at.y - 206.585) / 832.53;
        assert!(
            (at.x + skew - 345.5060).abs() < 1e-3 && (at.y - 279.2637).abs() < 1e-3,
            "{at} {skew}"
        );
    }
}
