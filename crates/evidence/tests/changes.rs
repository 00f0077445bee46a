//! Whatever is changed in a bundle is found, and named.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::{Chance, FOLDER, evidence, key, open, options, signed};
use shimwright_evidence::*;
use std::ops::Range;

/// Where the bytes of each file lie in the archive.
fn places(bundle: &[u8]) -> Vec<(String, Range<usize>)> {
    let files = open(bundle).unwrap().files;
    files
        .into_iter()
        .map(|(path, bytes)| {
            let stored = [path.as_bytes(), &bytes].concat();
            let at = bundle
                .windows(stored.len())
                .position(|part| part == stored)
                .unwrap();
            let from = at + path.len();
            (path, from..from + bytes.len())
        })
        .collect()
}

/// What is said of a changed bundle: the subjects of its findings, or the error.
fn told(bundle: &[u8]) -> Vec<String> {
    match open(bundle) {
        Err(error) => vec![error.to_string()],
        Ok(opened) => opened
            .findings
            .iter()
            .map(|f| format!("{}: {}", f.subject, f.message))
            .collect(),
    }
}

#[test]
fn a_whole_bundle_has_no_findings_and_comes_out_the_same_each_time() {
    let bundle = signed();
    let opened = open(&bundle.bytes).unwrap();
    assert_eq!(opened.findings, []);
    assert_eq!(opened.signature, Signature::By(key().public()));
    assert_eq!(
        (&opened.seal, &opened.manifest.fingerprint),
        (&bundle.seal, &bundle.fingerprint)
    );
    assert_eq!(bundle.fingerprint, sha256_hex(&opened.files[file::EVIDENCE]));
    assert_eq!(signed(), bundle);
    for place in [Place::Removed, Place::Kept] {
        let (evidence, files) = evidence(place);
        let plain = seal_bundle(&evidence, b"%PDF", &files, &options(place), None).unwrap();
        let opened = open(&plain.bytes).unwrap();
        assert_eq!((opened.findings, opened.signature), (vec![], Signature::None));
        assert_eq!(
            plain.fingerprint, bundle.fingerprint,
            "the fingerprint does not hang on how photos are shared"
        );
    }
}

#[test]
fn a_thousand_random_bytes_are_each_found_and_named() {
    let whole = signed().bytes;
    let places = places(&whole);
    let mut chance = Chance(0x5EED);
    let mut in_files = 0;
    for round in 0..1000 {
        let place = chance.next() as usize % whole.len();
        let change = 1 + (chance.next() % 255) as u8;
        let mut changed = whole.clone();
        changed[place] ^= change;
        let told = told(&changed);
        assert!(
            !told.is_empty(),
            "round {round}: byte {place} of {} changed by {change:#x} unseen",
            whole.len()
        );
        let holder = places.iter().find(|(_, range)| range.contains(&place));
        if let Some((path, _)) = holder {
            in_files += 1;
            assert!(
                told.iter().any(|told| told.starts_with(path.as_str())),
                "byte {place} of {path}: {told:?}"
            );
        } else {
            let named = |told: &String| {
                told.contains("the archive") || places.iter().any(|(path, _)| told.contains(path))
            };
            assert!(told.iter().any(named), "byte {place}: {told:?}");
        }
    }
    assert!(
        (300..1000).contains(&in_files),
        "{in_files} of 1000 changes lay in files"
    );
}

#[test]
fn every_byte_outside_the_files_counts_as_well() {
    let whole = signed().bytes;
    let places = places(&whole);
    for place in (0..whole.len()).filter(|place| !places.iter().any(|(_, range)| range.contains(place))) {
        let mut changed = whole.clone();
        changed[place] ^= 0x20;
        assert!(!told(&changed).is_empty(), "byte {place} changed unseen");
    }
}

#[test]
fn what_is_cut_off_or_added_is_found() {
    let whole = signed().bytes;
    for length in [0, 21, 100, whole.len() / 2, whole.len() - 1] {
        assert!(
            told(&whole[..length])[0].contains("index cannot be read"),
            "{length} bytes"
        );
    }
    for extra in [b"x".as_slice(), &whole] {
        let longer = [&whole, extra].concat();
        assert!(!told(&longer).is_empty());
        let earlier = [extra, &whole].concat();
        assert!(!told(&earlier).is_empty());
    }
}

/// Somebody who can build bundles changes evidence and builds all sums anew, without the shop's key.
#[test]
fn a_forger_without_the_key_cannot_keep_the_signature() {
    let (mut evidence, files) = evidence(Place::Removed);
    evidence.checks[0].work_done = "nothing".into();
    let forged = seal_bundle(
        &evidence,
        b"%PDF-1.7 a record",
        &files,
        &options(Place::Removed),
        None,
    )
    .unwrap();
    let opened = open(&forged.bytes).unwrap();
    assert_eq!(
        (opened.findings, opened.signature),
        (vec![], Signature::None),
        "it is whole, but nobody's"
    );
    let true_one = signed();
    assert_ne!(
        (forged.seal, forged.fingerprint),
        (true_one.seal, true_one.fingerprint)
    );

    let other = ShopKey::from_seed([1; 32]);
    let forged = seal_bundle(&evidence, b"%PDF", &files, &options(Place::Removed), Some(&other)).unwrap();
    assert_eq!(
        open(&forged.bytes).unwrap().signature,
        Signature::By(other.public()),
        "the key tells who sealed it"
    );
}

#[test]
fn a_photo_or_result_that_the_evidence_does_not_name_is_found() {
    for (name, path) in [
        ("a.jpg", format!("{FOLDER}/a.jpg")),
        ("result.json", format!("{FOLDER}/result.json")),
    ] {
        let (evidence, mut files) = evidence(Place::Removed);
        files.insert(path.clone(), b"another".to_vec());
        let bundle = seal_bundle(&evidence, b"%PDF", &files, &options(Place::Removed), None).unwrap();
        let told = told(&bundle.bytes);
        assert_eq!(
            told,
            [format!("{path}: its SHA-256 is not the one in evidence.json")],
            "{name}"
        );
    }
    // Photos that lie under each other's names are both named.
    let (evidence, mut files) = evidence(Place::Removed);
    let (a, b) = (
        files[&format!("{FOLDER}/a.jpg")].clone(),
        files[&format!("{FOLDER}/b.jpg")].clone(),
    );
    files.extend([(format!("{FOLDER}/a.jpg"), b), (format!("{FOLDER}/b.jpg"), a)]);
    let bundle = seal_bundle(&evidence, b"%PDF", &files, &options(Place::Removed), None).unwrap();
    assert_eq!(told(&bundle.bytes).len(), 2);
}
