//! What crosses between the shells (window, command line) and the use cases: plain data with a stable JSON form.
//!
//! The UI's TypeScript types are generated from these and from `shimwright-record`.

mod keeping;
mod live;
mod phone;

pub use keeping::*;
pub use live::*;
pub use phone::*;

use serde::{Deserialize, Serialize};
use shimwright_record::{
    Board, CheckResult, Corner, CornerState, Drawn, DriveDescription, Job, JobDrive, Phrase, PrintScale,
    SpacerAdvice,
};
use std::collections::BTreeMap;

/// An error as every shell sees it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Failure {
    /// What kind of trouble it is; shells act on this and never on the text.
    pub code: FailureCode,
    /// What is wrong, one sentence, with numbers and limits.
    pub message: Phrase,
    /// What to do next, one sentence.
    pub hint: Phrase,
    /// The file or field concerned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub subject: Option<String>,
}

/// Kinds of trouble that shells treat differently.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum FailureCode {
    /// What was handed in is wrong (command line: exit status 2).
    BadInput,
    /// The photos do not allow a measurement (command line: exit status 3).
    NotMeasurable,
    /// The user cancelled.
    Cancelled,
    /// Asked for something that is not there.
    NotFound,
    /// The history could not be read or written.
    Storage,
    /// A fault of the program.
    Internal,
}

/// A board in the list of boards.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct BoardSummary {
    /// Id of the board.
    pub id: String,
    /// Name of the board.
    pub name: String,
    /// Its owner.
    pub owner: String,
    /// When it was last measured, RFC 3339 with offset.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_check: Option<String>,
    /// How many checks its history holds.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub checks: u64,
}

/// The beginning of the list of boards.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct BoardsShown {
    /// Its first boards, last measured first.
    pub boards: Vec<BoardSummary>,
    /// How many the whole list has.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub all: u64,
}

/// A form to describe a belt drive with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct DriveForm {
    /// Its fields, in order.
    pub fields: Vec<DriveField>,
    /// Starting values: an invented drive that holds together.
    pub starting: DriveDescription,
}

/// A field of that form.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct DriveField {
    /// Its name in the description.
    pub field: String,
    /// What it is called.
    pub label: String,
    /// Its unit; empty for a count, a word or a list.
    pub unit: String,
    /// How to find it out.
    pub help: String,
}

/// A board with its history, newest first.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct BoardDetail {
    /// The board.
    pub board: Board,
    /// Its saved checks, newest first.
    pub history: Vec<HistoryEntry>,
}

/// One saved check.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct HistoryEntry {
    /// Id of the check.
    pub id: String,
    /// When it was saved, RFC 3339 with offset.
    pub at: String,
    /// Which corner was measured.
    pub corner: Corner,
    /// What was fitted there then.
    pub fitted: CornerState,
    /// Its result.
    pub result: CheckResult,
    /// The job it came from; `file` holds the original file name.
    pub job: Job,
    /// SHA-256 of each photo, in the job's order.
    pub photo_ids: Vec<String>,
    /// The advice that was given with it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub advice: Option<SpacerAdvice>,
    /// What was done about it.
    pub work_done: String,
}

/// A recording that was just handed in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct SoundAdded {
    /// SHA-256 of its bytes, in hexadecimal: its name from now on.
    pub id: String,
    /// Its original file name.
    pub name: String,
    /// Length, s.
    pub seconds: f64,
    /// Whether it was louder than it could hold.
    pub clipped: bool,
}

/// A photo that was just handed in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct PhotoAdded {
    /// SHA-256 of its bytes, in hexadecimal: its name from now on.
    pub id: String,
    /// Its original file name.
    pub name: String,
    /// Width in pixels of the upright photo.
    pub width: u32,
    /// Height in pixels of the upright photo.
    pub height: u32,
    /// Camera as EXIF names it; empty when it does not.
    pub camera: String,
    /// The targets found in it: outlines and corners.
    pub found: Vec<FoundTarget>,
    /// What to beware of: no target, too few corners, blur.
    pub notes: Vec<Phrase>,
    /// Roughly how far the wheel is turned, degrees from 0 to 360 against the mount card; absent unless card and ring are
    /// both in view. Good for seeing which part of a turn is covered, and for nothing else.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wheel_angle: Option<f64>,
}

/// A photo that was just opened: where its targets lie, before their corners are found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct PhotoGlimpse {
    /// SHA-256 of its bytes, in hexadecimal: its name from now on.
    pub id: String,
    /// Its original file name.
    pub name: String,
    /// Width in pixels of the upright photo.
    pub width: u32,
    /// Height in pixels of the upright photo.
    pub height: u32,
    /// Outlines of the targets that a reduced picture shows; good for being seen, and for nothing else.
    pub drawn: Vec<Drawn>,
}

/// A target found in a photo.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct FoundTarget {
    /// Its definition's name, such as `mount-card`.
    pub name: String,
    /// How many of its corners were found.
    pub corners: usize,
    /// How many it has.
    pub of: usize,
    /// What to draw.
    pub drawn: Vec<Drawn>,
}

/// A check as the app asks for it. Photos are named by their id (SHA-256) in `job.photos[].file`. A turn job may mark screw
/// 1 of the pulley by one point, `screw_1`, in one photo that shows the hub ring: it gives `drive.mark_screw_angle`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct MeasureRequest {
    /// Board measured.
    pub board_id: String,
    /// Corner measured.
    pub corner: Corner,
    /// The job.
    pub job: Job,
}

/// What the app gets back: kept in memory under `draft_id` until it is saved or dropped.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Measured {
    /// Names this result for `save_check`.
    pub draft_id: String,
    /// The result.
    pub result: CheckResult,
    /// Spacer advice from this corner and the newest saved gap of the other one, when there is stock to choose from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub advice: Option<SpacerAdvice>,
    /// Why there is no advice, one sentence.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub no_advice: Option<Phrase>,
    /// The drive that the job was measured with: what was asked, filled in from the board, its history and marks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drive: Option<JobDrive>,
}

/// Marks carried from one photo to another: a first guess to be dragged into place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct CarriedMarks {
    /// Marks by name, pixels of the upright photo; what would lie outside it is left out.
    pub marks: BTreeMap<String, Vec<[f64; 2]>>,
}

/// A camera calibration as the app asks for it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct CalibrateRequest {
    /// Photos of the bench sheet, by their ids.
    pub photo_ids: Vec<String>,
    /// Print scale measured on the page's two bars.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub print_scale: Option<PrintScale>,
}

/// A calibrated camera, kept in memory under `draft_id` until it is kept or dropped.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Calibrated {
    /// Names this calibration for `keep_camera`.
    pub draft_id: String,
    /// The result.
    pub result: CheckResult,
    /// The camera as its photos name it; empty when they do not, and then it cannot be kept.
    pub camera: String,
}

/// A camera profile that is kept for later checks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct KeptCamera {
    /// Names it for `forget_camera`.
    pub id: String,
    /// Make and model.
    pub name: String,
    /// Whether it came with the demo board.
    pub demo: bool,
    /// Its lens, where the photos named it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lens: Option<String>,
    /// Focal length, mm, where the photos told it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub focal_mm: Option<f64>,
    /// Width in pixels of its pictures as they are stored.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
}

/// Progress of a running measurement, sent as event `measure-progress`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ProgressNote {
    /// What is being done, in words.
    pub step: Phrase,
    /// Share done, 0 to 1.
    pub done: f64,
}

/// The demo's photos for a corner, handed in like any others, and the job that goes with them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct DemoPhotos {
    /// The photos.
    pub photos: Vec<PhotoAdded>,
    /// A job with marks prepared; `file` holds the photos' ids.
    pub job: Job,
}

/// Printed sheets that were written.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct PrintedSheets {
    /// Paths of the files.
    pub files: Vec<String>,
}

/// What the program is and where it keeps its history.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct AppInfo {
    /// Version of the program.
    pub version: String,
    /// Folder of the history.
    pub data_dir: String,
}
