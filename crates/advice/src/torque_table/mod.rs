//! The torque table: which screws, how tight, who says so, with which wrench.
//!
//! The table is data that a maker can replace; this turns it into what is shown. A torque that the board's own
//! description gives takes the place of the table's.

mod check;
mod limits;

pub use check::check_torque_table;
pub use limits::{ScrewLimit, screw_limit};

use crate::Error;
use crate::bolt::wrench_gives;
use crate::wording::{FOOT_POUNDS_PER_NEWTON_METRE, INCH_POUNDS_PER_NEWTON_METRE};
use shimwright_record::{
    Cautions, DriveDescription, Guidance, Phrase, TorqueAdvice, TorqueEntry, TorqueLine, TorqueSource,
    TorqueTable, TorqueUnits,
};
use shimwright_say::say;

/// The class of the screws that hold the wheel pulley.
pub const PULLEY_SCREWS: &str = "pulley-screws";

/// The entry of a class: the board maker's torque where the description gives one, otherwise the table's.
pub fn torque_entry(
    table: &TorqueTable,
    description: Option<&DriveDescription>,
    class: &str,
) -> Option<TorqueEntry> {
    let entry = table.classes.iter().find(|entry| entry.class == class)?;
    let own = description.and_then(|drive| drive.torques.iter().find(|own| own.class == class));
    Some(match own {
        Some(own) => TorqueEntry {
            torque: Some(own.torque),
            source: TorqueSource::Maker,
            cited: own.source.clone(),
            ..entry.clone()
        },
        None => entry.clone(),
    })
}

/// A torque in its three units.
pub fn torque_units(newton_metres: f64) -> TorqueUnits {
    TorqueUnits {
        newton_metres,
        inch_pounds: newton_metres * INCH_POUNDS_PER_NEWTON_METRE,
        foot_pounds: newton_metres * FOOT_POUNDS_PER_NEWTON_METRE,
    }
}

/// The torque table for a drive.
///
/// # Errors
/// [`Error::BadData`] for a table that does not hold together, or a torque of the description for a class that the table
/// does not have.
pub fn torque_advice(
    table: &TorqueTable,
    description: Option<&DriveDescription>,
) -> Result<TorqueAdvice, Error> {
    check_torque_table(table, description)?;
    let entries = table
        .classes
        .iter()
        .filter_map(|entry| torque_entry(table, description, &entry.class));
    let lines: Vec<TorqueLine> = entries
        .map(|entry| TorqueLine {
            units: entry.torque.map(torque_units),
            wrench_gives: entry.torque.map(wrench_gives),
            entry,
        })
        .collect();
    let own = lines
        .iter()
        .filter(|line| line.entry.source == TorqueSource::Maker)
        .count();
    let guidance = Guidance::new(headline(lines.len(), own), cautions()).basis([
        Phrase::listed(&table.about),
        say!("A board maker's value always goes before these; enter it in the drive's description."),
        say!("1 N m = 8.850746 in lb = 0.737562 ft lb (pound-force and inch are exact by definition)."),
        say!("What a wrench gives: ± 6 % up to 10 N m and ± 4 % above (ISO 6789-1:2017, from memory); a wrench that fell, \
         or was never checked, may be further off."),
    ]);
    Ok(TorqueAdvice { lines, guidance })
}

fn headline(lines: usize, own: usize) -> Phrase {
    match own {
        0 => say!(
            "{lines} classes of screws, none with a value of your board's maker: ask the maker before you rely on \
             these."
        ),
        _ => say!(
            "{lines} classes of screws: {own} as your board's maker gives them, {} as the table has them.",
            lines - own
        ),
    }
}

fn cautions() -> Cautions {
    Cautions::for_drive_work()
        .and(
            say!("Torque values are the board maker's to give. Where none is known, stop at the first sign that a screw \
             turns without getting tighter."),
        )
        .and(say!("Wear eye protection when you loosen stuck or thread-locked screws or heat anything."))
}
