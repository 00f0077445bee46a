//! The whole job through the one door: demo photos in, number, advice and history out.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use shimwright_app::bridge::{FailureCode, MeasureRequest};
use shimwright_app::record::{Conformity, Corner};
use shimwright_app::{Workshop, demo_job, marked_pictures};
use std::sync::{Arc, Mutex};

/// Gaps of the two rendered corners, left and right, by the scenes that they were rendered from, mm.
const TRUE_GAPS: [f64; 2] = [0.35, 3.0];

#[tokio::test(flavor = "multi_thread")]
async fn the_demo_board_is_measured_advised_on_and_remembered() {
    let dir = tempfile::tempdir().unwrap();
    let workshop = Workshop::open(dir.path()).await.unwrap();
    let board = workshop.load_demo().await.unwrap();
    assert_eq!(
        workshop.load_demo().await.unwrap(),
        board,
        "loading it again makes no second board"
    );
    let mut gaps = Vec::new();
    for corner in Corner::BOTH {
        let demo = workshop.add_demo_photos(corner).await.unwrap();
        for photo in &demo.photos {
            let card = photo
                .found
                .iter()
                .find(|found| found.name == "mount-card")
                .unwrap();
            assert!(card.corners >= 10 && card.of == 14, "{card:?}");
            assert_eq!(photo.camera, "Larkspur L-20 Test");
        }
        let steps = Arc::new(Mutex::new(Vec::new()));
        let told = steps.clone();
        let request = MeasureRequest {
            board_id: board.id.clone(),
            corner,
            job: demo.job.clone(),
        };
        let measured = workshop
            .measure(request, move |note| told.lock().unwrap().push(note.done))
            .await
            .unwrap();
        assert!(!steps.lock().unwrap().is_empty());
        assert_eq!(
            measured.result.photos[0].file, demo.photos[0].id,
            "the page knows photos by their ids"
        );
        let advice = measured.advice.as_ref().unwrap();
        assert!(!advice.guidance.cautions().is_empty());
        let entry = workshop
            .save_check(&measured.draft_id, " looked at ")
            .await
            .unwrap();
        assert_eq!(entry.work_done, "looked at");
        assert_eq!(entry.photo_ids.len(), 3);
        assert_eq!(entry.job.photos[0].file, demo.photos[0].name);
        let again = workshop.save_check(&measured.draft_id, "").await.unwrap_err();
        assert_eq!(again.code, FailureCode::NotFound, "a draft is saved once");
        gaps.push(measured.result.quantity("gap").unwrap().clone());
        workshop.forget_photos(&entry.photo_ids);
        assert!(
            workshop.photo(&entry.photo_ids[0]).await.is_ok(),
            "a saved photo comes from the history"
        );
    }
    for (gap, truth) in gaps.iter().zip(TRUE_GAPS) {
        let error = (gap.value - truth).abs();
        assert!(error <= 0.1 && error <= gap.u95, "{truth} mm: {gap:?}");
    }

    let advice = workshop.advise(&board).await.unwrap();
    assert!(advice.fits, "{advice:?}");
    assert_eq!(advice.choices.len(), 2);
    workshop.close().await;

    let workshop = Workshop::open(dir.path()).await.unwrap();
    let detail = workshop.board(&board.id).await.unwrap();
    assert_eq!(detail.history.len(), 2);
    assert_eq!(detail.history[0].corner, Corner::Right, "newest first");
    assert_eq!(detail.history[0].advice, Some(advice));
    let unused = workshop.photo(&"0".repeat(64)).await.unwrap_err();
    assert_eq!(unused.code, FailureCode::NotFound);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_cancelled_measurement_says_so_and_leaves_no_draft() {
    let dir = tempfile::tempdir().unwrap();
    let workshop = Arc::new(Workshop::open(dir.path()).await.unwrap());
    let board = workshop.load_demo().await.unwrap();
    let demo = workshop.add_demo_photos(Corner::Left).await.unwrap();
    let request = MeasureRequest {
        board_id: board.id.clone(),
        corner: Corner::Left,
        job: demo.job,
    };
    let cancelling = workshop.clone();
    let failure = workshop
        .measure(request, move |_| cancelling.cancel_measure())
        .await
        .unwrap_err();
    assert_eq!(failure.code, FailureCode::Cancelled, "{failure}");
    assert!(workshop.board(&board.id).await.unwrap().history.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_photo_that_was_forgotten_cannot_be_measured() {
    let dir = tempfile::tempdir().unwrap();
    let workshop = Workshop::open(dir.path()).await.unwrap();
    let board = workshop.load_demo().await.unwrap();
    let demo = workshop.add_demo_photos(Corner::Left).await.unwrap();
    workshop.forget_photos(&[demo.photos[1].id.clone()]);
    let request = MeasureRequest {
        board_id: board.id,
        corner: Corner::Left,
        job: demo.job,
    };
    let failure = workshop.measure(request, |_| {}).await.unwrap_err();
    assert_eq!(
        (failure.code, failure.subject.as_deref()),
        (FailureCode::NotFound, Some(demo.photos[1].id.as_str()))
    );
}

#[tokio::test]
async fn bad_boards_and_stock_are_refused() {
    let dir = tempfile::tempdir().unwrap();
    let workshop = Workshop::open(dir.path()).await.unwrap();
    let mut board = workshop.load_demo().await.unwrap();
    board.name = "  ".into();
    assert_eq!(
        workshop.save_board(&board).await.unwrap_err().code,
        FailureCode::BadInput
    );
    board.name = "Marlin".into();
    board.corners[0].spacer_thickness = f64::NAN;
    assert_eq!(
        workshop.save_board(&board).await.unwrap_err().subject.as_deref(),
        Some("spacer_thickness")
    );
    let mut stock = workshop.stock().await.unwrap();
    stock[0].thickness = -1.0;
    assert_eq!(
        workshop.save_stock(&stock).await.unwrap_err().subject.as_deref(),
        Some("thickness")
    );
    stock[0].thickness = 10.0;
    stock[1].label = stock[0].label.clone();
    assert_eq!(
        workshop.save_stock(&stock).await.unwrap_err().code,
        FailureCode::BadInput
    );
}

#[tokio::test]
async fn boards_are_found_by_name_and_a_wrong_name_lists_the_others() {
    let dir = tempfile::tempdir().unwrap();
    let workshop = Workshop::open(dir.path()).await.unwrap();
    let none = workshop.board_named("kestrel 2").await.unwrap_err();
    assert!(none.hint.contains("shimwright demo"), "{none}");
    let board = workshop.load_demo().await.unwrap();
    assert_eq!(workshop.board_named("kestrel 2").await.unwrap(), board);
    assert_eq!(workshop.board_named(&board.id).await.unwrap(), board);
    assert!(
        workshop
            .board_named("Marlin")
            .await
            .unwrap_err()
            .hint
            .contains("Kestrel 2")
    );
}

#[test]
fn annotated_pictures_are_photos_with_a_strip_of_words() {
    let loaded = demo_job(Corner::Left).unwrap();
    let result = {
        let targets = shimwright_app::TargetSet::built_in();
        shimwright_app::measure_job(&loaded, &targets, &|_| {}, &Default::default()).unwrap()
    };
    assert_ne!(result.verdict.state, Conformity::Within);
    let pictures = marked_pictures(&result, &loaded.photos).unwrap();
    assert_eq!(pictures.len(), 3);
    assert_eq!(pictures[0].name, "left-1-marked.jpg");
    let limits = shimwright_photo::Limits::default();
    let before = shimwright_photo::decode_rgb(&loaded.photos[0].bytes, &limits).unwrap();
    let after = shimwright_photo::decode_rgb(&pictures[0].jpeg, &limits).unwrap();
    assert_eq!(after.width(), before.width());
    assert!(after.height() > before.height());
    let changed = before
        .enumerate_pixels()
        .filter(|(x, y, p)| {
            let q = after.get_pixel(*x, *y);
            (0..3).any(|c| p[c].abs_diff(q[c]) > 60)
        })
        .count();
    assert!(changed > 2_000, "only {changed} pixels were drawn on");
    if let Some(folder) = std::env::var_os("SHIMWRIGHT_KEEP_PICTURES") {
        std::fs::create_dir_all(&folder).unwrap();
        for picture in &pictures {
            std::fs::write(std::path::Path::new(&folder).join(&picture.name), &picture.jpeg).unwrap();
        }
    }
}
