//! The data files that come with the project.
#![allow(dead_code, reason = "each test file uses its own part of this")]

use serde::de::DeserializeOwned;
use shimwright_record::{ServiceBook, TorqueTable};

fn read<T: DeserializeOwned>(name: &str) -> T {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../calibration")
        .join(name);
    let text = std::fs::read_to_string(&path).expect("a data file of the project");
    serde_json::from_str(&text).expect("a data file that can be read")
}

/// The torque table.
pub fn torques() -> TorqueTable {
    read("torques.json")
}

/// The service checks.
pub fn service() -> ServiceBook {
    read("service.json")
}
