//! What crosses for records, bundles, backups, exports, imports and photos. Sizes and counts come as the page shows them.

use serde::{Deserialize, Serialize};
use shimwright_record::{Phrase, Shop, VisitNotes};

/// A visit that a record can be made of.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct VisitTold {
    /// Its id.
    pub id: String,
    /// Its day, such as `2026-03-14`.
    pub day: String,
    /// How many checks it holds.
    pub checks: usize,
    /// What is written down of it.
    pub notes: VisitNotes,
}

/// What records of a board are made from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct RecordsOfBoard {
    /// Name of the board.
    pub board_name: String,
    /// Who hands them out.
    pub shop: Shop,
    /// Its visits, newest first.
    pub visits: Vec<VisitTold>,
    /// How many of its records are sealed.
    pub sealed: usize,
    /// The shop's public key, when it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub public_key: Option<String>,
}

/// Which record is to be written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct RecordRequest {
    /// The board.
    pub board_id: String,
    /// The visit's id.
    pub visit: String,
    /// `a4` or `letter`.
    pub paper: String,
}

/// Which bundle is to be written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct BundleRequest {
    /// The record in it.
    pub record: RecordRequest,
    /// Whether it is signed with the shop's key, which is made when there is none.
    pub sign: bool,
    /// Whether the photos are handed out untouched, with the place where they were taken.
    pub with_place: bool,
}

/// A record or a bundle that was written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct RecordWritten {
    /// The file.
    pub file: String,
    /// SHA-256 of the evidence.
    pub fingerprint: String,
    /// How it was sealed, when it is a bundle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sealed: Option<SealTold>,
}

/// How a bundle was sealed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct SealTold {
    /// Its number among the board's sealed records.
    pub number: u32,
    /// SHA-256 of its manifest.
    pub seal: String,
    /// The key that it is signed with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub public_key: Option<String>,
}

/// What verifying a bundle found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct BundleVerified {
    /// The bundle's file name.
    pub file: String,
    /// Whether all of it holds.
    pub holds: bool,
    /// The outcome in a sentence.
    pub outcome: Phrase,
    /// What it is of: board, number, day.
    pub about: Phrase,
    /// What was looked at, each with what came out.
    pub points: Vec<PointVerified>,
    /// Every number beside the one that came out now.
    pub numbers: Vec<NumberVerified>,
    /// SHA-256 of the evidence, to be compared with the printed record.
    pub fingerprint: String,
}

/// Something that was looked at.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct PointVerified {
    /// What.
    pub what: Phrase,
    /// Whether it is as it should be.
    pub good: bool,
    /// What came out, a sentence.
    pub text: Phrase,
}

/// A number beside the one that came out now.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct NumberVerified {
    /// The check's folder in the bundle.
    pub check: String,
    /// The value's name, or `verdict`.
    pub value: String,
    /// Which of them, from 1, where the value has several numbers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<u32>,
    /// As it was stored.
    pub stored: Phrase,
    /// As it came out now.
    pub measured: Phrase,
    /// Whether they are the same, within what may differ.
    pub good: bool,
}

/// How the history is kept.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Keeping {
    /// Where files are written.
    pub out_folder: String,
    /// What the photos of saved checks take.
    pub photos: Phrase,
    /// Photos that no record names, when there are some: what a clean-up would remove.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unnamed: Option<Phrase>,
    /// Photos that records name and that are not there.
    pub missing: Vec<String>,
    /// Days of the daily copies, newest first.
    pub copies: Vec<String>,
    /// Backups, bundles and exports in the folder for files, by name.
    pub found: Vec<FileFound>,
    /// What does not keep the program from working and should be known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notice: Option<Phrase>,
}

/// A file that could be taken in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct FileFound {
    /// Its path.
    pub path: String,
    /// Its name.
    pub name: String,
    /// Its size.
    pub size: Phrase,
    /// What it is.
    pub kind: FileKind,
}

/// What a file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum FileKind {
    /// A backup.
    Backup,
    /// A folder with an export.
    Export,
    /// The folder of a history.
    History,
    /// An evidence bundle.
    Bundle,
}

/// Something that was done with files, told line by line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct FilesTold {
    /// The file or folder that was written, if one was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// What was done, a sentence a line.
    pub lines: Vec<Phrase>,
    /// What was left out or is missing, a sentence a line.
    pub trouble: Vec<Phrase>,
}
