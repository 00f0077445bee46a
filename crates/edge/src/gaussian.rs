//! The normal distribution function.

use std::sync::OnceLock;

/// Standard normal distribution function, to 7.5e-8 (Abramowitz and Stegun, 26.2.17): far finer than an 8-bit
/// picture, and quick.
pub fn normal_cdf(x: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.231_641_9 * x.abs());
    let poly = t
        * (0.319_381_530
            + t * (-0.356_563_782 + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))));
    let tail = poly * (-0.5 * x * x).exp() * 0.398_942_280_401_432_7;
    if x >= 0.0 { 1.0 - tail } else { tail }
}

/// Steps of the table a unit, and how far it reaches.
const PER_UNIT: f64 = 64.0;
const REACH: f64 = 6.0;

/// As [`normal_cdf`], read from a table with straight lines between its entries: to 1e-5, below an 8-bit step.
pub(crate) fn quick_normal_cdf(x: f64) -> f64 {
    static TABLE: OnceLock<Vec<f64>> = OnceLock::new();
    let table = TABLE.get_or_init(|| {
        let count = (2.0 * REACH * PER_UNIT) as usize + 2;
        (0..count)
            .map(|i| normal_cdf(i as f64 / PER_UNIT - REACH))
            .collect()
    });
    let at = (x.clamp(-REACH, REACH) + REACH) * PER_UNIT;
    let i = at as usize;
    let share = at - i as f64;
    table[i] + (table[i + 1] - table[i]) * share
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_agrees() {
        for i in -800..800 {
            let x = f64::from(i) * 0.0077;
            assert!((quick_normal_cdf(x) - normal_cdf(x)).abs() < 1e-5, "{x}");
        }
    }

    /// Values of the standard normal distribution function from any statistical table.
    #[test]
    fn tabled_values() {
        for (x, want) in [
            (0.0, 0.5),
            (1.0, 0.841_344_7),
            (-1.96, 0.024_997_9),
            (3.0, 0.998_650_1),
        ] {
            assert!((normal_cdf(x) - want).abs() < 1e-7, "{x}");
        }
    }
}
