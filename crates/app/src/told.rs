//! Numbers as people read them: the one place where shells round and write them.

pub(crate) mod handed_out;
pub mod verified;

use crate::bridge::Failure;
pub use shimwright_advice::chance;
use shimwright_advice::{inches, length, round_to_uncertainty};
use shimwright_record::{Phrase, Quantity};
use shimwright_say::say;

/// Most decimals of a number that is no length.
const MOST_DECIMALS: usize = 6;

/// The day of a stored moment (RFC 3339), as the user's clock showed it.
pub(crate) fn day_of(at: &str) -> &str {
    at.split_once('T').map_or(at, |(day, _)| day)
}

/// A number of photos.
pub fn photos(count: u64) -> Phrase {
    match count {
        1 => say!("1 photo"),
        count => say!("{count} photos"),
    }
}

/// Photos that went out, of which some are copies without place data.
pub fn photos_gone(count: u64, copies: u64) -> Phrase {
    match copies {
        0 => photos(count),
        1 => say!(
            "{}, 1 of them a copy that does not tell where it was taken",
            photos(count)
        ),
        copies => say!(
            "{}, {copies} of them copies that do not tell where they were taken",
            photos(count)
        ),
    }
}

/// The size of files.
pub fn size(bytes: u64) -> Phrase {
    say!("{:.1} MB", bytes as f64 / 1e6)
}

/// A quantity with its uncertainty and unit: lengths in millimetres and inches, all else in its own unit.
pub fn quantity(quantity: &Quantity) -> String {
    match quantity.unit.as_str() {
        "mm" => length(quantity.value, quantity.u95).text,
        unit => {
            let r = round_to_uncertainty(quantity.value, quantity.u95, MOST_DECIMALS);
            let unit = match unit {
                "deg" => "°",
                "1" => "",
                "px" => " px",
                "N" => " N",
                "Hz" => " Hz",
                other => other,
            };
            format!("{:.*} ± {:.*}{unit}", r.decimals, r.value, r.decimals, r.u95)
        }
    }
}

/// A length in inches first, for people who think in them.
pub fn quantity_inch_first(quantity: &Quantity) -> String {
    if quantity.unit != "mm" {
        return self::quantity(quantity);
    }
    let both = length(quantity.value, quantity.u95).text;
    match both.strip_suffix(')').and_then(|text| text.split_once(" (")) {
        Some((millimetres, inch)) => format!("{inch} ({millimetres})"),
        None => both,
    }
}

/// A standard uncertainty as a line of a budget shows it: two digits.
pub fn standard_uncertainty(u: f64, unit: &str, inch: bool) -> String {
    match (unit, inch) {
        ("mm", true) => format!("{:.5} in", inches(u)),
        ("mm", false) => format!("{u:.4} mm"),
        ("deg", _) => format!("{u:.4}°"),
        (unit, _) => format!("{u:.4} {unit}"),
    }
}

/// A length with its uncertainty, in both units.
pub fn plain(mm: f64, u95: f64) -> String {
    length(mm, u95).text
}

/// A length that is set and not measured, in both units.
pub fn set_length(mm: f64) -> String {
    let thousandths = (mm * 1000.0).round() / 1000.0;
    format!("{} mm ({:.3} in)", thousandths + 0.0, inches(mm) + 0.0)
}

/// A length as people write it: `11.1`, `11.1 mm`, `0.4375in`, `7/16 in`. In millimetres; `what` names it in the error.
///
/// # Errors
/// Bad input when it is no length.
pub fn millimetres(what: &str, text: &str) -> Result<f64, Failure> {
    let text = text.trim().to_lowercase();
    // An inch is 254 / 10 mm. As a ratio, and multiplied first, 7/16 in becomes 11.1125 mm to the last digit.
    let (number, [times, over]) = match (text.strip_suffix("in"), text.strip_suffix("mm")) {
        (Some(number), _) => (number, [254.0, 10.0]),
        (_, Some(number)) => (number, [1.0, 1.0]),
        _ => (text.as_str(), [1.0, 1.0]),
    };
    let parsed = match number.trim().split_once('/') {
        Some((above, below)) => match (above.trim().parse::<f64>(), below.trim().parse::<f64>()) {
            (Ok(above), Ok(below)) => Some(above * times / (below * over)),
            _ => None,
        },
        None => number
            .trim()
            .parse::<f64>()
            .ok()
            .map(|number| number * times / over),
    };
    parsed.filter(|mm| mm.is_finite()).ok_or_else(|| {
        Failure::bad_input(
            say!("{what} is `{text}`, which is no length"),
            say!("write it like 11.1 or 7/16in"),
        )
        .about(what)
    })
}

/// A value's name in words.
pub fn value_name(name: &str) -> String {
    name.replace('_', " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(value: f64, u95: f64, unit: &str) -> Quantity {
        Quantity {
            value,
            u95,
            unit: unit.into(),
        }
    }

    #[test]
    fn lengths_come_in_both_units() {
        assert_eq!(
            quantity(&of(1.42, 0.05, "mm")),
            "1.42 ± 0.05 mm (0.0559 ± 0.0020 in)"
        );
        assert_eq!(
            quantity_inch_first(&of(1.42, 0.05, "mm")),
            "0.0559 ± 0.0020 in (1.42 ± 0.05 mm)"
        );
    }

    #[test]
    fn other_units_stay_what_they_are() {
        assert_eq!(quantity(&of(0.213, 0.04, "deg")), "0.21 ± 0.04°");
        assert_eq!(quantity_inch_first(&of(2291.7, 0.31, "px")), "2291.7 ± 0.4 px");
    }

    /// 1 in = 25.4 mm exactly (international yard and pound agreement, 1959), so 7/16 in = 11.1125 mm.
    #[test]
    fn lengths_are_read_in_millimetres_and_inches() {
        for (text, mm) in [
            ("11.1", 11.1),
            (" 11.1 mm", 11.1),
            ("7/16in", 11.1125),
            ("0.5 in", 12.7),
            ("-0.4", -0.4),
        ] {
            assert_eq!(millimetres("x", text).unwrap(), mm, "{text}");
        }
        for text in ["", "wide", "1/0", "7/16/2", "nan", "3 ft"] {
            assert!(millimetres("x", text).is_err(), "{text}");
        }
    }
}
