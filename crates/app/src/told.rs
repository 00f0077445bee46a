//! Numbers as people read them: the one place where shells round and write them.

use shimwright_advice::{inches, length, round_to_uncertainty};
use shimwright_record::Quantity;

/// Most decimals of a number that is no length.
const MOST_DECIMALS: usize = 4;

/// A quantity with its uncertainty and unit: lengths in millimetres and inches, all else in its own unit.
pub fn quantity(quantity: &Quantity) -> String {
    match quantity.unit.as_str() {
        "mm" => length(quantity.value, quantity.u95),
        unit => {
            let r = round_to_uncertainty(quantity.value, quantity.u95, MOST_DECIMALS);
            let unit = match unit {
                "deg" => "°",
                "1" => "",
                "px" => " px",
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
    let both = length(quantity.value, quantity.u95);
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
}
