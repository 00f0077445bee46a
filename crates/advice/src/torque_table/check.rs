//! Does a torque table hold together?

use crate::Error;
use shimwright_record::{DriveDescription, Phrase, TorqueEntry, TorqueTable};
use shimwright_say::say;

/// No screw of a board takes more, N m.
const MOST_TORQUE: f64 = 200.0;

/// Refuses a table with a class twice, an empty text or a torque that no screw has, and a description that gives a
/// torque for a class that is not in the table.
///
/// # Errors
/// [`Error::BadData`].
pub fn check_torque_table(table: &TorqueTable, description: Option<&DriveDescription>) -> Result<(), Error> {
    for (place, entry) in table.classes.iter().enumerate() {
        check_entry(entry)?;
        if table.classes[..place]
            .iter()
            .any(|other| other.class == entry.class)
        {
            return bad(
                say!("the torque table has the class `{}` twice", entry.class),
                say!("leave one of them out"),
            );
        }
    }
    for own in description.iter().flat_map(|drive| &drive.torques) {
        let class = &own.class;
        if !table.classes.iter().any(|entry| &entry.class == class) {
            let known: Vec<&str> = table.classes.iter().map(|entry| entry.class.as_str()).collect();
            return bad(
                say!("the description gives a torque for `{class}`, which the torque table does not have"),
                say!("its classes are {}", known.join(", ")),
            );
        }
        if !is_torque(own.torque) || own.source.trim().is_empty() {
            return bad(
                say!(
                    "the description's torque for `{class}` is {} N m from `{}`",
                    own.torque,
                    own.source
                ),
                say!("give newton metres above 0 and up to 200, and say where the value stands"),
            );
        }
    }
    Ok(())
}

fn check_entry(entry: &TorqueEntry) -> Result<(), Error> {
    let class = &entry.class;
    let texts = [class, &entry.name, &entry.cited, &entry.wrench, &entry.how];
    if texts.iter().any(|text| text.trim().is_empty()) {
        return bad(
            say!("the torque table's class `{class}` has an empty text"),
            say!("fill in class, name, cited, wrench and how"),
        );
    }
    match entry.torque {
        Some(torque) if !is_torque(torque) => bad(
            say!("the torque of `{class}` is {torque} N m"),
            say!("give it in newton metres, above 0 and up to 200"),
        ),
        _ => Ok(()),
    }
}

fn bad(what: Phrase, mend: Phrase) -> Result<(), Error> {
    Err(Error::BadData { what, mend })
}

fn is_torque(torque: f64) -> bool {
    torque > 0.0 && torque <= MOST_TORQUE
}
