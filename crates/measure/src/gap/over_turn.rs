//! The smallest gap over a turn, from the gap at one wheel angle and the rim's axial run-out.
//!
//! At a wheel angle p from the rim's high place the gap is `mean - (runout / 2) cos p`. Which angle the photos show is not
//! known, so over a turn the gap falls to between `gap - runout` and `gap`: in the middle `gap - runout / 2`, spread as a
//! cosine of an even angle is (arcsine distribution, standard deviation `runout / sqrt(8)`; JCGM 100, 4.3).

use super::problem::Problem;
use crate::told::mm;
use shimwright_record::{Conformity, Phrase, Quantity, StatedLength, conformity};
use shimwright_say::say;

/// The value, when the job states an axial run-out.
pub(crate) fn smallest(problem: &Problem, gap: f64, gap_u95: f64) -> Option<Quantity> {
    problem
        .drive
        .axial_runout
        .map(|runout| over_turn(gap, gap_u95, runout))
}

fn over_turn(gap: f64, gap_u95: f64, runout: StatedLength) -> Quantity {
    let measured = gap_u95.hypot(runout.u95 / 2.0);
    let spread = 1.96 * runout.value / 8f64.sqrt();
    // The cosine never leads further than half the run-out.
    let u95 = measured.hypot(spread).min(measured + runout.value / 2.0);
    mm(gap - runout.value / 2.0, u95)
}

/// What to beware of when the gap over a turn is not surely wide enough.
pub(crate) fn warning(problem: &Problem, smallest: Option<&Quantity>) -> Option<Phrase> {
    let smallest = smallest?;
    let (state, _) = conformity::at_least(smallest.value, smallest.u95, problem.minimum_gap);
    (state != Conformity::Within).then(|| {
        say!(
            "the verdict is that of the wheel as it stands; over a turn the gap falls to {:.2} mm, give or take {:.2}, and the \
             minimum of {:.2} mm is not sure to be kept: turn the wheel so that the gap is smallest and measure again",
            smallest.value, smallest.u95, problem.minimum_gap
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every wheel angle, with and without noise of the gap: the interval holds the true smallest gap in 93 % or more, and
    /// always lies between the gap and the gap less the whole run-out.
    #[test]
    fn the_interval_holds_at_every_wheel_angle() {
        let runout = StatedLength { value: 0.3, u95: 0.0 };
        let told = over_turn(1.0, 0.0, runout);
        assert!((told.value - 0.85).abs() < 1e-12 && (told.u95 - 0.15).abs() < 1e-12);
        for noise in [0.005, 0.02, 0.1] {
            let (mut held, mut all) = (0, 0);
            for angle in 0..360 {
                // Quantiles of a normal distribution in place of random numbers: 50 of even probability.
                for k in 0..50 {
                    let error = noise * quantile((f64::from(k) + 0.5) / 50.0);
                    let gap = 1.15 - 0.15 * f64::from(angle).to_radians().cos() + error;
                    let told = over_turn(gap, 1.96 * noise, runout);
                    held += i32::from((told.value - 1.0).abs() <= told.u95);
                    all += 1;
                }
            }
            let share = f64::from(held) / f64::from(all);
            assert!((0.93..=1.0).contains(&share), "noise {noise}: {share}");
        }
    }

    /// Inverse of the normal distribution function by bisection.
    fn quantile(probability: f64) -> f64 {
        let (mut low, mut high) = (-6.0, 6.0);
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if conformity::normal_cdf(middle) < probability {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }
}
