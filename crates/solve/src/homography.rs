//! The projective map between two planes.

use nalgebra::{DMatrix, Matrix3};
use shimwright_geom::{Vec2, Vec3};

/// Maps plane points to plane points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Homography(pub Matrix3<f64>);

impl Homography {
    /// Least-squares fit to pairs (from, to) by the normalised direct linear transform (Hartley and Zisserman,
    /// Multiple View Geometry, algorithm 4.2). `None` for fewer than four pairs or a degenerate set.
    pub fn fit(pairs: &[(Vec2, Vec2)]) -> Option<Self> {
        if pairs.len() < 4 {
            return None;
        }
        let from = normaliser(pairs.iter().map(|p| p.0))?;
        let to = normaliser(pairs.iter().map(|p| p.1))?;
        let mut system = DMatrix::zeros(2 * pairs.len(), 9);
        for (i, (a, b)) in pairs.iter().enumerate() {
            let (a, b) = (apply(&from, a), apply(&to, b));
            let rows = [
                [a.x, a.y, 1.0, 0.0, 0.0, 0.0, -b.x * a.x, -b.x * a.y, -b.x],
                [0.0, 0.0, 0.0, a.x, a.y, 1.0, -b.y * a.x, -b.y * a.y, -b.y],
            ];
            for (k, row) in rows.iter().enumerate() {
                for (j, value) in row.iter().enumerate() {
                    system[(2 * i + k, j)] = *value;
                }
            }
        }
        let eigen = (system.transpose() * system).symmetric_eigen();
        let smallest = (0..9).min_by(|&i, &j| eigen.eigenvalues[i].total_cmp(&eigen.eigenvalues[j]))?;
        let h = eigen.eigenvectors.column(smallest);
        let inner = Matrix3::from_row_slice(h.as_slice());
        let whole = to.try_inverse()? * inner * from;
        whole
            .iter()
            .all(|v| v.is_finite())
            .then_some(Self(whole / whole.norm()))
    }

    /// Maps a point.
    pub fn apply(&self, p: &Vec2) -> Vec2 {
        apply(&self.0, p)
    }
}

fn apply(m: &Matrix3<f64>, p: &Vec2) -> Vec2 {
    let q = m * Vec3::new(p.x, p.y, 1.0);
    Vec2::new(q.x / q.z, q.y / q.z)
}

fn normaliser(points: impl Iterator<Item = Vec2> + Clone) -> Option<Matrix3<f64>> {
    let count = points.clone().count() as f64;
    let mean = points.clone().sum::<Vec2>() / count;
    let spread = points.map(|p| (p - mean).norm()).sum::<f64>() / count;
    if !(spread > 1e-12) {
        return None;
    }
    let s = std::f64::consts::SQRT_2 / spread;
    Some(Matrix3::new(
        s,
        0.0,
        -s * mean.x,
        0.0,
        s,
        -s * mean.y,
        0.0,
        0.0,
        1.0,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_pairs_give_the_exact_map() {
        let truth = Homography(Matrix3::new(3.0, 0.2, 500.0, -0.1, 2.8, 300.0, 1e-4, -2e-4, 1.0));
        let pairs: Vec<_> = [(0.0, 0.0), (64.0, 0.0), (64.0, 24.0), (0.0, 24.0), (30.0, 7.0)]
            .iter()
            .map(|&(x, y)| (Vec2::new(x, y), truth.apply(&Vec2::new(x, y))))
            .collect();
        let found = Homography::fit(&pairs).unwrap();
        for (a, b) in &pairs {
            assert!((found.apply(a) - b).norm() < 1e-7);
        }
    }

    #[test]
    fn one_point_four_times_is_refused() {
        assert!(Homography::fit(&[(Vec2::zeros(), Vec2::zeros()); 4]).is_none());
    }
}
