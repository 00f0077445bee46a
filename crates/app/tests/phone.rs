//! A phone that shoots a turn: what it hands in is looked at, taken in and measured as in the app.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use image::imageops::{FilterType, resize};
use shimwright_app::bridge::{Look, MeasureRequest, PhoneKept, PhoneStanding};
use shimwright_app::receive::{Bench, Event, Frame, ReceivedPhoto};
use shimwright_app::record::{CheckKind, Corner, Job, PrintScale};
use shimwright_app::{PhoneCheck, Workshop};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

/// Radial run-out of series r1 by the scene it was rendered from, mm.
const TRUE_RUNOUT: f64 = 0.36;
/// Longest wait for a measurement, in steps of a tenth of a second.
const PATIENCE: u32 = 600;

async fn turn(folder: &Path) -> PhoneCheck {
    let workshop = Arc::new(Workshop::open(folder).await.unwrap());
    let board = workshop.load_demo().await.unwrap();
    let job = Job {
        print_scale: Some(PrintScale {
            x: 1.0,
            y: 1.0,
            u95: 0.001,
        }),
        ..Job::of(CheckKind::Turn)
    };
    let asked = MeasureRequest {
        board_id: board.id,
        corner: Corner::Left,
        job,
    };
    PhoneCheck::new(workshop, asked, |_| {}).unwrap()
}

fn photo(name: &str, bytes: Vec<u8>, by_itself: bool) -> ReceivedPhoto {
    ReceivedPhoto {
        name: name.into(),
        sha256: String::new(),
        by_itself,
        bytes,
    }
}

/// A grey wall, so many pixels a side.
fn jpeg(side: u32) -> Vec<u8> {
    let mut plain = std::io::Cursor::new(Vec::new());
    image::GrayImage::from_pixel(side, side, image::Luma([200]))
        .write_to(&mut plain, image::ImageFormat::Jpeg)
        .unwrap();
    plain.into_inner()
}

async fn standing(check: &PhoneCheck) -> PhoneStanding {
    serde_json::from_value(check.standing().await).unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_phone_is_guided_and_its_turn_is_measured() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data/rendered/dev/R");
    if !folder.is_dir() {
        println!("skipped: the rendered pictures are not at ../shared/data/rendered");
        return;
    }
    let dir = tempfile::tempdir().unwrap();
    let check = turn(dir.path()).await;
    let mut taken = 0;
    for number in [1, 3, 5, 7, 9, 11] {
        let bytes = std::fs::read(folder.join(format!("r1_{number:02}.jpg"))).unwrap();
        let whole = image::load_from_memory(&bytes).unwrap().into_luma8();
        let small = resize(&whole, 1280, 960, FilterType::Triangle);
        let frame = Frame {
            width: 1280,
            height: 960,
            photo_width: whole.width(),
            grey: small.into_raw(),
        };
        // The phone is held still: the same picture comes again until it is taken, or turned down for its angle.
        for _ in 0..4 {
            let look: Look = serde_json::from_value(check.look(frame.clone()).await.unwrap()).unwrap();
            assert!(look.troubles.is_empty(), "photo {number}: {:?}", look.troubles);
            if look.judged.take {
                let said = check.keep(photo("IMG.jpg", bytes.clone(), true)).await.unwrap();
                let kept: PhoneKept = serde_json::from_value(said).unwrap();
                assert!(kept.kept);
                taken += 1;
                break;
            }
        }
    }
    assert!(taken >= 5, "{taken} of 6 photos were taken");
    check.measure().await.unwrap();
    assert!(check.measure().await.is_err(), "it is measured twice at once");
    for _ in 0..PATIENCE {
        if !standing(&check).await.measuring {
            break;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    let standing = standing(&check).await;
    assert_eq!(standing.photos.len(), taken);
    let result = standing
        .result
        .unwrap_or_else(|| panic!("{:?}", standing.failure));
    let runout = result.quantity("radial_runout").unwrap();
    println!(
        "{taken} photos, run-out {} ± {} mm (truth {TRUE_RUNOUT})",
        runout.value, runout.u95
    );
    assert!(
        (runout.value - TRUE_RUNOUT).abs() <= runout.u95.max(0.02),
        "{runout:?}"
    );
    assert!(check.outcome().unwrap().is_ok());
}

#[tokio::test(flavor = "multi_thread")]
async fn bombs_and_what_is_no_picture_are_refused_as_everywhere() {
    let dir = tempfile::tempdir().unwrap();
    let check = turn(dir.path()).await;
    // A JPEG that states 60,000 x 60,000 pixels: 3.6 gigapixels in a few bytes.
    let small = jpeg(400);
    let frame = small.windows(2).position(|two| two == [0xff, 0xc0]).unwrap();
    let mut bomb = small.clone();
    bomb[frame + 5..frame + 9].copy_from_slice(&[0xea, 0x60, 0xea, 0x60]);
    let refused = check.keep(photo("bomb.jpg", bomb, false)).await.unwrap_err();
    assert_eq!(refused.code, "bad-input");
    assert!(refused.message.contains("60000 x 60000"), "{}", refused.message);
    let png = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR".to_vec();
    let refused = check.keep(photo("a.jpg", png, false)).await.unwrap_err();
    assert!(refused.message.contains("no JPEG"), "{}", refused.message);
    let html = b"<script>alert(1)</script>".to_vec();
    let refused = check.keep(photo("<b>.jpg", html, false)).await.unwrap_err();
    assert!(refused.message.contains("no JPEG"), "{}", refused.message);
    // A photo without a target counts when a person took it, and not when the camera did.
    for by_itself in [true, false] {
        let said = check
            .keep(photo("wall.jpg", small.clone(), by_itself))
            .await
            .unwrap();
        let kept: PhoneKept = serde_json::from_value(said).unwrap();
        assert_eq!(kept.kept, !by_itself);
    }
    let standing = standing(&check).await;
    assert_eq!(standing.photos.len(), 1);
    assert_eq!(standing.shows, ["mount-card", "hub-ring"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_shot_that_does_not_count_is_not_told_as_arrived() {
    let dir = tempfile::tempdir().unwrap();
    let workshop = Arc::new(Workshop::open(dir.path()).await.unwrap());
    let arrived = Arc::new(AtomicUsize::new(0));
    let counted = arrived.clone();
    let hear = move |event: &Event| {
        assert!(matches!(event, Event::Kept { .. }));
        counted.fetch_add(1, Ordering::Relaxed);
    };
    let check = PhoneCheck::for_desk(workshop, CheckKind::Turn, hear).unwrap();
    for (sha256, by_itself, told) in [("wall", true, 0), ("same wall", false, 1)] {
        let shot = ReceivedPhoto {
            sha256: sha256.into(),
            ..photo("wall.jpg", jpeg(400), by_itself)
        };
        check.keep(shot).await.unwrap();
        // As the server says of every photo that was not refused.
        let sha256 = sha256.into();
        check.hear(&Event::Kept { sha256 });
        assert_eq!(arrived.load(Ordering::Relaxed), told);
    }
}
