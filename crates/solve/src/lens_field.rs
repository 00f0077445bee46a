//! A lens as a field of places over the picture, free of how the camera is turned: what two cameras, or a camera
//! and its covariance, differ by in pixels. Single coefficients go together too strongly to be compared.

use crate::IntrinsicsCovariance;
use nalgebra::{DMatrix, DVector, Matrix2, SVector};
use shimwright_camera::{Camera, INTRINSICS};
use shimwright_geom::{Vec2, Vec3};

/// Places across and down the picture.
const ACROSS: usize = 13;
const DOWN: usize = 10;

/// Largest distance over the picture between where two cameras see the same direction, px, after the small turn
/// that makes them agree best: a turn belongs to the pose, not to the lens.
pub fn field_difference(a: &Camera, b: &Camera) -> f64 {
    let field = Field::of(a);
    let mut apart = DVector::zeros(2 * field.directions.len());
    for (i, direction) in field.directions.iter().enumerate() {
        let d = b.distort(direction) - a.distort(direction);
        apart[2 * i] = d.x;
        apart[2 * i + 1] = d.y;
    }
    let rest = field.without_turn(&DMatrix::from_columns(&[apart]));
    (0..field.directions.len())
        .map(|i| rest[(2 * i, 0)].hypot(rest[(2 * i + 1, 0)]))
        .fold(0.0, f64::max)
}

/// Where in its picture a calibrated camera is known worst.
#[derive(Clone, Debug)]
pub struct WorstPlace {
    /// The place, px.
    pub at: Vec2,
    /// Standard deviation of where its direction is seen along the worst axis, free of a turn of the camera, px.
    pub sigma: f64,
    /// How the intrinsics move it along that axis.
    pub by_intrinsics: SVector<f64, INTRINSICS>,
}

impl WorstPlace {
    /// Finds it from the covariance of the intrinsics.
    pub fn of(camera: &Camera, covariance: &IntrinsicsCovariance) -> Self {
        let field = Field::of(camera);
        let mut by_intrinsics = DMatrix::zeros(2 * field.directions.len(), INTRINSICS);
        for (i, direction) in field.directions.iter().enumerate() {
            if let Some(seen) = camera.project_with_derivatives(&Vec3::new(direction.x, direction.y, 1.0)) {
                by_intrinsics
                    .fixed_view_mut::<2, INTRINSICS>(2 * i, 0)
                    .copy_from(&seen.by_intrinsics);
            }
        }
        let rest = field.without_turn(&by_intrinsics);
        let mut worst = Self {
            at: Vec2::zeros(),
            sigma: 0.0,
            by_intrinsics: SVector::zeros(),
        };
        for (i, direction) in field.directions.iter().enumerate() {
            let rows = rest.fixed_view::<2, INTRINSICS>(2 * i, 0);
            let spread: Matrix2<f64> = rows * covariance * rows.transpose();
            let eigen = spread.symmetric_eigen();
            let axis = eigen.eigenvalues.imax();
            let sigma = eigen.eigenvalues[axis].max(0.0).sqrt();
            if sigma > worst.sigma {
                worst = Self {
                    at: camera.distort(direction),
                    sigma,
                    by_intrinsics: rows.transpose() * eigen.eigenvectors.column(axis),
                };
            }
        }
        worst
    }

    /// Variance there from a part of the covariance, px².
    pub fn variance(&self, part: &IntrinsicsCovariance) -> f64 {
        self.by_intrinsics.dot(&(part * self.by_intrinsics))
    }
}

/// Directions that a camera sees evenly over its picture.
struct Field {
    directions: Vec<Vec2>,
    /// How they move in the picture when the camera is turned by a small angle about each axis.
    by_turn: DMatrix<f64>,
}

impl Field {
    fn of(camera: &Camera) -> Self {
        let place = |i: usize, n: usize, size: u32| i as f64 / (n - 1) as f64 * (f64::from(size) - 1.0);
        let directions: Vec<Vec2> = (0..ACROSS * DOWN)
            .map(|i| {
                Vec2::new(
                    place(i % ACROSS, ACROSS, camera.width),
                    place(i / ACROSS, DOWN, camera.height),
                )
            })
            .map(|pixel| camera.undistort(&pixel))
            .filter(|direction| direction.iter().all(|v| v.is_finite()))
            .collect();
        let mut by_turn = DMatrix::zeros(2 * directions.len(), 3);
        for (i, direction) in directions.iter().enumerate() {
            let p = Vec3::new(direction.x, direction.y, 1.0);
            if let Some(seen) = camera.project_with_derivatives(&p) {
                by_turn
                    .fixed_view_mut::<2, 3>(2 * i, 0)
                    .copy_from(&(-seen.by_point * p.cross_matrix()));
            }
        }
        Self { directions, by_turn }
    }

    /// The columns less their best fit by a turn.
    fn without_turn(&self, columns: &DMatrix<f64>) -> DMatrix<f64> {
        let normal = self.by_turn.transpose() * &self.by_turn;
        match normal.cholesky() {
            Some(factor) => columns - &self.by_turn * factor.solve(&(self.by_turn.transpose() * columns)),
            None => columns.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn camera() -> Camera {
        Camera {
            width: 2816,
            height: 2112,
            intrinsics: [2291.7, 2289.9, 1418.3, 1049.6, 0.04, -0.07, 0.0005, -0.0003, 0.0],
        }
    }

    #[test]
    fn a_turn_is_no_difference_and_a_focal_length_is() {
        let (mut moved, mut longer) = (camera(), camera());
        moved.intrinsics[2] += 1.0;
        longer.intrinsics[0] *= 1.001;
        longer.intrinsics[1] *= 1.001;
        assert_eq!(field_difference(&camera(), &camera()), 0.0);
        // A principal point that moved by 1 px is nearly a turn: second order of the field of view is left.
        assert!(field_difference(&camera(), &moved) < 0.45);
        // The picture's corner is 1760 px from its middle.
        let difference = field_difference(&camera(), &longer);
        assert!((difference - 1.76).abs() < 0.1, "{difference}");
    }

    #[test]
    fn the_deviation_is_that_of_the_difference() {
        let mut covariance = IntrinsicsCovariance::zeros();
        covariance[(4, 4)] = 1e-6;
        let mut other = camera();
        other.intrinsics[4] += 1e-3;
        let worst = WorstPlace::of(&camera(), &covariance);
        let difference = field_difference(&camera(), &other);
        assert!(
            (worst.sigma / difference - 1.0).abs() < 1e-3,
            "{worst:?} {difference}"
        );
        assert!((worst.variance(&covariance).sqrt() / worst.sigma - 1.0).abs() < 1e-9);
    }
}
