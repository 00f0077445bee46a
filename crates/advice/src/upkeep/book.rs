//! Does a service book hold together?

use crate::Error;
use shimwright_record::{Phrase, ServiceBook, ServiceCheck, TorqueTable};
use shimwright_say::say;

/// Refuses a book with an id twice, a check with an empty text, without steps or without a caution, an interval that is none,
/// or a torque class that the table does not have.
///
/// # Errors
/// [`Error::BadData`].
pub fn check_service_book(book: &ServiceBook, torques: &TorqueTable) -> Result<(), Error> {
    for (place, check) in book.checks.iter().enumerate() {
        let fault = if book.checks[..place].iter().any(|other| other.id == check.id) {
            Some((say!("is in the book twice"), say!("leave one of them out")))
        } else {
            fault(check, torques)
        };
        if let Some((what, mend)) = fault {
            return Err(Error::BadData {
                what: say!("the service check `{}` {what}", check.id),
                mend,
            });
        }
    }
    Ok(())
}

fn fault(check: &ServiceCheck, torques: &TorqueTable) -> Option<(Phrase, Phrase)> {
    let empty = |text: &String| text.trim().is_empty();
    let texts = [
        &check.id,
        &check.title,
        &check.what,
        &check.why,
        &check.how_tight,
        &check.also,
        &check.source,
    ];
    if texts.into_iter().any(empty) {
        return Some((
            say!("has an empty text"),
            say!("fill in id, title, what, why, how_tight, also and source"),
        ));
    }
    if check.how.is_empty() || check.how.iter().any(empty) {
        return Some((say!("does not say how"), say!("give its steps in `how`")));
    }
    if check.cautions.is_empty() || check.cautions.iter().any(empty) {
        return Some((
            say!("carries no caution"),
            say!("say in `cautions` what to beware of"),
        ));
    }
    let bad_km = check.every_km.is_some_and(|km| !(km > 0.0 && km <= 100_000.0));
    if bad_km || check.every_days.is_some_and(|days| !(1..=10_000).contains(&days)) {
        return Some((
            say!("has an interval that is none"),
            say!("give kilometres above 0 or days from 1, or leave them out"),
        ));
    }
    let unknown = check
        .torque_class
        .as_ref()
        .is_some_and(|class| !torques.classes.iter().any(|entry| &entry.class == class));
    unknown.then_some((
        say!("names a torque class that the torque table does not have"),
        say!("name one of the table's classes, or leave `torque_class` out"),
    ))
}
