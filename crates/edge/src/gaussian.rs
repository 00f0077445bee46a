//! The normal distribution function.

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

#[cfg(test)]
mod tests {
    use super::*;

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
