//! What a tension job knows of the belt.

use serde::{Deserialize, Serialize};

/// A number that somebody measured or was given otherwise; its place says its unit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Stated {
    /// The number.
    pub value: f64,
    /// Its expanded uncertainty (95 %), in the same unit.
    pub u95: f64,
}

/// The belt of a tension job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct JobBelt {
    /// Free length of the plucked span, from where the belt leaves one pulley to where it meets the other, mm.
    pub span: Stated,
    /// Mass of the belt for each metre of its length, g/m: its weight over its pitch length.
    pub mass_per_length: Stated,
    /// Bending stiffness E I of the belt, N mm^2, if somebody measured it. Absent, the sound tells it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stiffness: Option<Stated>,
    /// The tension that the board's or the belt's maker gives.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allowed: Option<TensionRange>,
    /// An earlier reading of the same corner, to compare with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub earlier: Option<EarlierTension>,
}

/// A maker's range of tension, N. At least one end is given.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct TensionRange {
    /// The least, N.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least: Option<f64>,
    /// The most, N.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most: Option<f64>,
}

/// An earlier reading of the same corner.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct EarlierTension {
    /// The tension then, N.
    pub tension: Stated,
    /// The pitch then, Hz; given only when belt and span are the same as now. Then the two pitches are compared, and what
    /// is not known of span and mass falls out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frequency: Option<Stated>,
}
