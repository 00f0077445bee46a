//! The profile of a blurred edge: the normal distribution function, fast enough for every pixel.

use std::sync::OnceLock;

const REACH: f64 = 6.0;
const PER_UNIT: usize = 64;
const COUNT: usize = 2 * 6 * PER_UNIT + 1;

/// Density of the standard normal distribution.
#[inline]
pub(crate) fn density(t: f64) -> f64 {
    const INVERSE_ROOT_TWO_PI: f64 = 0.398_942_280_401_432_7;
    INVERSE_ROOT_TWO_PI * (-0.5 * t * t).exp()
}

/// The standard normal distribution function and its derivative, by cubic Hermite interpolation in a table
/// (error below 1e-9 and 1e-7).
#[inline]
pub(crate) fn step(t: f64) -> (f64, f64) {
    if t <= -REACH {
        return (0.0, 0.0);
    }
    if t >= REACH {
        return (1.0, 0.0);
    }
    let at = (t + REACH) * PER_UNIT as f64;
    let i = (at as usize).min(COUNT - 2);
    let f = at - i as f64;
    let [c0, c1, c2, c3] = table()[i];
    (
        ((c3 * f + c2) * f + c1) * f + c0,
        ((3.0 * c3 * f + 2.0 * c2) * f + c1) * PER_UNIT as f64,
    )
}

/// Coefficients of the cubic in each interval, by the share of the interval.
fn table() -> &'static [[f64; 4]; COUNT - 1] {
    static TABLE: OnceLock<[[f64; 4]; COUNT - 1]> = OnceLock::new();
    TABLE.get_or_init(|| {
        let mut out = [[0.0; 4]; COUNT - 1];
        // Simpson's rule on eight pieces between the table's places, from the left end.
        let mut v0 = 0.0;
        for (i, entry) in out.iter_mut().enumerate() {
            let t = i as f64 / PER_UNIT as f64 - REACH;
            let h = 1.0 / (8 * PER_UNIT) as f64;
            let mut v1 = v0;
            for k in 0..4 {
                let a = t + 2.0 * h * f64::from(k);
                v1 += h / 3.0 * (density(a) + 4.0 * density(a + h) + density(a + 2.0 * h));
            }
            let width = 1.0 / PER_UNIT as f64;
            let (d0, d1) = (width * density(t), width * density(t + width));
            let rise = v1 - v0;
            *entry = [v0, d0, 3.0 * rise - 2.0 * d0 - d1, d0 + d1 - 2.0 * rise];
            v0 = v1;
        }
        out
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of the standard normal distribution from common statistical tables (six digits).
    #[test]
    fn known_values_of_the_normal_distribution() {
        for (t, want) in [
            (0.0, 0.5),
            (1.0, 0.841345),
            (1.959964, 0.975),
            (-2.0, 0.022750),
            (3.0, 0.998650),
        ] {
            assert!((step(t).0 - want).abs() < 1e-6, "{t}");
        }
    }

    #[test]
    fn the_slope_is_the_density() {
        for i in -700..700 {
            let t = f64::from(i) * 0.0083;
            assert!((step(t).1 - density(t)).abs() < 1e-6, "{t}");
            assert!(
                (step(t + 1e-5).0 - step(t).0 - 1e-5 * density(t)).abs() < 1e-9,
                "{t}"
            );
        }
    }
}
