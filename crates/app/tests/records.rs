//! Records that prove, through the one door: who forges with all sums in order is found by measuring again, and photos
//! tell no place unless the user asks.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use shimwright_app::record::{Board, CheckResult, Corner, Value};
use shimwright_app::{
    BundleAsked, BundleMade, Cancel, ChainState, LoadedJob, LoadedPhoto, NumberState, RecordAsked,
    RecordState, SignatureState, TargetSet, Verification, VerifyAsked, Workshop, demo_job, measure_job,
    verify,
};
use shimwright_evidence::{Limits, Place, SealOptions, open_bundle, seal_bundle, sha256_hex};
use std::path::Path;

const SECRET: &[u8] = b"52.3731 N 4.8922 E";

/// The demo's left corner with a place in its first photo, as a phone writes it into an XMP segment.
fn job_with_place() -> LoadedJob {
    let loaded = demo_job(Corner::Left).unwrap();
    let mut photos = loaded.photos.clone();
    let text = [
        b"http://ns.adobe.com/xap/1.0/\0<exif:GPSLatitude>".as_slice(),
        SECRET,
    ]
    .concat();
    let segment = [
        &[0xff, 0xe1],
        ((text.len() + 2) as u16).to_be_bytes().as_slice(),
        &text,
    ]
    .concat();
    let mut bytes = photos[0].bytes.to_vec();
    bytes.splice(2..2, segment);
    photos[0] = LoadedPhoto::new(&photos[0].name, bytes.into()).unwrap();
    LoadedJob::new(loaded.job, photos, loaded.camera).unwrap()
}

/// A workshop with one measured check, and its result.
async fn workshop(folder: &Path) -> (Workshop, Board, CheckResult) {
    let workshop = Workshop::open(folder).await.unwrap();
    let board = workshop.load_demo().await.unwrap();
    let loaded = job_with_place();
    let result = measure_job(&loaded, &TargetSet::built_in(), &|_| {}, &Cancel::default()).unwrap();
    workshop
        .save_measured(&board, Corner::Left, loaded, result.clone(), "cleaned the rim")
        .await
        .unwrap();
    (workshop, board, result)
}

async fn sealed(workshop: &Workshop, board: &Board, with_place: bool) -> BundleMade {
    let record = RecordAsked {
        visit: None,
        paper: "a4".into(),
    };
    workshop
        .bundle(
            board,
            &BundleAsked {
                record,
                sign: false,
                with_place,
            },
        )
        .await
        .unwrap()
}

async fn verified(folder: &Path, bundle: &[u8], workshop: Option<&Workshop>) -> Verification {
    let file = folder.join("bundle.zip");
    std::fs::write(&file, bundle).unwrap();
    let asked = VerifyAsked {
        files: vec![file],
        measure: true,
    };
    verify(asked, workshop, |_| {}, &Cancel::default())
        .await
        .unwrap()
        .remove(0)
}

fn holds(haystack: &[u8], needle: &[u8]) -> bool {
    haystack.windows(needle.len()).any(|part| part == needle)
}

#[tokio::test(flavor = "multi_thread")]
async fn numbers_come_out_again_and_a_forged_one_does_not() {
    let dir = tempfile::tempdir().unwrap();
    let (workshop, board, result) = workshop(dir.path()).await;
    let made = sealed(&workshop, &board, false).await;
    let whole = verified(dir.path(), &made.zip, None).await;
    assert!(whole.holds(), "{whole:#?}");
    assert_eq!(
        (whole.record, whole.chain.state),
        (RecordState::Same, ChainState::First)
    );
    assert!(
        whole.numbers.len() > result.values.len(),
        "every value, and the verdict"
    );
    assert!(
        whole
            .numbers
            .iter()
            .all(|number| number.state == NumberState::Same),
        "{:#?}",
        whole.numbers
    );

    // A forger makes the gap half its uncertainty wider and builds result, evidence, manifest and archive anew.
    let opened = open_bundle(&made.zip, &Limits::default()).unwrap();
    let (mut evidence, mut files) = (opened.evidence, opened.files);
    let path = format!("{}/result.json", evidence.checks[0].folder);
    let mut forged: CheckResult = serde_json::from_slice(&files[&path]).unwrap();
    let Some(Value::One(gap)) = forged.values.get_mut("gap") else {
        panic!("no gap")
    };
    gap.value += gap.u95 / 2.0;
    let text = serde_json::to_vec_pretty(&forged).unwrap();
    evidence.checks[0].result = sha256_hex(&text);
    files.insert(path, text);
    let record = files["record.pdf"].clone();
    files.retain(|path, _| path.starts_with("checks/"));
    let options = SealOptions {
        program: opened.manifest.program,
        number: 1,
        previous: None,
        sealed_at: opened.manifest.sealed_at,
        paper: "a4".into(),
        place: Place::Removed,
    };
    let forged = seal_bundle(&evidence, &record, &files, &options, None).unwrap();
    let found = verified(dir.path(), &forged.bytes, None).await;
    assert!(
        found.unchanged && !found.holds(),
        "all sums are in order: {found:#?}"
    );
    assert_eq!(
        found.record,
        RecordState::Differs,
        "the old record tells another number"
    );
    let gap = found.numbers.iter().find(|number| number.name == "gap").unwrap();
    assert_eq!(
        gap.state,
        NumberState::Differs,
        "half an uncertainty is not the same digit: {gap:?}"
    );
    let others = found.numbers.iter().filter(|number| number.name != "gap");
    assert!(others.into_iter().all(|number| number.state == NumberState::Same));
    // Where the history knows the true one, the forged one is seen by its seal alone.
    let known = verified(dir.path(), &forged.bytes, Some(&workshop)).await;
    assert_eq!(
        (known.chain.state, known.signature.state),
        (ChainState::Broken, SignatureState::None)
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn photos_tell_no_place_unless_the_user_asks() {
    let dir = tempfile::tempdir().unwrap();
    let (workshop, board, _) = workshop(dir.path()).await;
    let asked = RecordAsked {
        visit: None,
        paper: "letter".into(),
    };
    let record = workshop.record_pdf(&board, &asked).await.unwrap();
    let plain = sealed(&workshop, &board, false).await;
    assert!(
        !holds(&record.pdf, SECRET) && !holds(&plain.zip, SECRET),
        "the place left the machine"
    );
    let with_place = sealed(&workshop, &board, true).await;
    assert!(
        holds(&with_place.zip, SECRET),
        "the untouched photo was asked for"
    );
    assert_eq!((plain.number, with_place.number), (1, 2));
    assert_eq!(
        record.fingerprint, plain.fingerprint,
        "the evidence is the same however the photos are shared"
    );
    assert_eq!(plain.fingerprint, with_place.fingerprint);

    let (copies, originals) = (
        open_bundle(&plain.zip, &Limits::default()),
        open_bundle(&with_place.zip, &Limits::default()),
    );
    let (copies, originals) = (copies.unwrap(), originals.unwrap());
    assert_eq!((copies.findings.len(), originals.findings.len()), (0, 0));
    let photo = &copies.evidence.checks[0].photos[0];
    let path = format!("{}/{}", copies.evidence.checks[0].folder, photo.file);
    assert_eq!(sha256_hex(&copies.files[&path]), photo.shared);
    assert_eq!(sha256_hex(&originals.files[&path]), photo.original);
    assert_ne!(photo.shared, photo.original);
    // Whoever holds the original can show that the copy is its own.
    let copy =
        shimwright_photo::shared_copy(&originals.files[&path], &shimwright_photo::Limits::default()).unwrap();
    assert_eq!(sha256_hex(&copy), photo.shared);
    let whole = verified(dir.path(), &with_place.zip, Some(&workshop)).await;
    assert!(
        whole.holds() && whole.chain.state == ChainState::Linked,
        "{whole:#?}"
    );
}
