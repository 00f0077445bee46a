//! Numbers in words: the one place where advice rounds and writes them.

use crate::inch::{MM_PER_INCH, inches};
use shimwright_phrase::Value;
use shimwright_record::{Corner, Phrase, Quantity, Valued};
use shimwright_say::say;

/// Pound-force inches in a newton metre: 1 / (4.448 221 615 260 5 N x 0.0254 m), both exact by definition.
pub(crate) const INCH_POUNDS_PER_NEWTON_METRE: f64 = 1.0 / (4.448_221_615_260_5 * 0.0254);
/// The same in feet: a twelfth.
pub(crate) const FOOT_POUNDS_PER_NEWTON_METRE: f64 = INCH_POUNDS_PER_NEWTON_METRE / 12.0;

/// Decimals of millimetres that are never exceeded: a thousandth is finer than anything measured here.
const MOST_DECIMALS: usize = 3;
/// Decimals of inches, one more for the larger unit.
const MOST_INCH_DECIMALS: usize = 4;

/// A number rounded to its uncertainty, ready to be written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rounded {
    /// The value.
    pub value: f64,
    /// Its expanded uncertainty, rounded up so that it is never understated.
    pub u95: f64,
    /// Decimals that both are written with.
    pub decimals: usize,
}

/// Rounds a value to its expanded uncertainty: the uncertainty keeps one digit, or two when it begins with 1 or 2,
/// and is rounded up; the value gets the same decimals, `most_decimals` at most. (JCGM 100, 7.2.6: one or two digits, up
/// where in doubt.)
pub fn round_to_uncertainty(value: f64, u95: f64, most_decimals: usize) -> Rounded {
    let decimals = decimals_for(u95, most_decimals);
    let scale = 10_f64.powi(decimals as i32);
    // The small allowance keeps 0.05 from becoming 0.06 through its binary form.
    let u95 = (u95 * scale * (1.0 - 1e-9)).ceil() / scale;
    let value = (value * scale).round() / scale;
    // No minus sign before a zero.
    Rounded {
        value: value + 0.0,
        u95: u95 + 0.0,
        decimals,
    }
}

/// The fewest decimals that leave the uncertainty three units or more in the last place.
fn decimals_for(u95: f64, most: usize) -> usize {
    let known = u95 > 0.0 && u95.is_finite();
    (0..most)
        .find(|&decimals| known && u95 * 10_f64.powi(decimals as i32) >= 3.0 - 1e-9)
        .unwrap_or(most)
}

/// A measured length in both units, such as `1.42 ± 0.05 mm (0.0560 ± 0.0020 in)`.
pub fn length(mm: f64, u95: f64) -> Valued {
    Valued {
        text: format!("{} mm ({} in)", in_millimetres(mm, u95), in_inches(mm, u95)),
        value: Value::length(mm, Some(u95), None),
    }
}

/// The millimetre half of [`length`], without the unit.
pub(crate) fn in_millimetres(mm: f64, u95: f64) -> String {
    with_uncertainty(mm, u95, MOST_DECIMALS)
}

/// The inch half of [`length`], without the unit.
pub(crate) fn in_inches(mm: f64, u95: f64) -> String {
    with_uncertainty(inches(mm), u95 / MM_PER_INCH, MOST_INCH_DECIMALS)
}

/// A quantity in mm as [`length`] writes it.
pub(crate) fn quantity(quantity: &Quantity) -> Valued {
    length(quantity.value, quantity.u95)
}

/// An angle in degrees: `0.21 ± 0.04°`.
pub(crate) fn angle(quantity: &Quantity) -> Valued {
    Valued {
        text: format!(
            "{}°",
            with_uncertainty(quantity.value, quantity.u95, MOST_DECIMALS)
        ),
        value: Value::measured(quantity.value, quantity.u95, "deg"),
    }
}

/// A quantity that is neither length nor angle, in its own unit: `1.16 ± 0.20 N`.
pub(crate) fn in_own_unit(quantity: &Quantity) -> Valued {
    Valued {
        text: format!(
            "{} {}",
            with_uncertainty(quantity.value, quantity.u95, MOST_DECIMALS),
            quantity.unit
        ),
        value: Value::measured(quantity.value, quantity.u95, &quantity.unit),
    }
}

/// A number with its uncertainty, without the unit.
fn with_uncertainty(value: f64, u95: f64, most_decimals: usize) -> String {
    let Rounded { value, u95, decimals } = round_to_uncertainty(value, u95, most_decimals);
    format!("{value:.decimals$} ± {u95:.decimals$}")
}

/// A length that is set and not measured, such as a limit: `0.5 mm (0.020 in)`.
pub(crate) fn set_length(mm: f64) -> Valued {
    let thousandths = (mm * 1000.0).round() / 1000.0 + 0.0;
    Valued {
        text: format!("{thousandths} mm ({:.3} in)", inches(mm) + 0.0),
        value: Value::length(thousandths, None, None),
    }
}

/// A torque in both units, such as `0.55 N m (4.9 in lb)`.
pub(crate) fn torque(newton_metres: f64) -> Valued {
    Valued {
        text: format!(
            "{newton_metres} N m ({:.1} in lb)",
            newton_metres * INCH_POUNDS_PER_NEWTON_METRE
        ),
        value: Value::Torque { newton_metres },
    }
}

/// A probability in words that do not sound surer than they are.
pub fn chance(probability: f64) -> Valued {
    let text = match probability {
        p if p.is_nan() => "unknown".to_owned(),
        p if p < 0.001 => "less than 1 in 1,000".to_owned(),
        p if p < 0.01 => "less than 1 in 100".to_owned(),
        p if p > 0.99 => "more than 99 in 100".to_owned(),
        p => format!("about {:.0} in 100", p * 100.0),
    };
    let value = if probability.is_nan() {
        Value::text("?")
    } else {
        Value::Chance { probability }
    };
    Valued { text, value }
}

/// The label of a stack, as it is kept as the label of what is fitted: `7/16 in + 1/4 in`.
pub fn stack_label(rings: &[String]) -> String {
    rings.join(STACK_JOINT)
}

/// What joins the labels of a stack.
pub(crate) const STACK_JOINT: &str = " + ";

/// `Left` or `Right`, to begin a sentence with.
pub(crate) fn corner_capital(corner: Corner) -> Phrase {
    match corner {
        Corner::Left => say!("Left"),
        Corner::Right => say!("Right"),
    }
}

/// Joins phrases: `a`, `a and b`, `a, b and c`.
pub(crate) fn and(phrases: &[Phrase]) -> Phrase {
    match phrases {
        [] => Phrase::foreign(""),
        [only] => only.clone(),
        [first @ .., last] => say!("{} and {last}", Phrase::joined(first.iter().cloned(), ", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_to_their_uncertainty() {
        let written = |value, u95| with_uncertainty(value, u95, MOST_DECIMALS);
        assert_eq!(written(1.4217, 0.05), "1.42 ± 0.05");
        assert_eq!(written(1.4217, 0.0501), "1.42 ± 0.06");
        assert_eq!(written(1.4217, 0.2), "1.42 ± 0.20");
        assert_eq!(written(1.4217, 0.31), "1.4 ± 0.4");
        assert_eq!(written(1.4217, 0.12), "1.42 ± 0.12");
        assert_eq!(written(1.4217, 0.1), "1.42 ± 0.10");
        assert_eq!(written(1.4217, 0.0999), "1.42 ± 0.10");
        assert_eq!(written(1.4217, 0.013), "1.422 ± 0.013");
        assert_eq!(written(1.4217, 0.0004), "1.422 ± 0.001");
        assert_eq!(written(12.7, 3.0), "13 ± 3");
        assert_eq!(written(12.7, 1.5), "12.7 ± 1.5");
        assert_eq!(written(12.7, 0.0), "12.700 ± 0.000");
        assert_eq!(written(-0.001, 0.05), "0.00 ± 0.05");
    }

    #[test]
    fn the_written_uncertainty_is_never_smaller_and_at_most_doubled() {
        let mut u95 = 0.001;
        while u95 < 20.0 {
            let rounded = round_to_uncertainty(1.0, u95, MOST_DECIMALS);
            assert!(rounded.u95 >= u95 * (1.0 - 1e-8), "{u95} became {}", rounded.u95);
            assert!(rounded.u95 <= u95 * 2.0, "{u95} became {}", rounded.u95);
            u95 *= 1.013;
        }
    }

    #[test]
    fn lengths_carry_both_units() {
        assert_eq!(length(1.4217, 0.05).text, "1.42 ± 0.05 mm (0.0560 ± 0.0020 in)");
        assert_eq!(set_length(0.5).text, "0.5 mm (0.020 in)");
        assert_eq!(torque(0.55).text, "0.55 N m (4.9 in lb)");
    }

    #[test]
    fn chances_in_words() {
        assert_eq!(chance(1e-9).text, "less than 1 in 1,000");
        assert_eq!(chance(0.004).text, "less than 1 in 100");
        assert_eq!(chance(0.123).text, "about 12 in 100");
        assert_eq!(chance(0.9999).text, "more than 99 in 100");
    }
}
