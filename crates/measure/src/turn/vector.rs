//! Size and direction of a small vector, with intervals that hold near zero too.

use nalgebra::{Matrix2, Vector2};

/// Size and direction of a measured vector with their expanded uncertainties at 95 %.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Polar {
    pub size: f64,
    pub size_u95: f64,
    /// Direction, rad, counter-clockwise from x.
    pub direction: f64,
    /// At most pi: then the direction is not known.
    pub direction_u95: f64,
}

/// Factor of a 95 % interval for the size of a vector with no size at all: a Rayleigh distribution's 95 % point,
/// sqrt(-2 ln 0.05).
const RAYLEIGH_95: f64 = 2.447_746_830_680_816;

/// Size and direction of a vector with covariance (x and y equally scaled).
///
/// Far from zero the size is normal with the standard deviation along the vector, and 1.96 of them make 95 %. Near zero
/// the measured size follows Rice's distribution and cannot come out below zero, so the factor grows to that of
/// Rayleigh's. The direction lies within the tangents from the origin to the ellipse of that factor; when the origin lies
/// inside it, the direction is not known.
pub(crate) fn polar(vector: &Vector2<f64>, covariance: &Matrix2<f64>) -> Polar {
    let size = vector.norm();
    let widest = covariance.symmetric_eigenvalues().max().max(0.0).sqrt();
    let along = if size > 0.0 { vector / size } else { Vector2::x() };
    let across = Vector2::new(-along.y, along.x);
    let sigma = |d: &Vector2<f64>| (d.transpose() * covariance * d)[(0, 0)].max(0.0).sqrt();
    let sigmas = if widest > 0.0 {
        size / widest
    } else {
        f64::INFINITY
    };
    // Near zero every direction counts, not only the measured one.
    let far = (sigmas / 6.0).min(1.0);
    let (radial, tangential) = (
        far * sigma(&along) + (1.0 - far) * widest,
        far * sigma(&across) + (1.0 - far) * widest,
    );
    let near = (RAYLEIGH_95 / sigmas.max(RAYLEIGH_95)).powi(2);
    let factor = 1.96 + (RAYLEIGH_95 - 1.96) * near;
    let sine = factor * tangential / size;
    Polar {
        size,
        size_u95: factor * radial,
        direction: vector.y.atan2(vector.x),
        direction_u95: if sine < 1.0 {
            sine.asin()
        } else {
            std::f64::consts::PI
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Random(u64);

    impl Random {
        fn uniform(&mut self) -> f64 {
            self.0 ^= self.0 << 13;
            self.0 ^= self.0 >> 7;
            self.0 ^= self.0 << 17;
            (self.0 >> 11) as f64 / (1u64 << 53) as f64
        }

        fn normal(&mut self) -> f64 {
            let r = (-2.0 * self.uniform().max(1e-300).ln()).sqrt();
            r * (std::f64::consts::TAU * self.uniform()).cos()
        }
    }

    /// At every true size, from none to far from zero, both intervals hold the truth in 93 to 99.5 % of 4000 cases
    /// (standard deviation of the share: 0.35 %).
    #[test]
    fn intervals_hold_at_every_size() {
        let mut random = Random(0x1234_5678_9ABC_DEF1);
        for (sx, sy) in [(1.0, 1.0), (1.0, 0.8)] {
            for true_size in [0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0, 50.0] {
                let truth = Vector2::new(true_size * 0.6, true_size * 0.8);
                let (mut sizes, mut directions) = (0, 0);
                for _ in 0..4000 {
                    let seen = truth + Vector2::new(sx * random.normal(), sy * random.normal());
                    let found = polar(&seen, &Matrix2::new(sx * sx, 0.0, 0.0, sy * sy));
                    sizes += i32::from((found.size - true_size).abs() <= found.size_u95);
                    let turn = (found.direction - truth.y.atan2(truth.x) + 3.0 * std::f64::consts::PI)
                        .rem_euclid(std::f64::consts::TAU)
                        - std::f64::consts::PI;
                    directions += i32::from(turn.abs() <= found.direction_u95);
                }
                let shares = [sizes, directions].map(|n| f64::from(n) / 4000.0);
                println!("size {true_size}, sigmas {sx} {sy}: {shares:.3?}");
                assert!(
                    shares.iter().all(|s| (0.93..=0.996).contains(s)),
                    "size {true_size}: {shares:.3?}"
                );
            }
        }
    }

    #[test]
    fn no_size_has_no_direction() {
        let none = polar(&Vector2::new(0.5, 0.0), &Matrix2::identity());
        assert_eq!(none.direction_u95, std::f64::consts::PI);
        assert!((none.size_u95 - RAYLEIGH_95).abs() < 1e-12);
        let exact = polar(&Vector2::new(0.5, 0.0), &Matrix2::zeros());
        assert_eq!((exact.size_u95, exact.direction_u95), (0.0, 0.0));
    }
}
