//! The drawer of spacer rings.

use crate::Error;
use crate::inch::mm_from_fraction;
use shimwright_record::{Phrase, SpacerStock};
use shimwright_say::say;

/// Expanded uncertainty (95 %) assumed for a ring that nobody measured, mm. An assumption, no source: rings of this
/// kind are sold by their nominal fraction; callipers on the ring at hand do better.
pub const ASSUMED_RING_U95: f64 = 0.05;

/// The four ring sizes in use, none in the drawer yet.
///
/// 26/64, 7/16, 31/64 and 1/2 inch: common practice, no source. Thickness is the nominal fraction at 25.4 mm an inch,
/// with [`ASSUMED_RING_U95`]; measure the rings at hand and put in what you find.
pub fn default_stock() -> Vec<SpacerStock> {
    [(26, 64), (7, 16), (31, 64), (1, 2)]
        .into_iter()
        .map(|(numerator, denominator)| SpacerStock {
            label: format!("{numerator}/{denominator} in"),
            thickness: mm_from_fraction(numerator, denominator),
            u95: ASSUMED_RING_U95,
            count: 0,
        })
        .collect()
}

/// Refuses a stock that cannot be searched: labels missing or twice, thicknesses that no ring can have.
pub(crate) fn check_stock(stock: &[SpacerStock]) -> Result<(), Error> {
    for (place, ring) in stock.iter().enumerate() {
        let label = ring.label.trim();
        if label.is_empty() {
            return Err(Error::NoLabel {
                thickness: ring.thickness,
            });
        }
        if stock[..place]
            .iter()
            .any(|earlier| same_label(&earlier.label, label))
        {
            return Err(Error::LabelTwice {
                label: label.to_owned(),
            });
        }
        let wrong = |what: Phrase, value, wanted| {
            Err(Error::BadNumber {
                what: say!("the {what} of ring `{label}`"),
                value,
                wanted,
            })
        };
        if !(ring.thickness > 0.0 && ring.thickness.is_finite()) {
            return wrong(
                say!("thickness"),
                ring.thickness,
                say!("its measured thickness in mm, above 0"),
            );
        }
        if !(ring.u95 >= 0.0 && ring.u95.is_finite()) {
            return wrong(
                say!("uncertainty"),
                ring.u95,
                say!("the 95 % uncertainty of its thickness in mm, 0 or more"),
            );
        }
    }
    Ok(())
}

/// Whether two labels name the same size: letter case and outer blanks do not count.
pub(crate) fn same_label(a: &str, b: &str) -> bool {
    a.trim().eq_ignore_ascii_case(b.trim())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sizes_in_use_in_exact_millimetres() {
        let stock = default_stock();
        let found: Vec<_> = stock
            .iter()
            .map(|ring| (ring.label.as_str(), ring.thickness))
            .collect();
        let wanted = [
            ("26/64 in", 10.318_75),
            ("7/16 in", 11.112_5),
            ("31/64 in", 12.303_125),
            ("1/2 in", 12.7),
        ];
        assert_eq!(found, wanted);
        assert_eq!(check_stock(&stock), Ok(()));
    }

    #[test]
    fn faults_are_named() {
        let ring = |label: &str, thickness, u95| SpacerStock {
            label: label.into(),
            thickness,
            u95,
            count: 1,
        };
        let fault = |stock: &[SpacerStock]| check_stock(stock).unwrap_err().to_string();
        assert!(fault(&[ring("a", 1.0, 0.0), ring(" A ", 2.0, 0.0)]).contains("labelled `A`"));
        assert!(fault(&[ring(" ", 1.0, 0.0)]).contains("no label"));
        assert!(fault(&[ring("a", 0.0, 0.0)]).contains("thickness of ring `a` is 0"));
        assert!(fault(&[ring("a", f64::NAN, 0.0)]).contains("NaN"));
        assert!(fault(&[ring("a", 1.0, -0.1)]).contains("uncertainty of ring `a` is -0.1"));
    }
}
