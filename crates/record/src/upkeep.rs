//! Service checks that need no camera, and when they are due.

use crate::{Day, Guidance};
use serde::{Deserialize, Serialize};

/// A check that a person does by hand: data that a maker can replace.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ServiceCheck {
    /// Names it in files, such as `axle-nut`.
    pub id: String,
    /// What it is called.
    pub title: String,
    /// What is looked at.
    pub what: String,
    /// What happens when it is left.
    pub why: String,
    /// How to do it, step by step.
    pub how: Vec<String>,
    /// How tight, in words.
    pub how_tight: String,
    /// The class of the torque table that goes with it, if one does.
    #[serde(default)]
    pub torque_class: Option<String>,
    /// What to beware of; one sentence at least.
    pub cautions: Vec<String>,
    /// Due after so many kilometres; absent: not by distance.
    #[serde(default)]
    pub every_km: Option<f64>,
    /// Due after so many days; absent: not by time.
    #[serde(default)]
    pub every_days: Option<u32>,
    /// When else it is due, such as `after every fall`.
    pub also: String,
    /// Where this comes from.
    pub source: String,
}

/// A list of service checks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ServiceBook {
    /// What the book is of and who made it.
    pub about: String,
    /// The checks.
    pub checks: Vec<ServiceCheck>,
}

/// A check that was done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct ServiceDone {
    /// The check's id.
    pub check: String,
    /// The day.
    pub day: Day,
    /// What the odometer said, km, if somebody looked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub odometer_km: Option<f64>,
    /// What was found; may be empty.
    #[serde(default)]
    pub note: String,
}

/// Today, as whoever asks knows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Today {
    /// The day.
    pub day: Day,
    /// The odometer, km, if known.
    pub odometer_km: Option<f64>,
}

/// Whether a check is due. What presses most comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum DueState {
    /// It is due, or overdue.
    Due,
    /// Nobody wrote down that it was ever done.
    NeverDone,
    /// It will be due within the last tenth of its interval.
    Soon,
    /// Not yet.
    Later,
    /// It has no interval: it is due when something happens.
    OnOccasion,
}

/// When a check is due. Negative numbers left: overdue by as much.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Due {
    /// The state.
    pub state: DueState,
    /// The day on which it falls due, when it has an interval of days and was done once.
    pub day: Option<Day>,
    /// Days left until then.
    #[cfg_attr(feature = "typescript", ts(type = "number | null"))]
    pub days_left: Option<i64>,
    /// The odometer at which it falls due, km, when it has an interval of distance and one was written down.
    pub odometer_km: Option<f64>,
    /// Kilometres left until then, when today's odometer is known.
    pub km_left: Option<f64>,
}

/// A check with its due date.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ServiceItem {
    /// The check's id.
    pub id: String,
    /// What it is called.
    pub title: String,
    /// When it was last done.
    pub last: Option<ServiceDone>,
    /// When it is due.
    pub due: Due,
    /// What, why, how, how tight, with its cautions.
    pub guidance: Guidance,
}

/// All checks of a board, most pressing first.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ServiceAdvice {
    /// The checks.
    pub items: Vec<ServiceItem>,
    /// What is due, in words.
    pub guidance: Guidance,
}
