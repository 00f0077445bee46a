//! From what the history holds of a visit to evidence and its files.

use crate::bridge::Failure;
use crate::without_place::{is_recording, recording};
use serde::Serialize;
use shimwright_evidence::{
    EVIDENCE_FORMAT, EarlierValue, Evidence, EvidenceCheck, EvidencePhoto, EvidenceVisit, Place, folder_name,
    safe_name, sha256_hex,
};
use shimwright_history::{PhotoStore, SavedCheck, SavedPhoto, SavedVisit};
use shimwright_photo::{Limits, shared_copy};
use shimwright_record::Phrase;
use shimwright_record::plainly;
use shimwright_record::{Board, CheckResult, Quantity, ServiceDone, Shop};
use shimwright_say::say;
use std::collections::BTreeMap;

/// Evidence and the files that it names.
#[derive(Clone, Debug)]
pub(crate) struct Package {
    pub evidence: Evidence,
    pub files: BTreeMap<String, Vec<u8>>,
    /// Photos of which only a copy without place data is at hand here.
    pub copies: Vec<String>,
}

/// A visit as the history tells it.
pub(crate) struct Told {
    pub shop: Shop,
    pub board: Board,
    pub visit: SavedVisit,
    /// Its checks, oldest first.
    pub checks: Vec<SavedCheck>,
    /// Checks of earlier visits, oldest first.
    pub earlier: Vec<SavedCheck>,
    /// Service that was done on the board, newest first.
    pub service: Vec<ServiceDone>,
}

/// Builds the package. The photos are untouched, or copies without place data.
///
/// # Errors
/// Storage trouble, or bad input for a photo of which no copy without place data can be made.
pub(crate) fn gather(told: Told, store: &PhotoStore, place: Place) -> Result<Package, Failure> {
    let mut out = Files {
        store,
        place,
        files: BTreeMap::new(),
        copies: Vec::new(),
    };
    let mut checks = Vec::with_capacity(told.checks.len());
    for (number, check) in told.checks.into_iter().enumerate() {
        let folder = folder_name(number, check.corner, check.result.check);
        checks.push(out.one_check(check, folder)?);
    }
    let earlier = told.earlier.iter().filter_map(|check| {
        let value = main_value(&check.result)?.clone();
        Some(EarlierValue {
            corner: check.corner,
            check: check.result.check,
            at: check.at.clone(),
            value,
        })
    });
    let evidence = Evidence {
        format: EVIDENCE_FORMAT.to_owned(),
        shop: told.shop,
        board: told.board,
        visit: EvidenceVisit {
            service: of_day(told.service, &told.visit.day),
            id: told.visit.id,
            day: told.visit.day,
            notes: told.visit.notes,
        },
        checks,
        earlier: earlier.collect(),
    };
    Ok(Package {
        evidence,
        files: out.files,
        copies: out.copies,
    })
}

/// What was done on a day, in the order in which it was written down.
fn of_day(service: Vec<ServiceDone>, day: &str) -> Vec<ServiceDone> {
    service
        .into_iter()
        .rev()
        .filter(|done| done.day.to_string() == day)
        .collect()
}

/// Files of a package as they come together.
struct Files<'s> {
    store: &'s PhotoStore,
    place: Place,
    files: BTreeMap<String, Vec<u8>>,
    copies: Vec<String>,
}

impl Files<'_> {
    /// A photo or recording as it goes along, and the sum of its copy without place data.
    fn photo(&mut self, saved: &SavedPhoto) -> Result<(Vec<u8>, String), Failure> {
        let held = self.store.held(&saved.sha256)?;
        if held.is_copy {
            self.copies.push(saved.name.clone());
            let sum = sha256_hex(&held.bytes);
            return Ok((held.bytes, sum));
        }
        let shared = match (shared_of(&saved.name, &held.bytes), self.place) {
            (Ok(shared), _) => shared,
            // The user asked for the untouched photo, and it is all that there can be.
            (Err(_), Place::Kept) => held.bytes.clone(),
            (Err(failure), Place::Removed) => {
                return Err(Failure {
                    hint: say!("{}, or ask for the photos with their place", failure.hint),
                    ..failure
                });
            }
        };
        let sum = sha256_hex(&shared);
        Ok((
            if self.place == Place::Kept {
                held.bytes
            } else {
                shared
            },
            sum,
        ))
    }

    fn keep(&mut self, path: String, bytes: Vec<u8>) -> String {
        let sum = sha256_hex(&bytes);
        self.files.insert(path, bytes);
        sum
    }

    fn one_check(&mut self, check: SavedCheck, folder: String) -> Result<EvidenceCheck, Failure> {
        let mut photos: Vec<EvidencePhoto> = Vec::with_capacity(check.photos.len());
        for saved in &check.photos {
            let (bytes, shared) = self.photo(saved)?;
            let taken: Vec<String> = photos.iter().map(|photo| photo.file.clone()).collect();
            let photo = EvidencePhoto {
                name: saved.name.clone(),
                file: safe_name(&saved.name, &taken),
                original: saved.sha256.clone(),
                shared,
            };
            self.keep(format!("{folder}/{}", photo.file), bytes);
            photos.push(photo);
        }
        // Job and result name the photos as the bundle does, so that the job can be measured where it lies.
        let file_of = |name: &mut String| {
            if let Some(photo) = photos.iter().find(|photo| photo.name == *name) {
                name.clone_from(&photo.file);
            }
        };
        let (mut job, mut result) = (check.job, check.result);
        job.photos.iter_mut().for_each(|photo| file_of(&mut photo.file));
        job.sound.iter_mut().for_each(file_of);
        result
            .photos
            .iter_mut()
            .for_each(|photo| file_of(&mut photo.file));
        job.camera = check.camera.as_ref().map(|_| "camera.json".to_owned());
        let camera = check.camera.map(String::into_bytes);
        Ok(EvidenceCheck {
            id: check.id,
            at: check.at,
            corner: check.corner,
            program: check.program,
            board: check.board,
            advice: check.advice,
            work_done: check.work_done,
            job: self.keep(format!("{folder}/job.json"), pretty(&job)?),
            result: self.keep(format!("{folder}/result.json"), pretty(&result)?),
            camera: camera.map(|text| self.keep(format!("{folder}/camera.json"), text)),
            photos,
            folder,
        })
    }
}

/// The copy of a photo or recording without place data.
fn shared_of(name: &str, bytes: &[u8]) -> Result<Vec<u8>, Failure> {
    if !is_recording(bytes) {
        return shared_copy(bytes, &Limits::default()).map_err(|error| Failure::of_photo(name, &error));
    }
    recording(bytes).ok_or_else(|| {
        let message = say!("{name}: the parts of the recording do not hold together");
        Failure::bad_input(message, say!("record the plucks again")).about(name)
    })
}

fn pretty(value: &impl Serialize) -> Result<Vec<u8>, Failure> {
    let mut text = plainly(|| serde_json::to_vec_pretty(value))
        .map_err(|error| Failure::internal(Phrase::foreign(error.to_string())))?;
    text.push(b'\n');
    Ok(text)
}

/// The number that a check is about.
pub(crate) fn main_value(result: &CheckResult) -> Option<&Quantity> {
    result.main_value().map(|(_, quantity)| quantity)
}
