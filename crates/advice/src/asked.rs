//! Checks that every kind of question shares: units, and numbers that can be.

use crate::Error;
use shimwright_record::Phrase;
use shimwright_record::Quantity;
use shimwright_say::say;

/// A measured quantity in a unit, finite and with an uncertainty.
pub(crate) fn check_quantity(quantity: &Quantity, what: Phrase, unit: &'static str) -> Result<(), Error> {
    if quantity.unit != unit {
        return Err(Error::WrongUnit {
            what,
            unit: quantity.unit.clone(),
            wanted: unit,
        });
    }
    if !quantity.value.is_finite() {
        return Err(Error::BadNumber {
            what,
            value: quantity.value,
            wanted: say!("a measured number"),
        });
    }
    if !(quantity.u95 >= 0.0 && quantity.u95.is_finite()) {
        return Err(Error::BadNumber {
            what: say!("the uncertainty of {what}"),
            value: quantity.u95,
            wanted: say!("its 95 % uncertainty, 0 or more"),
        });
    }
    Ok(())
}

/// A number within limits, both included.
pub(crate) fn check_number(
    value: f64,
    what: Phrase,
    [least, most]: [f64; 2],
    wanted: Phrase,
) -> Result<(), Error> {
    if (least..=most).contains(&value) {
        return Ok(());
    }
    Err(Error::BadNumber { what, value, wanted })
}
