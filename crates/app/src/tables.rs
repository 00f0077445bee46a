//! Torque table and service checks: built into the program, and replaced by files of the same name in the data folder.

use crate::bridge::Failure;
use crate::json_text;
use serde::de::DeserializeOwned;
use shimwright_advice::{check_service_book, check_torque_table};
use shimwright_record::{ServiceBook, TorqueTable};
use shimwright_say::say;
use std::io::ErrorKind;
use std::path::Path;

const TORQUES: &str = "torques.json";
const SERVICE: &str = "service.json";

/// The tables that advice is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct Tables {
    /// Tightening torques.
    pub torques: TorqueTable,
    /// Service checks.
    pub service: ServiceBook,
}

impl Tables {
    /// The tables built into the program.
    ///
    /// # Errors
    /// A fault of the program when they cannot be read.
    pub fn built_in() -> Result<Self, Failure> {
        Ok(Self {
            torques: json_text::read(TORQUES, include_bytes!("../../../calibration/torques.json"))?,
            service: json_text::read(SERVICE, include_bytes!("../../../calibration/service.json"))?,
        })
    }

    /// The tables built in, with `torques.json` and `service.json` of a folder in their place where they are there.
    ///
    /// # Errors
    /// Bad input for a file that cannot be read or does not hold together.
    pub fn in_folder(folder: &Path) -> Result<Self, Failure> {
        let built_in = Self::built_in()?;
        let tables = Self {
            torques: own(folder, TORQUES)?.unwrap_or(built_in.torques),
            service: own(folder, SERVICE)?.unwrap_or(built_in.service),
        };
        check_torque_table(&tables.torques, None)?;
        check_service_book(&tables.service, &tables.torques)?;
        Ok(tables)
    }
}

fn own<T: DeserializeOwned>(folder: &Path, name: &str) -> Result<Option<T>, Failure> {
    match std::fs::read(folder.join(name)) {
        Ok(bytes) => json_text::read(name, &bytes).map(Some),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
        Err(error) => Err(Failure::bad_input(
            say!("{name} in the data folder cannot be read ({error})"),
            say!("let it be read, or take it away for the table that is built in"),
        )
        .about(name)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_built_in_tables_hold_together_and_a_makers_file_takes_their_place() {
        let folder = tempfile::tempdir().unwrap();
        let tables = Tables::in_folder(folder.path()).unwrap();
        assert_eq!(tables, Tables::built_in().unwrap());

        let mut own = tables.torques.clone();
        own.classes[0].torque = Some(0.7);
        std::fs::write(folder.path().join(TORQUES), serde_json::to_string(&own).unwrap()).unwrap();
        let changed = Tables::in_folder(folder.path()).unwrap();
        assert_eq!((changed.torques, changed.service), (own, tables.service));
    }

    #[test]
    fn a_file_that_does_not_hold_together_is_named() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join(SERVICE), "{\"abuot\": 1}").unwrap();
        let failure = Tables::in_folder(folder.path()).unwrap_err();
        assert!(
            failure
                .message
                .contains("service.json has the unknown key `abuot`"),
            "{failure}"
        );
        let mut book = Tables::built_in().unwrap().service;
        book.checks[0].cautions.clear();
        std::fs::write(folder.path().join(SERVICE), serde_json::to_string(&book).unwrap()).unwrap();
        let failure = Tables::in_folder(folder.path()).unwrap_err();
        assert!(failure.message.contains("carries no caution"), "{failure}");
    }
}
