//! Every limit is kept before any harm is done, and its message names what there was and what is allowed.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use shimwright_app::{OnConflict, Workshop};
use shimwright_evidence::open_bundle;
use shimwright_geom::GreyPicture;
use shimwright_measure::{JobInput, PhotoInput, Silent, run};
use shimwright_photo::{Limits, decode};
use shimwright_record::{CheckKind, Job};
use shimwright_target::{TargetSet, tag36h11};
use shimwright_tests::made::png;

fn camera_job(photos: &[(String, Vec<u8>)]) -> Result<(), String> {
    let listed: Vec<_> = photos
        .iter()
        .map(|(name, _)| serde_json::json!({"file": name}))
        .collect();
    let job: Job =
        serde_json::from_value(serde_json::json!({"check": CheckKind::Camera, "photos": listed})).unwrap();
    let photos: Vec<_> = photos
        .iter()
        .map(|(name, bytes)| PhotoInput { name, bytes })
        .collect();
    let input = JobInput {
        job: &job,
        photos: &photos,
        targets: &TargetSet::built_in(),
        camera: None,
    };
    run(&input, &Silent)
        .map(drop)
        .map_err(|error| error.message.into())
}

#[track_caller]
fn says(outcome: Result<(), String>, words: &str) {
    let message = outcome.expect_err("it must be refused");
    assert!(message.contains(words), "{message}");
}

/// A PNG file whose head tells a size that its content does not have.
fn png_head(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = png(&GreyPicture::new(400, 400, vec![200; 160_000]).unwrap());
    bytes[16..20].copy_from_slice(&width.to_be_bytes());
    bytes[20..24].copy_from_slice(&height.to_be_bytes());
    let sum = crc32(&bytes[12..29]);
    bytes[29..33].copy_from_slice(&sum.to_be_bytes());
    bytes
}

/// CRC-32 as PNG has it (ISO 3309, polynomial 0xEDB88320).
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            if crc & 1 == 1 {
                crc >> 1 ^ 0xEDB8_8320
            } else {
                crc >> 1
            }
        })
    })
}

#[test]
fn pixels_of_a_photo() {
    let refused = decode(&png_head(50_000, 50_000), &Limits::default());
    says(
        refused.map(drop).map_err(|e| e.to_string()),
        "50000 x 50000 pixels and the limit is 60 megapixels",
    );
}

#[test]
fn bytes_of_a_photo() {
    let refused = decode(&vec![0; 80_000_001], &Limits::default());
    says(
        refused.map(drop).map_err(|e| e.to_string()),
        "81 MB and the limit is 80 MB",
    );
}

#[test]
fn photos_of_a_job() {
    let photos: Vec<_> = (0..61).map(|i| (format!("{i}.png"), vec![i])).collect();
    says(camera_job(&photos), "61 photos and the limit is 60");
}

#[test]
fn pixels_of_a_job() {
    let photos: Vec<_> = (0..10)
        .map(|i| (format!("{i}.png"), png_head(7_500, 7_000 + i)))
        .collect();
    says(
        camera_job(&photos),
        "10 photos have 526 megapixels together and the limit is 500",
    );
}

/// Tags of two pixels a cell, side by side.
#[test]
fn tags_of_a_photo() {
    let (pitch, columns, rows) = (22, 41, 25);
    let cells = tag36h11::cells(100).unwrap();
    let white = |x: usize, y: usize| {
        let (i, j) = ((x % pitch) / 2, (y % pitch) / 2);
        let inside = (2..10).contains(&i) && (2..10).contains(&j);
        !inside || cells[j - 2][i - 2]
    };
    let (width, height) = (pitch * columns + 8, pitch * rows + 8);
    let place = (0..width * height).map(|k| (k % width, k / width));
    let data = place.map(|(x, y)| if white(x, y) { 220 } else { 30 }).collect();
    let crowd = png(&GreyPicture::new(width, height, data).unwrap());
    let plain = |i: u8| {
        (
            format!("{i}.png"),
            png(&GreyPicture::new(400, 400, vec![100 + i; 160_000]).unwrap()),
        )
    };
    let photos = vec![("crowd.png".into(), crowd), plain(1), plain(2), plain(3)];
    says(
        camera_job(&photos),
        "crowd.png shows 1025 tags and the limit is 1000",
    );
}

/// Steps of the solver: `solve::Solution::at_rest`, tested there. What an archive may become:
#[test]
fn entries_and_bytes_of_a_bundle() {
    let whole = shimwright_hostile::seeds("bundle").remove(0);
    let limits = |change: fn(&mut shimwright_evidence::Limits)| {
        let mut limits = shimwright_evidence::Limits::default();
        change(&mut limits);
        open_bundle(&whole, &limits).map(drop).map_err(|e| e.to_string())
    };
    says(limits(|l| l.entries = 3), "the limit is 3");
    says(limits(|l| l.file_bytes = 1_000), "the limit is 1000");
    says(limits(|l| l.bytes = 5_000), "the limit is 5000");
    assert_eq!(limits(|_| {}), Ok(()));
}

#[test]
fn bytes_of_target_definitions() {
    let long = " ".repeat((1 << 20) + 1);
    let refused = TargetSet::from_json(&long);
    says(refused.map(drop).map_err(|e| e.to_string()), "1048576");
}

/// A table of an export that is long and mostly a hole.
#[tokio::test]
async fn bytes_of_an_export() {
    let folder = tempfile::tempdir().unwrap();
    let workshop = Workshop::open(&folder.path().join("history")).await.unwrap();
    let export = folder.path().join("export");
    workshop
        .export(
            &export,
            shimwright_app::ExportForm::Json,
            shimwright_app::ExportPhotos::None,
        )
        .await
        .unwrap();
    let table = std::fs::File::create(export.join("boards.json")).unwrap();
    table.set_len(2_000_000_001).unwrap();
    let refused = workshop.import(&export, OnConflict::Refuse).await;
    says(
        refused.map(drop).map_err(|failure| failure.message.into()),
        "2000000001 bytes and the limit is 2000000000",
    );
}
