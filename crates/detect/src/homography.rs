//! Plane-to-plane projective maps.

use nalgebra::{Matrix3, SMatrix, SVector};
use shimwright_geom::Vec2;

/// A projective map of the plane with its last entry scaled to one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Homography(Matrix3<f64>);

impl Homography {
    /// Weighted least squares in the eight entries over `(from, to, weight)`, after moving and scaling both
    /// sides to unit size (Hartley, "In defense of the eight-point algorithm", 1997). The equations are divided
    /// by the denominator of the round before, so that after three rounds distances in the `to` plane count.
    /// `None` with fewer than four pairs or when the pairs do not fix the map.
    pub(crate) fn fit(pairs: &[(Vec2, Vec2, f64)]) -> Option<Self> {
        if pairs.len() < 4 {
            return None;
        }
        let from = Scaling::of(pairs.iter().map(|p| (p.0, p.2)))?;
        let to = Scaling::of(pairs.iter().map(|p| (p.1, p.2)))?;
        let mut h = SVector::<f64, 8>::zeros();
        for round in 0..3 {
            let mut a = SMatrix::<f64, 8, 8>::zeros();
            let mut b = SVector::<f64, 8>::zeros();
            for (p, q, weight) in pairs {
                let (p, q) = (from.apply(p), to.apply(q));
                let denominator = if round == 0 {
                    1.0
                } else {
                    h[6] * p.x + h[7] * p.y + 1.0
                };
                let weight = weight / (denominator * denominator);
                for (row, want) in [
                    ([p.x, p.y, 1.0, 0.0, 0.0, 0.0, -q.x * p.x, -q.x * p.y], q.x),
                    ([0.0, 0.0, 0.0, p.x, p.y, 1.0, -q.y * p.x, -q.y * p.y], q.y),
                ] {
                    let row = SVector::from(row);
                    a.syger(weight, &row, &row, 1.0);
                    b += row * (weight * want);
                }
            }
            a.fill_upper_triangle_with_lower_triangle();
            h = a.cholesky()?.solve(&b);
        }
        let m = Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1.0);
        Self::of_matrix(to.matrix().try_inverse()? * m * from.matrix())
    }

    /// The map that takes the four points of `from` to those of `to`, by way of the unit square. `None` when three
    /// neighbouring points of either lie on one line.
    pub(crate) fn of_four(from: &[Vec2; 4], to: &[Vec2; 4]) -> Option<Self> {
        Self::of_matrix(from_unit_square(to)? * from_unit_square(from)?.try_inverse()?)
    }

    fn of_matrix(m: Matrix3<f64>) -> Option<Self> {
        let scaled = m / m[(2, 2)];
        scaled.iter().all(|v| v.is_finite()).then_some(Self(scaled))
    }

    /// Where `p` goes.
    #[inline]
    pub(crate) fn apply(&self, p: &Vec2) -> Vec2 {
        let m = &self.0;
        let w = m[(2, 0)] * p.x + m[(2, 1)] * p.y + m[(2, 2)];
        Vec2::new(
            (m[(0, 0)] * p.x + m[(0, 1)] * p.y + m[(0, 2)]) / w,
            (m[(1, 0)] * p.x + m[(1, 1)] * p.y + m[(1, 2)]) / w,
        )
    }

    /// Derivative of [`Homography::apply`] at `p`: columns are the steps for one unit of x and of y.
    pub(crate) fn derivative(&self, p: &Vec2) -> nalgebra::Matrix2<f64> {
        let m = &self.0;
        let w = m[(2, 0)] * p.x + m[(2, 1)] * p.y + m[(2, 2)];
        let q = self.apply(p);
        nalgebra::Matrix2::new(
            (m[(0, 0)] - q.x * m[(2, 0)]) / w,
            (m[(0, 1)] - q.x * m[(2, 1)]) / w,
            (m[(1, 0)] - q.y * m[(2, 0)]) / w,
            (m[(1, 1)] - q.y * m[(2, 1)]) / w,
        )
    }
}

/// The map of the unit square (0, 0), (1, 0), (1, 1), (0, 1) to four points, in closed form (Heckbert, "Fundamentals of
/// texture mapping and image warping", 1989, section 2.2.3).
fn from_unit_square(to: &[Vec2; 4]) -> Option<Matrix3<f64>> {
    /// Least sine of the angle at the third corner.
    const LEAST_SINE: f64 = 1e-9;
    let [p0, p1, p2, p3] = to;
    let (u, v) = (p1 - p2, p3 - p2);
    let turn = u.perp(&v);
    if !(turn.abs() > LEAST_SINE * u.norm() * v.norm()) {
        return None;
    }
    let slant = p0 - p1 + p2 - p3;
    let (g, h) = (slant.perp(&v) / turn, u.perp(&slant) / turn);
    let (a, b) = (p1 - p0 + p1 * g, p3 - p0 + p3 * h);
    Some(Matrix3::new(a.x, b.x, p0.x, a.y, b.y, p0.y, g, h, 1.0))
}

impl Homography {
    /// The eight entries before the last, row by row.
    pub(crate) fn entries(&self) -> SVector<f64, 8> {
        let m = &self.0;
        SVector::from_fn(|k, _| m[(k / 3, k % 3)])
    }

    /// From the eight entries before the last, which is one.
    pub(crate) fn from_entries(e: &SVector<f64, 8>) -> Self {
        Self(Matrix3::new(e[0], e[1], e[2], e[3], e[4], e[5], e[6], e[7], 1.0))
    }

    /// Derivative of [`Homography::apply`] at `p` by the eight entries.
    pub(crate) fn by_entries(&self, p: &Vec2) -> SMatrix<f64, 2, 8> {
        let m = &self.0;
        let per_w = 1.0 / (m[(2, 0)] * p.x + m[(2, 1)] * p.y + m[(2, 2)]);
        let q = self.apply(p);
        let (x, y) = (p.x * per_w, p.y * per_w);
        SMatrix::from_row_slice(&[
            x,
            y,
            per_w,
            0.0,
            0.0,
            0.0,
            -q.x * x,
            -q.x * y,
            0.0,
            0.0,
            0.0,
            x,
            y,
            per_w,
            -q.y * x,
            -q.y * y,
        ])
    }

    /// The map back; `None` when the map is singular.
    pub(crate) fn inverse(&self) -> Option<Self> {
        Self::of_matrix(self.0.try_inverse()?)
    }
}

struct Scaling {
    centre: Vec2,
    factor: f64,
}

impl Scaling {
    fn of(points: impl Iterator<Item = (Vec2, f64)> + Clone) -> Option<Self> {
        let total: f64 = points.clone().map(|p| p.1).sum();
        let centre = points.clone().fold(Vec2::zeros(), |sum, p| sum + p.0 * p.1) / total;
        let spread = points.map(|p| (p.0 - centre).norm_squared() * p.1).sum::<f64>() / total;
        (spread > 0.0 && spread.is_finite()).then(|| Self {
            centre,
            factor: (2.0 / spread).sqrt(),
        })
    }

    fn apply(&self, p: &Vec2) -> Vec2 {
        (p - self.centre) * self.factor
    }

    fn matrix(&self) -> Matrix3<f64> {
        let (f, c) = (self.factor, self.centre);
        Matrix3::new(f, 0.0, -f * c.x, 0.0, f, -f * c.y, 0.0, 0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn skew() -> Homography {
        Homography(Matrix3::new(3.0, 0.4, 100.0, -0.2, 2.5, 50.0, 1e-3, -2e-3, 1.0))
    }

    #[test]
    fn a_map_is_recovered_from_exact_pairs() {
        let pairs: Vec<_> = (0..5)
            .flat_map(|i| (0..4).map(move |j| Vec2::new(10.0 * f64::from(i), 7.0 * f64::from(j))))
            .map(|p| (p, skew().apply(&p), 1.0 + p.x))
            .collect();
        let got = Homography::fit(&pairs).unwrap();
        assert!((got.0 - skew().0).norm() < 1e-6, "{got:?}");
    }

    #[test]
    fn the_derivative_agrees_with_differences() {
        let p = Vec2::new(4.0, -2.0);
        let step = 1e-6;
        let d = skew().derivative(&p);
        let dx = (skew().apply(&(p + Vec2::new(step, 0.0))) - skew().apply(&p)) / step;
        let dy = (skew().apply(&(p + Vec2::new(0.0, step))) - skew().apply(&p)) / step;
        assert!((d.column(0) - dx).norm() < 1e-4 && (d.column(1) - dy).norm() < 1e-4);
    }

    #[test]
    fn points_on_a_line_fix_no_map() {
        let pairs: Vec<_> = (0..6)
            .map(|i| (Vec2::new(f64::from(i), 0.0), Vec2::new(f64::from(i), 1.0), 1.0))
            .collect();
        assert!(Homography::fit(&pairs).is_none());
    }
}
