//! What a visit found and did, with every photo, job and result named by its SHA-256.

use serde::{Deserialize, Serialize};
use shimwright_record::{Board, CheckKind, Corner, Quantity, ServiceDone, Shop, SpacerAdvice, VisitNotes};

/// The form of `evidence.json`.
pub const EVIDENCE_FORMAT: &str = "shimwright-evidence/1";

/// What a visit found and did: `evidence.json`. The same stored history gives the same bytes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Evidence {
    /// [`EVIDENCE_FORMAT`].
    pub format: String,
    /// Who hands it out.
    pub shop: Shop,
    /// The board as it is now.
    pub board: Board,
    /// The visit.
    pub visit: EvidenceVisit,
    /// Its checks, oldest first.
    pub checks: Vec<EvidenceCheck>,
    /// Numbers of earlier visits, oldest first, for before and after and for the trends.
    pub earlier: Vec<EarlierValue>,
}

/// The visit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct EvidenceVisit {
    /// Its id.
    pub id: String,
    /// Its day as the user's clock showed it.
    pub day: String,
    /// What was written down of it.
    pub notes: VisitNotes,
    /// Service checks that were done by hand on that day.
    #[serde(default)]
    pub service: Vec<ServiceDone>,
}

/// A check and the files that it rests on. They lie in a folder of the bundle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct EvidenceCheck {
    /// The folder, such as `checks/01-left-gap`.
    pub folder: String,
    /// Id of the check.
    pub id: String,
    /// When it was saved, RFC 3339 with offset.
    pub at: String,
    /// Which corner was measured.
    pub corner: Corner,
    /// Version of the program that measured it.
    pub program: String,
    /// The board as it was then.
    pub board: Board,
    /// The advice given with it.
    pub advice: Option<SpacerAdvice>,
    /// What was done about it.
    pub work_done: String,
    /// SHA-256 of `job.json`.
    pub job: String,
    /// SHA-256 of `result.json`.
    pub result: String,
    /// SHA-256 of `camera.json`, where there is one.
    pub camera: Option<String>,
    /// The photos, in the job's order.
    pub photos: Vec<EvidencePhoto>,
}

/// A photo of a check.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct EvidencePhoto {
    /// The name that the camera gave it.
    pub name: String,
    /// Its name in the check's folder.
    pub file: String,
    /// SHA-256 of the photo as the camera wrote it.
    pub original: String,
    /// SHA-256 of the copy without place data: the same picture data and camera facts, and nothing else.
    pub shared: String,
}

/// The main number of an earlier check.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct EarlierValue {
    /// Which corner was measured.
    pub corner: Corner,
    /// The kind of check.
    pub check: CheckKind,
    /// When it was saved, RFC 3339 with offset.
    pub at: String,
    /// The number.
    pub value: Quantity,
}
