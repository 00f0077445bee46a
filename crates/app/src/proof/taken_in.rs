//! From a bundle to a visit that a history can take in.

use crate::bridge::Failure;
use serde::de::DeserializeOwned;
use shimwright_evidence::{EvidenceCheck, Limits, OpenedBundle, open_bundle};
use shimwright_history::{ForeignCheck, ForeignVisit, NewCheck, NewPhoto, SavedVisit, Seal, Time};
use shimwright_record::{CheckResult, Job};
use shimwright_say::say;

/// How every zip file begins (APPNOTE.TXT, 4.3.7).
const ZIP: &[u8] = b"PK\x03\x04";

/// Whether a file begins as a bundle does.
pub(crate) fn is_bundle(bytes: &[u8]) -> bool {
    bytes.starts_with(ZIP)
}

/// The visit that a bundle tells of.
///
/// # Errors
/// Bad input for a bundle that cannot be read, or that is not as it was sealed.
pub(crate) fn visit_of_bundle(bytes: &[u8]) -> Result<ForeignVisit, Failure> {
    let opened = open_bundle(bytes, &Limits::default())?;
    if let Some(finding) = opened.findings.first() {
        return Err(Failure::bad_input(
            say!(
                "the bundle is not as it was sealed ({}: {})",
                finding.subject,
                finding.message
            ),
            say!("ask for the file as it was handed out"),
        ));
    }
    let (evidence, manifest) = (&opened.evidence, &opened.manifest);
    let checks = evidence
        .checks
        .iter()
        .map(|check| check_of(check, &opened))
        .collect::<Result<_, _>>()?;
    Ok(ForeignVisit {
        board: evidence.board.clone(),
        visit: SavedVisit {
            id: evidence.visit.id.clone(),
            day: evidence.visit.day.clone(),
            notes: evidence.visit.notes.clone(),
        },
        checks,
        service: evidence.visit.service.clone(),
        seal: Seal {
            number: manifest.number,
            visit_id: evidence.visit.id.clone(),
            seal: opened.seal.clone(),
            previous: manifest.previous.clone(),
            fingerprint: manifest.fingerprint.clone(),
            // It was sealed elsewhere and cannot be made here again.
            form: "{}".to_owned(),
            at: manifest.sealed_at.clone(),
        },
    })
}

fn check_of(check: &EvidenceCheck, opened: &OpenedBundle) -> Result<ForeignCheck, Failure> {
    let at =
        Time::parse_from_rfc3339(&check.at).map_err(|error| unreadable(&check.folder, &error.to_string()))?;
    let mut job: Job = read(opened, check, "job.json")?;
    let mut result: CheckResult = read(opened, check, "result.json")?;
    // The history knows photos by the names that the camera gave them.
    let name_of = |file: &str| {
        check
            .photos
            .iter()
            .find(|photo| photo.file == file)
            .map(|photo| photo.name.clone())
    };
    for photo in &mut job.photos {
        photo.file = name_of(&photo.file).unwrap_or_else(|| photo.file.clone());
    }
    for photo in &mut result.photos {
        photo.file = name_of(&photo.file).unwrap_or_else(|| photo.file.clone());
    }
    if let Some(sound) = &mut job.sound {
        *sound = name_of(sound).unwrap_or_else(|| sound.clone());
    }
    job.camera = None;
    let camera = match check.camera {
        Some(_) => Some(text(opened, check, "camera.json")?),
        None => None,
    };
    let mut photos = Vec::with_capacity(check.photos.len());
    for photo in &check.photos {
        photos.push(NewPhoto {
            name: photo.name.clone(),
            bytes: file(opened, check, &photo.file)?.into(),
            facts: serde_json::json!({}),
        });
    }
    Ok(ForeignCheck {
        id: check.id.clone(),
        at,
        program: check.program.clone(),
        advice: check.advice.clone(),
        originals: check.photos.iter().map(|photo| photo.original.clone()).collect(),
        check: NewCheck {
            board: check.board.clone(),
            corner: check.corner,
            job,
            camera,
            result,
            advice: None,
            work_done: check.work_done.clone(),
            photos,
        },
    })
}

fn file<'o>(opened: &'o OpenedBundle, check: &EvidenceCheck, name: &str) -> Result<&'o [u8], Failure> {
    let path = format!("{}/{name}", check.folder);
    let bytes = opened.files.get(&path);
    bytes
        .map(Vec::as_slice)
        .ok_or_else(|| unreadable(&path, "it is not in the bundle"))
}

fn text(opened: &OpenedBundle, check: &EvidenceCheck, name: &str) -> Result<String, Failure> {
    let bytes = file(opened, check, name)?.to_vec();
    String::from_utf8(bytes).map_err(|error| unreadable(name, &error.to_string()))
}

fn read<T: DeserializeOwned>(opened: &OpenedBundle, check: &EvidenceCheck, name: &str) -> Result<T, Failure> {
    serde_json::from_slice(file(opened, check, name)?).map_err(|error| unreadable(name, &error.to_string()))
}

fn unreadable(subject: &str, why: &str) -> Failure {
    Failure::bad_input(
        say!("the bundle cannot be taken in ({subject}: {why})"),
        say!("a newer program may have made it: update this one"),
    )
    .about(subject)
}
