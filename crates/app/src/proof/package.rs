//! From what the history holds of a visit to evidence and its files.

use crate::bridge::Failure;
use serde::Serialize;
use shimwright_evidence::{
    EVIDENCE_FORMAT, EarlierValue, Evidence, EvidenceCheck, EvidencePhoto, EvidenceVisit, Place, folder_name,
    safe_name, sha256_hex,
};
use shimwright_history::{PhotoStore, SavedCheck, SavedVisit};
use shimwright_photo::{Limits, shared_copy};
use shimwright_record::{Board, CheckResult, Quantity, ServiceDone, Shop};
use std::collections::BTreeMap;

/// Evidence and the files that it names.
#[derive(Clone, Debug)]
pub(crate) struct Package {
    pub evidence: Evidence,
    pub files: BTreeMap<String, Vec<u8>>,
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
    let mut files = BTreeMap::new();
    let mut checks = Vec::with_capacity(told.checks.len());
    for (number, check) in told.checks.into_iter().enumerate() {
        let folder = folder_name(number, check.corner, check.result.check);
        checks.push(one_check(check, folder, store, place, &mut files)?);
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
    Ok(Package { evidence, files })
}

/// What was done on a day, in the order in which it was written down.
fn of_day(service: Vec<ServiceDone>, day: &str) -> Vec<ServiceDone> {
    service
        .into_iter()
        .rev()
        .filter(|done| done.day.to_string() == day)
        .collect()
}

fn one_check(
    check: SavedCheck,
    folder: String,
    store: &PhotoStore,
    place: Place,
    files: &mut BTreeMap<String, Vec<u8>>,
) -> Result<EvidenceCheck, Failure> {
    let mut photos: Vec<EvidencePhoto> = Vec::with_capacity(check.photos.len());
    for saved in &check.photos {
        let original = store.get(&saved.sha256)?;
        let shared = shared_copy(&original, &Limits::default())
            .map_err(|error| Failure::of_photo(&saved.name, &error));
        let shared = match (shared, place) {
            (Ok(shared), _) => shared,
            // The user asked for the untouched photo, and it is all that there can be.
            (Err(_), Place::Kept) => original.clone(),
            (Err(failure), Place::Removed) => {
                return Err(Failure {
                    hint: format!("{}, or ask for the photos with their place", failure.hint),
                    ..failure
                });
            }
        };
        let taken: Vec<String> = photos.iter().map(|photo| photo.file.clone()).collect();
        let photo = EvidencePhoto {
            name: saved.name.clone(),
            file: safe_name(&saved.name, &taken),
            original: saved.sha256.clone(),
            shared: sha256_hex(&shared),
        };
        let bytes = if place == Place::Kept { original } else { shared };
        files.insert(format!("{folder}/{}", photo.file), bytes);
        photos.push(photo);
    }
    // Job and result name the photos as the bundle does, so that the job can be measured where it lies.
    let file_of = |name: &str| {
        photos
            .iter()
            .find(|photo| photo.name == name)
            .map(|photo| photo.file.clone())
    };
    let (mut job, mut result) = (check.job, check.result);
    for photo in &mut job.photos {
        photo.file = file_of(&photo.file).unwrap_or_else(|| photo.file.clone());
    }
    for photo in &mut result.photos {
        photo.file = file_of(&photo.file).unwrap_or_else(|| photo.file.clone());
    }
    job.camera = check.camera.as_ref().map(|_| "camera.json".to_owned());
    let mut keep = |name: &str, bytes: Vec<u8>| {
        let sum = sha256_hex(&bytes);
        files.insert(format!("{folder}/{name}"), bytes);
        sum
    };
    Ok(EvidenceCheck {
        id: check.id,
        at: check.at,
        corner: check.corner,
        program: check.program,
        board: check.board,
        advice: check.advice,
        work_done: check.work_done,
        job: keep("job.json", pretty(&job)?),
        result: keep("result.json", pretty(&result)?),
        camera: check.camera.map(|text| keep("camera.json", text.into_bytes())),
        photos,
        folder,
    })
}

fn pretty(value: &impl Serialize) -> Result<Vec<u8>, Failure> {
    let mut text = serde_json::to_vec_pretty(value).map_err(|error| Failure::internal(error.to_string()))?;
    text.push(b'\n');
    Ok(text)
}

/// The number that a check is about.
pub(crate) fn main_value(result: &CheckResult) -> Option<&Quantity> {
    result.main_value().map(|(_, quantity)| quantity)
}
