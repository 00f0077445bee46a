//! Evidence bundles: one zip file that holds everything a number rests on, and shows when any of it was changed.
//!
//! - `evidence.json` tells what was found and done on one visit and names every photo, job and result by its SHA-256.
//!   Its own SHA-256 is the **fingerprint** that the printed record carries.
//! - `manifest.json` names every file with its SHA-256, and the seal of the board's record before it. Its own SHA-256 is
//!   the **seal**: the next record names it in turn, so none can be changed, left out or put in between unseen.
//! - `SHA256SUMS` lets anybody check all files with `sha256sum -c`.
//! - `manifest.sig` is the shop's signature (Ed25519) of `manifest.json`, when it signs; `shop-key.pem` is its public key.
//!
//! Files are stored, not compressed, in an order and with headers that follow from the manifest alone. So the archive can
//! be built again from what it holds, and every byte that differs is found, also one that no sum covers.
//!
//! Without a signature a bundle shows that it is whole, not who made it: whoever can write files can build another whole
//! one. What ties it to its maker is the signature, the fingerprint on the printed record, and the chain in the history.
//!
//! It opens no file, measures nothing, and knows no clock.

mod archive;
mod bundle;
mod error;
mod evidence;
mod key;
mod manifest;
mod names;
mod opened;
mod sum;

pub use archive::Limits;
pub use bundle::{Bundle, SealOptions, seal_bundle};
pub use error::Error;
pub use evidence::{EVIDENCE_FORMAT, EarlierValue, Evidence, EvidenceCheck, EvidencePhoto, EvidenceVisit};
pub use key::{PublicKey, ShopKey};
pub use manifest::{Manifest, ManifestFile, Place};
pub use names::{folder_name, safe_name};
pub use opened::{Finding, OpenedBundle, Signature, open_bundle};
pub use sum::sha256_hex;

/// Names of the files that every bundle holds.
pub mod file {
    /// What findings name that concern no single file.
    pub const ARCHIVE: &str = "the archive";
    /// What was found and done.
    pub const EVIDENCE: &str = "evidence.json";
    /// Every file with its sum, and the seal before.
    pub const MANIFEST: &str = "manifest.json";
    /// The manifest's signature: 64 bytes.
    pub const SIGNATURE: &str = "manifest.sig";
    /// The public key that checks it, as PEM.
    pub const KEY: &str = "shop-key.pem";
    /// The sums of all other files.
    pub const SUMS: &str = "SHA256SUMS";
    /// The record to read and print.
    pub const RECORD: &str = "record.pdf";
    /// How to check a bundle by hand.
    pub const README: &str = "README.txt";
}
