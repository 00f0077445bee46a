//! The profile of a blurred edge: the normal distribution function, fast enough for every pixel.

use std::sync::OnceLock;

const REACH: f64 = 6.0;
const PER_UNIT: usize = 64;
const COUNT: usize = 2 * 6 * PER_UNIT;

/// Density of the standard normal distribution.
#[inline]
pub(crate) fn density(t: f64) -> f64 {
    const INVERSE_ROOT_TWO_PI: f64 = 0.398_942_280_401_432_7;
    INVERSE_ROOT_TWO_PI * (-0.5 * t * t).exp()
}

/// The standard normal distribution function and its derivative, by cubic Hermite interpolation in a table
/// (error below 1e-9 and 1e-7).
#[derive(Clone, Copy)]
pub(crate) struct Step(&'static Table);

/// Coefficients of the cubic in each interval, by the share of the interval. The first entry is what lies below; the length is
/// a power of two, so that no index need be checked.
type Table = [[f64; 4]; 1024];

/// The step, ready for many places.
pub(crate) fn step() -> Step {
    static TABLE: OnceLock<Box<Table>> = OnceLock::new();
    Step(TABLE.get_or_init(table))
}

impl Step {
    /// Value and derivative at a place.
    #[inline]
    pub(crate) fn at(self, t: f64) -> (f64, f64) {
        // Added to a number, the integer nearest to it stands in the last bits.
        const SHIFT: f64 = (1u64 << 52) as f64;
        let at = (t.clamp(-REACH, REACH) + REACH) * PER_UNIT as f64 + 1.0;
        let shifted = (at - 0.5) + SHIFT;
        let f = at - (shifted - SHIFT);
        let [c0, c1, c2, c3] = self.0[(shifted.to_bits() % self.0.len() as u64) as usize];
        (
            ((c3 * f + c2) * f + c1) * f + c0,
            ((3.0 * c3 * f + 2.0 * c2) * f + c1) * PER_UNIT as f64,
        )
    }
}

fn table() -> Box<Table> {
    let mut out = Box::new([[0.0; 4]; 1024]);
    // Simpson's rule on eight pieces between the table's places, from the left end.
    let mut v0 = 0.0;
    for (i, entry) in out[1..=COUNT].iter_mut().enumerate() {
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
            assert!((step().at(t).0 - want).abs() < 1e-6, "{t}");
        }
    }

    #[test]
    fn the_slope_is_the_density() {
        for i in -700..700 {
            let t = f64::from(i) * 0.0083;
            assert!((step().at(t).1 - density(t)).abs() < 1e-6, "{t}");
            assert!(
                (step().at(t + 1e-5).0 - step().at(t).0 - 1e-5 * density(t)).abs() < 1e-9,
                "{t}"
            );
        }
    }
}
