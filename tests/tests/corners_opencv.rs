//! Board corners against OpenCV's ChArUco detector, on the same pictures and the same boards.

use serde_json::Value;
use shimwright_detect::{TagParams, TargetParams, find_tags, find_target};
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_target::TargetSet;
use shimwright_tests::{outside, rendered};
use std::path::{Path, PathBuf};
use std::process::Command;

const DEFINITIONS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../calibration/targets.json");

/// Most of the corners that both found must agree to this in the median, and nearly all to the second.
const MEDIAN_PX: f64 = 0.1;
const P95_PX: f64 = 0.3;

#[test]
fn bench_sheet_corners_agree() {
    let photos = [
        "B/b_01.jpg",
        "B/b_03.jpg",
        "B/b_05.jpg",
        "B/b_08.jpg",
        "B/b_11.jpg",
    ];
    agree("bench-sheet", &photos, 60 * photos.len());
}

#[test]
fn mount_card_corners_agree() {
    let photos = [
        "G/g1_v1.jpg",
        "G/g2_v2.jpg",
        "G/g3_v3.jpg",
        "G/g4_v1.jpg",
        "G/g5_v2.jpg",
        "N/n_rot6.jpg",
    ];
    agree("mount-card", &photos, 12 * photos.len());
}

/// Compares the photos of one target; at least `fewest` corners must have been found by both.
fn agree(name: &str, photos: &[&str], fewest: usize) {
    let Some(folder) = rendered::folder() else {
        println!("skipped: the rendered pictures are not at ../shared/data/rendered");
        return;
    };
    if !outside::is_ready(&["cv2", "numpy"], &[]) {
        return;
    }
    let paths: Vec<PathBuf> = photos.iter().map(|p| folder.join(p)).collect();
    let theirs = opencv(name, &paths);
    let mut distances: Vec<f64> = paths
        .iter()
        .flat_map(|path| {
            let theirs = points(&theirs[path.to_str().expect("a readable path")]);
            let ours = ours(name, path);
            ours.into_iter().filter_map(move |(index, at)| {
                theirs.iter().find(|t| t.0 == index).map(|t| (t.1 - at).norm())
            })
        })
        .collect();
    distances.sort_by(f64::total_cmp);
    assert!(
        distances.len() >= fewest,
        "only {} corners were found by both",
        distances.len()
    );
    let (median, p95) = (
        distances[distances.len() / 2],
        distances[distances.len() * 95 / 100],
    );
    println!(
        "{name}: {} corners in both, median {median:.3} px, 95 % within {p95:.3} px",
        distances.len()
    );
    assert!(
        median <= MEDIAN_PX && p95 <= P95_PX,
        "median {median} px, 95 % within {p95} px"
    );
}

fn opencv(name: &str, paths: &[PathBuf]) -> Value {
    let output = Command::new(outside::python())
        .arg(outside::scripts().join("corners_opencv.py"))
        .args([DEFINITIONS, name])
        .args(paths)
        .output()
        .expect("Python starts");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).expect("the script prints JSON")
}

/// Corners as the script prints them: index, x, y.
fn points(list: &Value) -> Vec<(u32, Vec2)> {
    let number = |v: &Value| v.as_f64().expect("a number");
    list.as_array()
        .expect("a list")
        .iter()
        .map(|c| (number(&c[0]) as u32, Vec2::new(number(&c[1]), number(&c[2]))))
        .collect()
}

fn ours(name: &str, path: &Path) -> Vec<(u32, Vec2)> {
    let luma = image::open(path).expect("a readable picture").into_luma8();
    let (w, h) = luma.dimensions();
    let picture = GreyPicture::new(w as usize, h as usize, luma.into_raw()).expect("as many bytes as pixels");
    let targets = TargetSet::built_in();
    let target = targets.by_name(name).expect("a built-in target");
    let tags = find_tags(&picture, &TagParams::default());
    find_target(&picture, &tags, target, &TargetParams::default())
        .map(|found| found.corners.iter().map(|c| (c.index, c.at)).collect())
        .unwrap_or_default()
}
