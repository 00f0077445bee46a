//! What a tension means. Makers' tables rarely cover these drives, so a reading is held against the maker's range where
//! there is one, else against the same corner's earlier reading, and else against nothing.

use super::problem::Problem;
use shimwright_record::conformity::{at_least, at_most};
use shimwright_record::{Conformity, EarlierTension, Quantity, TensionRange, Verdict};
use shimwright_say::say;

/// The share of its earlier tension that a belt must have kept: common practice, no source.
const KEPT_SHARE: f64 = 0.7;

pub(super) fn verdict(problem: &Problem, tension: &Quantity, frequency: &Quantity) -> Verdict {
    match (problem.allowed, problem.earlier) {
        (Some(range), _) => against_maker(range, tension),
        (None, Some(earlier)) => against_earlier(&earlier, tension, frequency),
        (None, None) => Verdict {
            state: Conformity::Undecided,
            text: say!(
                "there is nothing to judge it by: no maker's value was given and this corner has no earlier reading; as \
                   loose as possible without skipping is common practice (no source), so set the belt, ride, and keep \
                   this reading to compare the next one with"
            ),
            limit: 0.0,
            probability: 0.0,
        },
    }
}

fn against_maker(range: TensionRange, tension: &Quantity) -> Verdict {
    let (value, u95) = (tension.value, tension.u95);
    let least = range
        .least
        .map(|limit| (at_least(value, u95, limit), limit, say!("at least")));
    let most = range
        .most
        .map(|limit| (at_most(value, u95, limit), limit, say!("at most")));
    let ends: Vec<_> = [least, most].into_iter().flatten().collect();
    // The end that is kept least surely decides; both must be kept.
    let Some(((state, _), limit, which)) = ends.iter().cloned().min_by(|a, b| a.0.1.total_cmp(&b.0.1)) else {
        return nothing_given();
    };
    let probability = (1.0 - ends.iter().map(|end| 1.0 - end.0.1).sum::<f64>()).max(0.0);
    let says = match state {
        Conformity::Within => say!("keeps the maker's range"),
        Conformity::Outside => say!("is outside the maker's range"),
        Conformity::Undecided => {
            say!("may or may not keep the maker's range: more plucks and a weighed belt make it surer")
        }
    };
    Verdict {
        state,
        text: say!("{value:.0} ± {u95:.0} N {says} (maker: {which} {limit:.0} N)"),
        limit,
        probability,
    }
}

/// A range without ends is refused before; said here for the type's sake.
fn nothing_given() -> Verdict {
    Verdict {
        state: Conformity::Undecided,
        text: say!("the maker's range has no ends"),
        limit: 0.0,
        probability: 0.0,
    }
}

fn against_earlier(earlier: &EarlierTension, tension: &Quantity, frequency: &Quantity) -> Verdict {
    let then = earlier.tension;
    let (share, u95) = match earlier.frequency {
        // The same belt and span: T is as f squared, and their uncertainties are common to both readings.
        Some(pitch) => {
            let share = (frequency.value / pitch.value).powi(2);
            let relative = (frequency.u95 / frequency.value).hypot(pitch.u95 / pitch.value);
            (share, 2.0 * share * relative)
        }
        None => {
            let share = tension.value / then.value;
            (
                share,
                share * (tension.u95 / tension.value).hypot(then.u95 / then.value),
            )
        }
    };
    let (state, probability) = at_least(share, u95, KEPT_SHARE);
    let says = match state {
        Conformity::Within => say!("it has kept enough of it"),
        Conformity::Outside => say!("it has lost more than it may: find out why, and set it again"),
        Conformity::Undecided => {
            say!("whether that is enough cannot be said: pluck it more often, or measure again sooner")
        }
    };
    Verdict {
        state,
        text: say!(
            "{:.0} ± {:.0} % of this corner's earlier {:.0} ± {:.0} N; {says} ({:.0} % must be left: common practice, no source)",
            100.0 * share,
            100.0 * u95,
            then.value,
            then.u95,
            100.0 * KEPT_SHARE
        ),
        limit: KEPT_SHARE * then.value,
        probability,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_record::Stated;

    fn quantity(value: f64, u95: f64, unit: &str) -> Quantity {
        Quantity {
            value,
            u95,
            unit: unit.into(),
        }
    }

    fn stated(value: f64, u95: f64) -> Stated {
        Stated { value, u95 }
    }

    /// ISO 14253-1:2017, one-sided guard band of 1.645 standard uncertainties (from memory): with u95 1.96 the limit of
    /// 40 N is surely kept from 41.645 N up.
    #[test]
    fn a_makers_range_has_guard_bands() {
        let range = TensionRange {
            least: Some(40.0),
            most: Some(60.0),
        };
        let state = |value| against_maker(range, &quantity(value, 1.96, "N")).state;
        assert_eq!(state(41.65), Conformity::Within);
        assert_eq!(state(41.64), Conformity::Undecided);
        assert_eq!(state(38.35), Conformity::Outside);
        assert_eq!(state(58.35), Conformity::Within);
        assert_eq!(state(58.36), Conformity::Undecided);
        assert_eq!(state(61.65), Conformity::Outside);
    }

    /// 50 N of 60 N is a share of 0.8333; 100 Hz of 110 Hz is (10/11)^2 = 0.8264, with far less uncertainty.
    #[test]
    fn pitches_of_one_belt_compare_better_than_tensions() {
        let (tension, frequency) = (quantity(50.0, 8.0, "N"), quantity(100.0, 0.5, "Hz"));
        let mut earlier = EarlierTension {
            tension: stated(60.0, 9.0),
            frequency: None,
        };
        let loose = against_earlier(&earlier, &tension, &frequency);
        assert_eq!(loose.state, Conformity::Undecided);
        assert!(loose.text.starts_with("83 ± 18 % of"), "{}", loose.text);
        earlier.frequency = Some(stated(110.0, 0.5));
        let close = against_earlier(&earlier, &tension, &frequency);
        assert_eq!(close.state, Conformity::Within);
        assert!(close.text.starts_with("83 ± 1 % of"), "{}", close.text);
        assert!((close.limit - 42.0).abs() < 1e-9);
    }
}
