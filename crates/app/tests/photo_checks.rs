//! Turn, play and camera checks as the app asks for them, on the rendered pictures with known truth where they are there.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use shimwright_app::Workshop;
use shimwright_app::bridge::{CalibrateRequest, FailureCode, MeasureRequest, PhotoAdded};
use shimwright_app::record::{Board, CheckKind, Corner, DriveDescription, Job, JobPhoto, PrintScale};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Radial run-out of series r1 by the scene it was rendered from, mm.
const TRUE_RUNOUT: f64 = 0.36;
/// Focal length of the rendered camera, px.
const TRUE_FOCAL: f64 = 2291.7;

fn rendered() -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data/rendered/dev");
    if folder.is_dir() {
        return Some(folder);
    }
    println!("skipped: the rendered pictures are not at ../shared/data/rendered");
    None
}

async fn workshop_with_board(folder: &Path) -> (Workshop, Board) {
    let workshop = Workshop::open(folder).await.unwrap();
    let mut board = workshop.load_demo().await.unwrap();
    board.drive.description = Some(DriveDescription {
        eccentricity_limit: 0.1,
        ..DriveDescription::default()
    });
    let board = workshop.save_board(&board).await.unwrap();
    (workshop, board)
}

async fn hand_in(workshop: &Workshop, folder: &Path, names: impl Iterator<Item = String>) -> Vec<PhotoAdded> {
    let mut photos = Vec::new();
    for name in names {
        let bytes = std::fs::read(folder.join(&name)).unwrap();
        photos.push(workshop.add_photo(&name, bytes).await.unwrap());
    }
    photos
}

fn job(check: CheckKind, photos: &[PhotoAdded]) -> Job {
    Job {
        photos: photos
            .iter()
            .map(|photo| JobPhoto {
                file: photo.id.clone(),
                marks: BTreeMap::new(),
            })
            .collect(),
        print_scale: Some(PrintScale {
            x: 1.0,
            y: 1.0,
            u95: 0.001,
        }),
        ..Job::of(check)
    }
}

/// The first corner of a target that is drawn on a photo.
fn first_corner(photo: &PhotoAdded, target: &str) -> [f64; 2] {
    let found = photo.found.iter().find(|found| found.name == target).unwrap();
    let corners = found.drawn.iter().find(|drawn| drawn.what == "corner").unwrap();
    corners.points[0]
}

#[tokio::test(flavor = "multi_thread")]
async fn a_turn_names_its_screw_by_a_mark_and_its_wobble_serves_the_next_gap() {
    let Some(folder) = rendered() else { return };
    let dir = tempfile::tempdir().unwrap();
    let (workshop, board) = workshop_with_board(dir.path()).await;
    let names = [1, 3, 5, 7, 9, 11].map(|n| format!("r1_{n:02}.jpg"));
    let photos = hand_in(&workshop, &folder.join("R"), names.into_iter()).await;

    // Uneven wheel angles all round: no third of the turn is without a photo.
    let mut angles: Vec<f64> = photos.iter().map(|photo| photo.wheel_angle.unwrap()).collect();
    angles.sort_by(f64::total_cmp);
    let widest = angles
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .fold(0.0, f64::max);
    assert!(widest < 120.0 && angles[5] - angles[0] > 240.0, "{angles:?}");

    let mut turn = job(CheckKind::Turn, &photos);
    turn.photos[3]
        .marks
        .insert("screw_1".into(), vec![first_corner(&photos[3], "hub-ring")]);
    let request = MeasureRequest {
        board_id: board.id.clone(),
        corner: Corner::Left,
        job: turn,
    };
    let measured = workshop.measure(request, |_| {}).await.unwrap();
    let runout = measured.result.quantity("radial_runout").unwrap();
    assert!(
        (runout.value - TRUE_RUNOUT).abs() <= runout.u95.max(0.02),
        "{runout:?}"
    );
    assert!(measured.drive.as_ref().unwrap().mark_screw_angle.is_some());
    // Twice the described eccentricity limit.
    assert!((measured.result.verdict.limit - 0.2).abs() < 1e-12);
    let entry = workshop.save_check(&measured.draft_id, "").await.unwrap();
    // Corner 0 of tag 200 is printed at (-4.5, -27), y downwards: calibration/targets.json.
    let screw = entry.job.drive.as_ref().unwrap().mark_screw_angle.unwrap();
    let printed = 27f64.atan2(-4.5).to_degrees();
    assert!((screw - printed).abs() < 0.5, "{screw} and {printed}");
    assert!(entry.job.photos.iter().all(|photo| photo.marks.is_empty()));

    let demo = workshop.add_demo_photos(Corner::Left).await.unwrap();
    let request = MeasureRequest {
        board_id: board.id.clone(),
        corner: Corner::Left,
        job: demo.job,
    };
    let gap = workshop.measure(request, |_| {}).await.unwrap().result;
    assert!(gap.quantity("gap_over_turn").unwrap().value < gap.quantity("gap").unwrap().value);
    assert!(
        gap.warnings
            .iter()
            .any(|text| text.contains("rests on the axial run-out")),
        "{:?}",
        gap.warnings
    );
    workshop.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_screw_marked_where_no_ring_is_seen_is_refused_in_words() {
    let dir = tempfile::tempdir().unwrap();
    let (workshop, board) = workshop_with_board(dir.path()).await;
    let demo = workshop.add_demo_photos(Corner::Left).await.unwrap();
    assert!(demo.photos.iter().all(|photo| photo.wheel_angle.is_none()));
    let mut turn = job(CheckKind::Turn, &demo.photos);
    turn.photos[0]
        .marks
        .insert("screw_1".into(), vec![[100.0, 100.0]]);
    let request = MeasureRequest {
        board_id: board.id,
        corner: Corner::Left,
        job: turn,
    };
    let failure = workshop.measure(request, |_| {}).await.unwrap_err();
    assert_eq!(failure.code, FailureCode::BadInput);
    assert!(
        failure.message.contains("does not show the hub ring"),
        "{failure}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_camera_is_calibrated_kept_and_forgotten() {
    let Some(folder) = rendered() else { return };
    let dir = tempfile::tempdir().unwrap();
    let (workshop, _) = workshop_with_board(dir.path()).await;
    let names = [1, 3, 4, 6, 8, 10].map(|n| format!("b_{n:02}.jpg"));
    let photos = hand_in(&workshop, &folder.join("B"), names.into_iter()).await;
    let request = CalibrateRequest {
        photo_ids: photos.iter().map(|photo| photo.id.clone()).collect(),
        print_scale: None,
    };
    let calibrated = workshop.calibrate(request, |_| {}).await.unwrap();
    let fx = calibrated.result.quantity("fx").unwrap();
    assert!((fx.value - TRUE_FOCAL).abs() <= 1.5 * fx.u95, "{fx:?}");
    assert_eq!(
        calibrated.result.photos[0].file, photos[0].id,
        "the page knows photos by their ids"
    );
    assert!(!calibrated.camera.is_empty());
    let kept = workshop.keep_camera(&calibrated.draft_id).await.unwrap();
    assert_eq!(
        (kept.len(), kept[0].name.as_str()),
        (1, calibrated.camera.as_str())
    );
    let again = workshop.keep_camera(&calibrated.draft_id).await.unwrap_err();
    assert_eq!(again.code, FailureCode::NotFound, "a calibration is kept once");
    let elsewhere = workshop.forget_camera("../history.db").await.unwrap_err();
    assert_eq!(elsewhere.code, FailureCode::NotFound, "a path leads nowhere");
    assert!(workshop.forget_camera(&kept[0].id).await.unwrap().is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn marks_are_carried_by_the_sheet_and_by_the_ring() {
    let Some(folder) = rendered() else { return };
    let dir = tempfile::tempdir().unwrap();
    let (workshop, _) = workshop_with_board(dir.path()).await;
    let names = ["r1_01.jpg", "r1_05.jpg"].map(str::to_owned);
    let photos = hand_in(&workshop, &folder.join("R"), names.into_iter()).await;
    // The same printed corners seen in both photos: one of the card, which stands still, one of the ring, which turned.
    let [card, ring] =
        ["mount-card", "hub-ring"].map(|name| photos.iter().map(move |photo| first_corner(photo, name)));
    let (card, ring): (Vec<_>, Vec<_>) = (card.collect(), ring.collect());
    let marks = BTreeMap::from([
        ("rim_edge".to_owned(), vec![card[0]]),
        ("screw_1".to_owned(), vec![ring[0]]),
    ]);
    let moved = workshop
        .carry_marks(&photos[0].id, &photos[1].id, marks.clone())
        .await
        .unwrap()
        .marks;
    for (name, expected) in [("rim_edge", card[1]), ("screw_1", ring[1])] {
        let [x, y] = moved[name][0];
        let off = (x - expected[0]).hypot(y - expected[1]);
        // The lens bends what a plane map takes for straight.
        assert!(off < 2.0, "{name} lands {off} px off");
    }
    let sheet = hand_in(
        &workshop,
        &folder.join("B"),
        std::iter::once("b_01.jpg".to_owned()),
    )
    .await;
    let failure = workshop
        .carry_marks(&photos[0].id, &sheet[0].id, marks)
        .await
        .unwrap_err();
    assert_eq!(failure.code, FailureCode::BadInput);
}
