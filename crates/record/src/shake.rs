//! What eccentricity and added mass do at speed: what is asked and what is answered.

use crate::{Conformity, Drive, Guidance, Quantity};
use serde::{Deserialize, Serialize};

/// What shake advice is asked with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ShakeQuestion {
    /// The drive, with its description.
    pub drive: Drive,
    /// Eccentricity of the pulley, mm.
    pub eccentricity: Quantity,
    /// Masses on the wheel that nothing balances.
    pub added: Vec<AddedMass>,
    /// Top speed, km/h.
    pub top_speed: f64,
}

/// A mass on the wheel away from its axis, such as a valve cap.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct AddedMass {
    /// What it is.
    pub name: String,
    /// Its mass, g.
    pub grams: f64,
    /// Its distance from the axis, mm.
    pub radius: f64,
}

/// The shake at a speed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ShakePoint {
    /// Speed, km/h.
    pub speed: f64,
    /// Turns of the wheel a minute.
    pub rpm: f64,
    /// Turns a second: the frequency of the shake, Hz.
    pub frequency: f64,
    /// Force that turns with the wheel, N.
    pub force: f64,
    /// Expanded uncertainty (95 %) of the force, N.
    pub force_u95: f64,
    /// Velocity at which the wheel's centre would circle if nothing held it, mm/s.
    pub velocity: f64,
}

/// A balance grade of ISO 21940-11 against this wheel.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct GradeLimit {
    /// The grade, mm/s.
    pub grade: f64,
    /// The unbalance that it allows at top speed, g mm.
    pub permissible: f64,
    /// Whether the wheel keeps it.
    pub state: Conformity,
    /// Probability of that.
    pub kept: f64,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ShakeAdvice {
    /// Unbalance of pulley and added masses together, at worst all on one side, g mm.
    pub unbalance: Quantity,
    /// Force and vibration over speed, standing still first and top speed last.
    pub series: Vec<ShakePoint>,
    /// Grades at top speed.
    pub grades: Vec<GradeLimit>,
    /// By how much the belt's path grows and shrinks over a turn, each way, mm.
    pub path_swing: Quantity,
    /// By how much the belt's pull grows and shrinks over a turn, each way, N; absent when the belt's stiffness is not
    /// known.
    pub tension_swing: Option<Quantity>,
    /// The words.
    pub guidance: Guidance,
}
