//! Inches: 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).

use shimwright_record::Phrase;
use shimwright_say::say;

/// Millimetres in an inch, exactly.
pub const MM_PER_INCH: f64 = 25.4;

/// The finest fraction that rings are sold by.
const FINEST: u32 = 64;

/// A length in mm from a fraction of an inch. `denominator` must not be 0.
pub fn mm_from_fraction(numerator: u32, denominator: u32) -> f64 {
    // In tenths of a millimetre, so that both factors are whole and only the division rounds.
    f64::from(numerator) * (MM_PER_INCH * 10.0) / (f64::from(denominator) * 10.0)
}

/// A length in inches from mm.
pub fn inches(mm: f64) -> f64 {
    mm / MM_PER_INCH
}

/// Which way to go to the next sixty-fourth of an inch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Toward {
    /// The next one that is not thinner.
    Thicker,
    /// The next one that is not thicker.
    Thinner,
}

/// The nearest 64th of an inch not thinner (or not thicker) than `mm`, reduced, such as `7/16 in`; none below 1/64 in.
/// A length within a millionth of a 64th counts as that 64th.
pub fn fraction_label(mm: f64, toward: Toward) -> Option<Phrase> {
    let parts = inches(mm) * f64::from(FINEST);
    let slack = 1e-6;
    let whole = match toward {
        Toward::Thicker => (parts - slack).ceil(),
        Toward::Thinner => (parts + slack).floor(),
    };
    if !(1.0..=1e6).contains(&whole) {
        return None;
    }
    // In range by the line above.
    let whole = whole as u32;
    let shared = greatest_common_divisor(whole, FINEST);
    let (numerator, denominator) = (whole / shared, FINEST / shared);
    let (inch, rest) = (numerator / denominator, numerator % denominator);
    Some(match (inch, rest) {
        (inch, 0) => say!("{inch} in"),
        (0, rest) => say!("{rest}/{denominator} in"),
        (inch, rest) => say!("{inch} {rest}/{denominator} in"),
    })
}

fn greatest_common_divisor(a: u32, b: u32) -> u32 {
    if b == 0 {
        a
    } else {
        greatest_common_divisor(b, a % b)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Exact by definition of the inch (25.4 mm, agreement of 1959).
    #[test]
    fn fractions_are_exact() {
        let table = [
            (1, 64, 0.396_875),
            (1, 32, 0.793_75),
            (1, 16, 1.587_5),
            (1, 8, 3.175),
            (3, 16, 4.762_5),
            (1, 4, 6.35),
            (3, 8, 9.525),
            (26, 64, 10.318_75),
            (7, 16, 11.112_5),
            (31, 64, 12.303_125),
            (1, 2, 12.7),
            (5, 8, 15.875),
            (3, 4, 19.05),
            (1, 1, 25.4),
        ];
        for (numerator, denominator, mm) in table {
            let got = mm_from_fraction(numerator, denominator);
            assert!(
                (got - mm).abs() < 1e-14,
                "{numerator}/{denominator} in is {got} mm, should be {mm}"
            );
        }
    }

    #[test]
    fn the_next_64th_lies_on_the_asked_side() {
        let label = |mm, toward| fraction_label(mm, toward);
        assert_eq!(label(11.112_5, Toward::Thicker).as_deref(), Some("7/16 in"));
        assert_eq!(label(11.112_5, Toward::Thinner).as_deref(), Some("7/16 in"));
        assert_eq!(label(11.2, Toward::Thicker).as_deref(), Some("29/64 in"));
        assert_eq!(label(11.2, Toward::Thinner).as_deref(), Some("7/16 in"));
        assert_eq!(label(25.4, Toward::Thinner).as_deref(), Some("1 in"));
        assert_eq!(label(26.0, Toward::Thicker).as_deref(), Some("1 1/32 in"));
        assert_eq!(label(0.3, Toward::Thinner), None);
        assert_eq!(label(-3.0, Toward::Thicker), None);
        assert_eq!(label(f64::NAN, Toward::Thicker), None);
    }
}
