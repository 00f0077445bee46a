//! What crosses while a camera runs.

use serde::{Deserialize, Serialize};
use shimwright_live::{Judgement, Trouble};
use shimwright_record::{CheckKind, Drawn};

/// A picture of the running camera to be looked at; its grey bytes come beside it, row by row from the top left.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct LookRequest {
    /// What it is for.
    pub check: CheckKind,
    /// Width of the picture, px.
    pub width: u32,
    /// Height of the picture, px.
    pub height: u32,
    /// Width of the photo that would be kept of it, px.
    pub photo_width: u32,
    /// The photos that the check has, by their ids.
    pub photo_ids: Vec<String>,
}

/// What was seen in a picture of the running camera.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Look {
    /// Outlines of the targets found, pixels of the picture.
    pub drawn: Vec<Drawn>,
    /// What is wrong with it, what must be mended first first.
    pub troubles: Vec<Trouble>,
    /// What comes of it.
    pub judged: Judgement,
    /// Roughly how far the wheel is turned, as in `PhotoAdded`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wheel_angle: Option<f64>,
}
