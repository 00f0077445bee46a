//! Tightening torques with their sources.

use crate::Guidance;
use serde::{Deserialize, Serialize};

/// Where a torque comes from. The board maker's value goes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum TorqueSource {
    /// The board's maker gives it.
    Maker,
    /// Common practice, no source.
    CommonPractice,
    /// Computed from the screw.
    Computed,
}

/// A class of screws in the torque table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct TorqueEntry {
    /// Names the class in files, such as `pulley-screws`.
    pub class: String,
    /// What the screws are, in words.
    pub name: String,
    /// The torque, N m; absent where no torque says when to stop.
    pub torque: Option<f64>,
    /// Where it comes from.
    pub source: TorqueSource,
    /// The source in words.
    pub cited: String,
    /// Which wrench.
    pub wrench: String,
    /// How to tighten: order, stages, when to stop.
    pub how: String,
}

/// The torque table: data that a maker can replace.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct TorqueTable {
    /// What the table is of and who made it.
    pub about: String,
    /// Its classes.
    pub classes: Vec<TorqueEntry>,
}

/// A line of the torque table as it is shown.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct TorqueLine {
    /// The class, with the board maker's value in place of the table's where there is one.
    pub entry: TorqueEntry,
    /// The torque in the three units, absent as in the entry.
    pub units: Option<TorqueUnits>,
    /// What a wrench that is right by its standard really gives when set to it, N m, lowest and highest.
    pub wrench_gives: Option<[f64; 2]>,
}

/// A torque in three units.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct TorqueUnits {
    /// Newton metres.
    pub newton_metres: f64,
    /// Pound-force inches.
    pub inch_pounds: f64,
    /// Pound-force feet.
    pub foot_pounds: f64,
}

/// The torque table as it is shown, with what must be said beside it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct TorqueAdvice {
    /// The lines, in the table's order.
    pub lines: Vec<TorqueLine>,
    /// The words.
    pub guidance: Guidance,
}
