//! Conformity with a limit: how sure is it that a measured value keeps it?
//!
//! The decision rule is that of ISO 14253-1:2017 with its default conformance probability of 95 %, one-sided; the
//! probabilities are those of JCGM 106:2012 for a normally distributed quantity.

use crate::Conformity;
use std::f64::consts::PI;

/// The coverage factor between an expanded uncertainty at 95 % and a standard uncertainty: u = U95 / 1.96.
pub const COVERAGE_95: f64 = 1.96;

/// The probability from which on conformity is said: 95 % (ISO 14253-1:2017, default).
pub const CONFORMANCE_PROBABILITY: f64 = 0.95;

/// The one-sided normal quantile of [`CONFORMANCE_PROBABILITY`]: a value must stand this many standard
/// uncertainties inside its limit.
pub const GUARD_FACTOR: f64 = 1.644_853_626_951_472_2;

/// Beyond this many standard deviations the continued fraction takes over from the series.
const SERIES_LIMIT: f64 = 3.0;

/// Depth of the continued fraction: at 3 standard deviations it has settled to the last bit well before.
const FRACTION_DEPTH: u32 = 200;

/// The standard normal distribution function, Phi(z): the probability of a value below `z`.
///
/// Relative error below 1e-12 also far out in the lower tail. Formulas: the power series of Abramowitz and Stegun
/// 26.2.11 near the middle, the continued fraction 26.2.14 for the tails. NaN gives NaN.
pub fn normal_cdf(z: f64) -> f64 {
    if z.is_nan() {
        return z;
    }
    if z > SERIES_LIMIT {
        1.0 - upper_tail(z)
    } else if z < -SERIES_LIMIT {
        upper_tail(-z)
    } else {
        0.5 + middle(z)
    }
}

/// Phi(z) - 1/2 by the series phi(z) (z + z^3/3 + z^5/(3 5) + ...), all terms of one sign.
fn middle(z: f64) -> f64 {
    let mut term = z;
    let mut sum = z;
    let mut odd = 1.0;
    while term.abs() > sum.abs() * f64::EPSILON * 0.1 {
        odd += 2.0;
        term *= z * z / odd;
        sum += term;
    }
    density(z) * sum
}

/// 1 - Phi(z) for z > 0 by the continued fraction phi(z) / (z + 1/(z + 2/(z + 3/(z + ...)))).
fn upper_tail(z: f64) -> f64 {
    if z.is_infinite() {
        return 0.0;
    }
    let below = (1..=FRACTION_DEPTH)
        .rev()
        .fold(z, |rest, k| z + f64::from(k) / rest);
    density(z) / below
}

fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// Whether a quantity is at least `limit`, and the probability of that.
///
/// `value`, its expanded uncertainty `u95` and `limit` are in one unit. [`Conformity::Within`] from a probability of
/// 95 % up, [`Conformity::Outside`] from 5 % down, [`Conformity::Undecided`] between. A `u95` of zero makes it a plain
/// comparison. An input that is not a number, or a negative `u95`, is never `Within`: undecided, probability 0.
pub fn at_least(value: f64, u95: f64, limit: f64) -> (Conformity, f64) {
    judge(value - limit, u95)
}

/// Whether a quantity is at most `limit`, and the probability of that; otherwise as [`at_least`].
pub fn at_most(value: f64, u95: f64, limit: f64) -> (Conformity, f64) {
    judge(limit - value, u95)
}

/// Judges a margin: how far inside the limit the value stands.
fn judge(margin: f64, u95: f64) -> (Conformity, f64) {
    if margin.is_nan() || u95.is_nan() || u95 < 0.0 || u95.is_infinite() {
        return (Conformity::Undecided, 0.0);
    }
    if u95 == 0.0 {
        return if margin >= 0.0 {
            (Conformity::Within, 1.0)
        } else {
            (Conformity::Outside, 0.0)
        };
    }
    let sigmas = margin / (u95 / COVERAGE_95);
    // The decision is made on the sigmas, so that a value exactly on the guard band is not lost to rounding in Phi.
    let state = if sigmas >= GUARD_FACTOR {
        Conformity::Within
    } else if sigmas <= -GUARD_FACTOR {
        Conformity::Outside
    } else {
        Conformity::Undecided
    };
    (state, normal_cdf(sigmas))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values computed from the complementary error function with 40 digits (mpmath): 0.5 erfc(-z / sqrt 2).
    const CDF: [(f64, f64); 14] = [
        (0.0, 0.5),
        (0.5, 0.6914624612740131),
        (1.0, 0.8413447460685429),
        (1.4, 0.9192433407662289),
        (-1.4, 0.08075665923377107),
        (1.96, 0.9750021048517795),
        (2.5, 0.9937903346742238),
        (2.9999, 0.998649658717045),
        (3.0001, 0.9986505450867392),
        (-3.0, 0.0013498980316300946),
        (-3.0001, 0.0013494549132607172),
        (-6.0, 9.86587645037698e-10),
        (-10.0, 7.619853024160525e-24),
        (-20.0, 2.7536241186062337e-89),
    ];

    #[test]
    fn the_distribution_function_is_right_to_1e_12_relative() {
        for (z, truth) in CDF {
            let got = normal_cdf(z);
            assert!(
                (got - truth).abs() <= 1e-12 * truth,
                "Phi({z}) = {got:e}, should be {truth:e}"
            );
        }
    }

    #[test]
    fn the_distribution_function_joins_smoothly_and_sums_to_one() {
        for limit in [SERIES_LIMIT, -SERIES_LIMIT] {
            let step = normal_cdf(limit + 1e-9) - normal_cdf(limit - 1e-9);
            assert!(step > 0.0 && step < 1e-11, "step {step:e} at {limit}");
        }
        for k in 0..=900 {
            let z = f64::from(k) * 0.01;
            assert!((normal_cdf(z) + normal_cdf(-z) - 1.0).abs() < 1e-14);
        }
        assert_eq!(normal_cdf(f64::INFINITY), 1.0);
        assert_eq!(normal_cdf(f64::NEG_INFINITY), 0.0);
        assert!(normal_cdf(f64::NAN).is_nan());
    }

    /// Expanded from standard uncertainty.
    fn u95(u: f64) -> f64 {
        u * COVERAGE_95
    }

    /// Examples of JCGM 106:2012, quoted from memory (not read in the document); the four-digit values computed
    /// from the formula p = Phi((TU - y) / u) - Phi((TL - y) / u).
    #[test]
    fn jcgm_106_conformity_probabilities() {
        let (state, p) = at_most(-5.47, u95(0.05), -5.40);
        assert!((p - 0.9192).abs() < 5e-5, "{p}");
        assert_eq!(state, Conformity::Undecided);
        let (state, p) = at_least(509.7, u95(8.6), 490.0);
        assert!((p - 0.9890).abs() < 5e-5, "{p}");
        assert_eq!(state, Conformity::Within);
        let both = normal_cdf((16.3 - 13.6) / 1.8) - normal_cdf((12.5 - 13.6) / 1.8);
        assert!((both - 0.6626).abs() < 5e-5, "{both}");
    }

    /// ISO 14253-1:2017, one-sided guard band g = 1.645 u at 95 % (from memory, not read in the document); the
    /// numbers computed: upper limit 0.25, u 0.03, accepted up to 0.20065, probability at 0.22 is 0.84134.
    #[test]
    fn iso_14253_guard_band() {
        assert_eq!(at_most(0.20065, u95(0.03), 0.25).0, Conformity::Within);
        assert_eq!(at_most(0.20066, u95(0.03), 0.25).0, Conformity::Undecided);
        let (state, p) = at_most(0.22, u95(0.03), 0.25);
        assert!((p - 0.84134).abs() < 5e-6, "{p}");
        assert_eq!(state, Conformity::Undecided);
        assert_eq!(at_most(0.29935, u95(0.03), 0.25).0, Conformity::Outside);
        assert_eq!(at_most(0.29934, u95(0.03), 0.25).0, Conformity::Undecided);
    }

    #[test]
    fn the_guard_factor_belongs_to_the_probability() {
        assert!((normal_cdf(GUARD_FACTOR) - CONFORMANCE_PROBABILITY).abs() < 1e-15);
    }

    #[test]
    fn no_uncertainty_is_a_plain_comparison() {
        assert_eq!(at_least(0.5, 0.0, 0.5), (Conformity::Within, 1.0));
        assert_eq!(at_least(0.499, 0.0, 0.5), (Conformity::Outside, 0.0));
    }

    #[test]
    fn what_is_no_number_is_never_within() {
        for (value, u95, limit) in [
            (f64::NAN, 0.1, 0.5),
            (9.0, f64::NAN, 0.5),
            (9.0, -0.1, 0.5),
            (9.0, f64::INFINITY, 0.5),
        ] {
            assert_eq!(at_least(value, u95, limit), (Conformity::Undecided, 0.0));
        }
    }
}
