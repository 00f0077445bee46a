//! Every file of a bundle with its sum, and the seal of the record before it.

use serde::{Deserialize, Serialize};

/// The form of `manifest.json`.
pub(crate) const MANIFEST_FORMAT: &str = "shimwright-bundle/1";

/// `manifest.json`. Its SHA-256 is the seal of the record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// `shimwright-bundle/1`.
    pub format: String,
    /// Version of the program that sealed it.
    pub program: String,
    /// Id of the board.
    pub board: String,
    /// Number among the board's sealed records, from 1.
    pub number: u32,
    /// Seal of the record before it; none for the first.
    pub previous: Option<String>,
    /// When it was sealed, RFC 3339 with offset.
    pub sealed_at: String,
    /// SHA-256 of `evidence.json`, as the printed record shows it.
    pub fingerprint: String,
    /// Paper of the record: `a4` or `letter`.
    pub paper: String,
    /// Whether the photos still tell where they were taken.
    pub place: Place,
    /// The shop's public key (Ed25519, hexadecimal), when it signs.
    pub public_key: Option<String>,
    /// All files but the manifest itself, its signature and the sums, in the archive's order.
    pub files: Vec<ManifestFile>,
}

/// What happened to the photos' place data.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Place {
    /// The photos are copies with the picture data and the camera's facts only.
    Removed,
    /// The photos are untouched, as the user asked.
    Kept,
}

/// A file of the bundle.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ManifestFile {
    /// Its path.
    pub path: String,
    /// Its length.
    pub bytes: u64,
    /// Its SHA-256.
    pub sha256: String,
    /// Of a photo: SHA-256 of the file that the camera wrote.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub original: Option<String>,
}

/// The text of `SHA256SUMS` for files in this order, as `sha256sum` writes it.
pub(crate) fn sums_text<'a>(sums: impl Iterator<Item = (&'a str, String)>) -> String {
    sums.map(|(path, sum)| format!("{sum}  {path}\n")).collect()
}
