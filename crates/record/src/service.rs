//! Who did the work, and what a visit holds beside its checks.

use serde::{Deserialize, Serialize};

/// The shop that hands out records: one for each history. Every field may be empty.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Shop {
    /// Its name.
    pub name: String,
    /// Where to find or call it, one line or several.
    pub address: String,
    /// Who does the work when a visit does not say.
    pub technician: String,
}

/// What is written down of a visit.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct VisitNotes {
    /// What the board's distance counter showed, km; absent when nobody looked.
    pub odometer_km: Option<f64>,
    /// Who did the work; empty for the shop's usual technician.
    pub technician: String,
    /// Parts that were fitted.
    pub parts: Vec<PartUsed>,
    /// Screws that were tightened to a stated torque.
    pub torques: Vec<TorqueUsed>,
    /// Anything else, in the technician's words.
    pub remarks: String,
}

/// A part that was fitted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct PartUsed {
    /// What it is.
    pub name: String,
    /// How many.
    pub count: u32,
}

/// A torque that screws were tightened to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct TorqueUsed {
    /// Which screws.
    pub screw: String,
    /// The torque, newton metres.
    pub newton_metres: f64,
    /// Who states that torque: it is the board maker's to give.
    pub source: String,
}
