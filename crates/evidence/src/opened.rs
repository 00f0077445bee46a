//! Reading a bundle, and finding what was changed in it.

use crate::archive::{Limits, Part, read_index, unpack};
use crate::bundle::{moment, packed};
use crate::evidence::EVIDENCE_FORMAT;
use crate::manifest::{MANIFEST_FORMAT, sums_text};
use crate::{Error, Evidence, Manifest, Place, PublicKey, file, sha256_hex};
use serde::de::DeserializeOwned;
use shimwright_phrase::Phrase;
use shimwright_say::say;
use std::collections::BTreeMap;

/// Something that is not as it was sealed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// The file concerned, or `the archive`.
    pub subject: String,
    /// What is wrong with it.
    pub message: Phrase,
}

/// What the signature says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Signature {
    /// The bundle is not signed.
    None,
    /// Signed by this key.
    By(PublicKey),
    /// There is a signature, and it is not that of the key which the manifest names.
    Wrong,
}

/// A bundle that could be read. What was changed in it is in `findings`.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenedBundle {
    /// Its manifest.
    pub manifest: Manifest,
    /// SHA-256 of the manifest.
    pub seal: String,
    /// Its evidence.
    pub evidence: Evidence,
    /// Every file by its path.
    pub files: BTreeMap<String, Vec<u8>>,
    /// What the signature says.
    pub signature: Signature,
    /// What is not as it was sealed; empty for a whole bundle.
    pub findings: Vec<Finding>,
}

/// Reads a bundle and checks every sum, the order, the signature and the archive's own bytes.
///
/// # Errors
/// [`Error`] when it cannot be read at all or passes a limit.
pub fn open_bundle(archive: &[u8], limits: &Limits) -> Result<OpenedBundle, Error> {
    let mut findings = Findings::default();
    let mut files = BTreeMap::new();
    let mut order = Vec::new();
    for entry in read_index(archive, limits)? {
        match unpack(archive, &entry) {
            Ok(bytes) => drop(files.insert(entry.path.clone(), bytes)),
            Err(what) => findings.add(&entry.path, what),
        }
        order.push(entry.path);
    }
    // A file that could not be taken out is told as that, and not as one that is missing.
    let damaged = |name: &str| {
        findings
            .list
            .iter()
            .find(|finding| finding.subject == name)
            .cloned()
    };
    let needed = |name: &'static str| {
        files.get(name).ok_or_else(|| match damaged(name) {
            Some(finding) => Error::Unreadable {
                name: name.to_owned(),
                what: finding.message,
            },
            None => Error::Missing { name },
        })
    };
    let manifest: Manifest = read(file::MANIFEST, needed(file::MANIFEST)?)?;
    known_form(file::MANIFEST, &manifest.format, MANIFEST_FORMAT)?;
    let evidence: Evidence = read(file::EVIDENCE, needed(file::EVIDENCE)?)?;
    known_form(file::EVIDENCE, &evidence.format, EVIDENCE_FORMAT)?;
    let seal = sha256_hex(needed(file::MANIFEST)?);
    let mut opened = OpenedBundle {
        manifest,
        seal,
        evidence,
        files,
        signature: Signature::None,
        findings: Vec::new(),
    };
    opened.check_sums(&mut findings);
    opened.check_evidence(&mut findings);
    opened.check_signature(&mut findings);
    opened.check_order(&order, &mut findings);
    opened.check_archive(archive, &mut findings);
    opened.findings = findings.list;
    Ok(opened)
}

/// Findings, each subject once: what was found first about a file says most.
#[derive(Default)]
struct Findings {
    list: Vec<Finding>,
}

impl Findings {
    fn add(&mut self, subject: &str, message: Phrase) {
        if !self.list.iter().any(|known| known.subject == subject) {
            self.list.push(Finding {
                subject: subject.to_owned(),
                message,
            });
        }
    }
}

impl OpenedBundle {
    /// Every file against the manifest, and the manifest against the list of sums.
    fn check_sums(&self, findings: &mut Findings) {
        for listed in &self.manifest.files {
            match self.files.get(&listed.path) {
                None => findings.add(&listed.path, say!("it is missing")),
                Some(bytes) if sha256_hex(bytes) != listed.sha256 => {
                    findings.add(&listed.path, say!("its SHA-256 is not the one in the manifest"));
                }
                Some(bytes) if bytes.len() as u64 != listed.bytes => {
                    findings.add(&listed.path, say!("its length is not the one in the manifest"));
                }
                Some(_) => {}
            }
        }
        for path in self.files.keys() {
            if !self.expected_order().contains(&path.as_str()) {
                findings.add(path, say!("the manifest does not name it"));
            }
        }
        if self
            .files
            .get(file::SUMS)
            .is_some_and(|text| *text != self.sums().into_bytes())
        {
            let told = self
                .files
                .get(file::SUMS)
                .map(|text| String::from_utf8_lossy(text))
                .unwrap_or_default();
            let manifest = format!("{}  {}", self.seal, file::MANIFEST);
            // A line that does not fit a file which is found changed anyway says nothing new.
            if !told.lines().any(|line| line == manifest) {
                findings.add(file::MANIFEST, say!("its SHA-256 is not the one in SHA256SUMS"));
            } else if findings.list.is_empty() {
                findings.add(file::SUMS, say!("it does not hold the sums of the files"));
            }
        } else if !self.files.contains_key(file::SUMS) {
            findings.add(file::SUMS, say!("it is missing"));
        }
    }

    /// What the evidence says of jobs, results and photos.
    fn check_evidence(&self, findings: &mut Findings) {
        let sum = |path: &str| self.files.get(path).map(|bytes| sha256_hex(bytes));
        if sum(file::EVIDENCE).as_deref() != Some(self.manifest.fingerprint.as_str()) {
            findings.add(
                file::EVIDENCE,
                say!("its SHA-256 is not the fingerprint in the manifest"),
            );
        }
        if self.evidence.board.id != self.manifest.board {
            findings.add(
                file::EVIDENCE,
                say!("it tells of another board than the manifest"),
            );
        }
        for check in &self.evidence.checks {
            let camera = check.camera.as_ref().map(|sum| ("camera.json", sum));
            let texts = [("job.json", &check.job), ("result.json", &check.result)];
            let photos = check.photos.iter().map(|photo| match self.manifest.place {
                Place::Removed => (photo.file.as_str(), &photo.shared),
                Place::Kept => (photo.file.as_str(), &photo.original),
            });
            for (name, expected) in texts.into_iter().chain(camera).chain(photos) {
                let path = format!("{}/{name}", check.folder);
                if sum(&path).as_ref() != Some(expected) {
                    findings.add(&path, say!("its SHA-256 is not the one in evidence.json"));
                }
            }
        }
    }

    fn check_signature(&mut self, findings: &mut Findings) {
        let signature = self.files.get(file::SIGNATURE);
        let key = self.manifest.public_key.as_deref();
        self.signature = match (signature, key) {
            (None, None) => Signature::None,
            (None, Some(_)) => {
                findings.add(
                    file::SIGNATURE,
                    say!("it is missing, and the manifest names a key"),
                );
                Signature::Wrong
            }
            (Some(_), None) => {
                findings.add(
                    file::SIGNATURE,
                    say!("there is a signature, and the manifest names no key"),
                );
                Signature::Wrong
            }
            (Some(signature), Some(key)) => match PublicKey::from_text(key) {
                Ok(key)
                    if self
                        .files
                        .get(file::MANIFEST)
                        .is_some_and(|text| key.verifies(text, signature)) =>
                {
                    Signature::By(key)
                }
                _ => {
                    findings.add(
                        file::SIGNATURE,
                        say!("it is not the signature of the manifest by the key that it names"),
                    );
                    Signature::Wrong
                }
            },
        };
        if let Signature::By(key) = &self.signature
            && self
                .files
                .get(file::KEY)
                .is_some_and(|pem| *pem != key.to_pem().into_bytes())
        {
            findings.add(file::KEY, say!("it is not the key that the manifest names"));
        }
    }

    fn check_order(&self, order: &[String], findings: &mut Findings) {
        let expected = self.expected_order();
        let mut sorted = (
            order.iter().map(String::as_str).collect::<Vec<_>>(),
            expected.clone(),
        );
        sorted.0.sort_unstable();
        sorted.1.sort_unstable();
        if sorted.0 != sorted.1 {
            return; // Missing and foreign files are told already.
        }
        if let Some((is, was)) = order.iter().zip(&expected).find(|(is, was)| is != was) {
            findings.add(
                is,
                say!("it stands where {was} was: the order of the files was changed"),
            );
        }
    }

    /// Builds the archive again from what it holds: what no sum covers must be the same as well.
    fn check_archive(&self, archive: &[u8], findings: &mut Findings) {
        if !findings.list.is_empty() {
            return;
        }
        let Ok(at) = moment(&self.manifest.sealed_at) else {
            findings.add(file::MANIFEST, say!("it does not say when it was sealed"));
            return;
        };
        let bytes = |path: &str| self.files.get(path).map(Vec::as_slice);
        let parts: Vec<Part> = self
            .manifest
            .files
            .iter()
            .filter_map(|listed| {
                Some(Part {
                    path: &listed.path,
                    bytes: bytes(&listed.path)?,
                })
            })
            .collect();
        let again = packed(
            bytes(file::MANIFEST).unwrap_or_default(),
            bytes(file::SIGNATURE),
            &parts,
            &at,
        );
        let Ok(again) = again else { return };
        if let Some(place) = first_difference(archive, &again) {
            let message = say!(
                "byte {place} is not as it was written, near {}; the files inside are unchanged, so another program may \
                 have packed them again",
                self.nearest(archive, place)
            );
            findings.add(file::ARCHIVE, message);
        }
    }

    /// The entry whose header stands before a byte.
    fn nearest(&self, archive: &[u8], place: usize) -> Phrase {
        let before = &archive[..place.min(archive.len())];
        let found = |path: &&&str| {
            before
                .windows(path.len())
                .rposition(|part| part == path.as_bytes())
        };
        let order = self.expected_order();
        let nearest = order.iter().filter_map(|path| Some((found(&path)?, path))).max();
        nearest.map_or_else(|| say!("its beginning"), |(_, path)| say!("{path}"))
    }

    /// The paths in the order in which they were packed.
    fn expected_order(&self) -> Vec<&str> {
        let mut order = vec![file::MANIFEST];
        order.extend(self.manifest.public_key.as_ref().map(|_| file::SIGNATURE));
        order.push(file::SUMS);
        order.extend(self.manifest.files.iter().map(|listed| listed.path.as_str()));
        order
    }

    fn sums(&self) -> String {
        let order = self
            .expected_order()
            .into_iter()
            .filter(|path| *path != file::SUMS);
        sums_text(order.filter_map(|path| Some((path, sha256_hex(self.files.get(path)?)))))
    }
}

fn first_difference(a: &[u8], b: &[u8]) -> Option<usize> {
    match a.iter().zip(b).position(|(a, b)| a != b) {
        None if a.len() == b.len() => None,
        None => Some(a.len().min(b.len())),
        place => place,
    }
}

fn read<T: DeserializeOwned>(name: &'static str, bytes: &[u8]) -> Result<T, Error> {
    serde_json::from_slice(bytes).map_err(|error| Error::Unreadable {
        name: name.to_owned(),
        what: Phrase::foreign(error.to_string()),
    })
}

fn known_form(name: &'static str, form: &str, known: &'static str) -> Result<(), Error> {
    if form == known {
        return Ok(());
    }
    Err(Error::Newer {
        name,
        form: form.to_owned(),
        known,
    })
}
