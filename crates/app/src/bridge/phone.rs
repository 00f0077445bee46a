//! What crosses to a phone that shoots for a check.

use super::{Failure, PhotoAdded};
use serde::{Deserialize, Serialize};
use shimwright_record::{CheckKind, CheckResult};

/// Where a check stands that a phone shoots for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct PhoneStanding {
    /// The kind of check.
    pub check: CheckKind,
    /// Targets that every photo must show, by their names.
    pub shows: Vec<String>,
    /// The photos taken in so far.
    pub photos: Vec<PhotoAdded>,
    /// Whether it is being measured.
    pub measuring: bool,
    /// What was measured last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub result: Option<CheckResult>,
    /// Why measuring failed the last time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub failure: Option<Failure>,
}

/// What became of a photo that a phone handed in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct PhoneKept {
    /// Whether it counts. One that the camera took by itself does not when a target is missing.
    pub kept: bool,
    /// What was found in it.
    pub photo: PhotoAdded,
}
