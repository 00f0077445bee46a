//! Making a bundle.

use crate::archive::{Part, write};
use crate::manifest::{MANIFEST_FORMAT, sums_text};
use crate::{Error, Evidence, Manifest, ManifestFile, Place, ShopKey, file, names, sha256_hex};
use chrono::{DateTime, FixedOffset};
use serde::Serialize;
use shimwright_record::{Phrase, plainly};
use std::collections::BTreeMap;

/// How a record is sealed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SealOptions {
    /// Version of this program.
    pub program: String,
    /// The record's number, from 1.
    pub number: u32,
    /// Seal of the record before it.
    pub previous: Option<String>,
    /// When it is sealed, RFC 3339 with offset.
    pub sealed_at: String,
    /// Paper of the record: `a4` or `letter`.
    pub paper: String,
    /// Whether the photos still tell where they were taken.
    pub place: Place,
}

/// A sealed bundle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bundle {
    /// The zip file.
    pub bytes: Vec<u8>,
    /// SHA-256 of its manifest.
    pub seal: String,
    /// SHA-256 of its evidence.
    pub fingerprint: String,
}

/// Seals evidence, record and files. `files` holds `job.json`, `result.json`, `camera.json` and the photos under their
/// paths; the same input gives the same bytes.
///
/// # Errors
/// [`Error::Moment`], or [`Error::Name`] and [`Error::Limit`] for files that no bundle can hold.
pub fn seal_bundle(
    evidence: &Evidence,
    record: &[u8],
    files: &BTreeMap<String, Vec<u8>>,
    options: &SealOptions,
    key: Option<&ShopKey>,
) -> Result<Bundle, Error> {
    let at = moment(&options.sealed_at)?;
    let told = evidence.to_json()?;
    let readme = readme(options);
    let pem = key.map(|key| key.public().to_pem());
    let mut parts = vec![
        Part {
            path: file::README,
            bytes: readme.as_bytes(),
        },
        Part {
            path: file::RECORD,
            bytes: record,
        },
        Part {
            path: file::EVIDENCE,
            bytes: &told,
        },
    ];
    parts.extend(pem.as_ref().map(|pem| Part {
        path: file::KEY,
        bytes: pem.as_bytes(),
    }));
    parts.extend(files.iter().map(|(path, bytes)| Part { path, bytes }));
    if let Some((part, why)) = parts
        .iter()
        .find_map(|part| Some((part, names::trouble(part.path)?)))
    {
        return Err(Error::Name {
            name: part.path.to_owned(),
            why,
        });
    }
    let manifest = Manifest {
        format: MANIFEST_FORMAT.to_owned(),
        program: options.program.clone(),
        board: evidence.board.id.clone(),
        number: options.number,
        previous: options.previous.clone(),
        sealed_at: options.sealed_at.clone(),
        fingerprint: sha256_hex(&told),
        paper: options.paper.clone(),
        place: options.place,
        public_key: key.map(|key| key.public().to_text()),
        files: parts.iter().map(|part| listed(part, evidence)).collect(),
    };
    let manifest_text = json(&manifest, file::MANIFEST)?;
    let signature = key.map(|key| key.sign(&manifest_text));
    let bytes = packed(
        &manifest_text,
        signature.as_ref().map(<[u8; 64]>::as_slice),
        &parts,
        &at,
    )?;
    Ok(Bundle {
        bytes,
        seal: sha256_hex(&manifest_text),
        fingerprint: manifest.fingerprint,
    })
}

/// The archive: manifest, signature, sums, then the files in the manifest's order.
pub(crate) fn packed(
    manifest: &[u8],
    signature: Option<&[u8]>,
    parts: &[Part],
    at: &DateTime<FixedOffset>,
) -> Result<Vec<u8>, Error> {
    let mut all = vec![Part {
        path: file::MANIFEST,
        bytes: manifest,
    }];
    all.extend(signature.map(|bytes| Part {
        path: file::SIGNATURE,
        bytes,
    }));
    let summed = all.iter().chain(parts);
    let sums = sums_text(summed.map(|part| (part.path, sha256_hex(part.bytes))));
    all.push(Part {
        path: file::SUMS,
        bytes: sums.as_bytes(),
    });
    all.extend(parts);
    write(&all, at)
}

/// A moment from its RFC 3339 text.
pub(crate) fn moment(text: &str) -> Result<DateTime<FixedOffset>, Error> {
    DateTime::parse_from_rfc3339(text).map_err(|_| Error::Moment(text.to_owned()))
}

fn listed(part: &Part, evidence: &Evidence) -> ManifestFile {
    let original = evidence.photo_at(part.path).map(|photo| photo.original.clone());
    ManifestFile {
        path: part.path.to_owned(),
        bytes: part.bytes.len() as u64,
        sha256: sha256_hex(part.bytes),
        original,
    }
}

impl Evidence {
    /// The bytes of `evidence.json`; their SHA-256 is the fingerprint.
    ///
    /// # Errors
    /// [`Error::Unreadable`] for a number that JSON cannot hold.
    pub fn to_json(&self) -> Result<Vec<u8>, Error> {
        json(self, file::EVIDENCE)
    }

    /// The photo that lies at a path of the bundle.
    pub(crate) fn photo_at(&self, path: &str) -> Option<&crate::EvidencePhoto> {
        let (folder, name) = path.rsplit_once('/')?;
        let check = self.checks.iter().find(|check| check.folder == folder)?;
        check.photos.iter().find(|photo| photo.file == name)
    }
}

fn json(value: &impl Serialize, name: &str) -> Result<Vec<u8>, Error> {
    let mut text = plainly(|| serde_json::to_vec_pretty(value)).map_err(|error| Error::Unreadable {
        name: name.to_owned(),
        what: Phrase::foreign(error.to_string()),
    })?;
    text.push(b'\n');
    Ok(text)
}

fn readme(options: &SealOptions) -> String {
    let photos = match options.place {
        Place::Removed => {
            "The photos are copies: the picture data and the facts of camera and lens are bit for bit those of the\n\
             originals, and all else, such as the place where a photo was taken, was left out. evidence.json names\n\
             the SHA-256 of each original beside that of its copy; whoever holds the originals can show them.\n"
        }
        Place::Kept => {
            "The photos are untouched. They may tell where they were taken: think before you pass them on.\n"
        }
    };
    format!(
        "Evidence bundle, written by Shimwright {}.\n\n\
         record.pdf      the record to read and print\n\
         evidence.json   what was found and done; its SHA-256 is the fingerprint on the record\n\
         checks/         of each check: the job, the result, the camera's profile and the photos\n\
         manifest.json   every file with its SHA-256, and the seal of the board's record before this one\n\n\
         {photos}\n\
         Check it with the program, which also measures again from the photos:\n\n\
         \x20   shimwright verify FILE.zip\n\n\
         Check it by hand, in a folder where it is unpacked:\n\n\
         \x20   sha256sum -c SHA256SUMS\n\
         \x20   sha256sum evidence.json     this is the fingerprint on the record\n\
         \x20   sha256sum manifest.json     this is the seal that the next record names\n\
         \x20   openssl pkeyutl -verify -pubin -inkey shop-key.pem -rawin -in manifest.json -sigfile manifest.sig\n\n\
         The last line is for signed bundles. The sums show that the bundle is whole, not who made it: for that,\n\
         compare the fingerprint with the printed record, and the shop's key with one that you have from the shop.\n",
        options.program
    )
}
