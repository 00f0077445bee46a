//! What crosses to a phone that shoots for a check, and to the page at the bench that lets it in.

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
    /// The photos that the check has so far.
    pub photos: Vec<PhotoAdded>,
    /// Whether somebody at the bench marks edges before it can be measured.
    pub by_hand: bool,
    /// Whether the phone said that its photos are all there.
    pub handed_over: bool,
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

/// How a phone gets in: shown at the bench.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct PhoneInvitation {
    /// Address of the page, to be typed.
    pub address: String,
    /// The code that it asks for.
    pub code: String,
    /// SHA-256 of the certificate, as browsers show it.
    pub fingerprint: String,
    /// Address and code as a QR code: a text a row, `1` for a dark module; without its quiet zone of four modules.
    pub qr: Vec<String>,
}

/// Where the server for a phone stands, as the page at the bench asks again and again.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct PhoneAtBench {
    /// Whether phones can connect.
    pub open: bool,
    /// Where the paired phone is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub paired: Option<String>,
    /// Photos that arrived since it was asked last.
    pub arrived: Vec<PhotoAdded>,
    /// Whether the phone asked since then that the bench goes on: to measure, or to mark.
    pub wished: bool,
    /// What happened, oldest first, some of it before this server was started.
    pub log: Vec<PhoneLine>,
}

/// What the bench tells the phone of the check.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct PhoneTold {
    /// Whether it is being measured.
    pub measuring: bool,
    /// What was measured last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub result: Option<CheckResult>,
    /// Why measuring failed the last time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub failure: Option<Failure>,
}

/// A line of the log of phones.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct PhoneLine {
    /// When, RFC 3339 with offset.
    pub at: String,
    /// What happened.
    pub what: PhoneWhat,
    /// The address concerned, or the photo's SHA-256; empty for a stop.
    pub about: String,
}

/// What happens at a server for a phone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum PhoneWhat {
    /// It listens at this address.
    Started,
    /// A wrong code came from this address.
    WrongCode,
    /// A phone at this address gave the right code.
    Paired,
    /// This photo was taken in.
    Kept,
    /// This photo was refused.
    Refused,
    /// It was ended at the bench.
    Ended,
    /// It closed because nobody gave the code in time.
    NobodyPaired,
    /// It closed because of too many wrong codes.
    WrongCodes,
    /// It closed because the phone did nothing for too long.
    Idle,
}
