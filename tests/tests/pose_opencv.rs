//! Poses of the mount card against OpenCV's solvePnP, from the same corners and the same camera.

use serde_json::{Value, json};
use shimwright_camera::CameraProfile;
use shimwright_measure::{PhotoInput, look_at};
use shimwright_solve::{PlanePoint, pose_of_plane};
use shimwright_target::TargetSet;
use shimwright_tests::outside;
use shimwright_tests::rendered::{Truth, number};

/// Largest distance between the two places of the card's middle, mm, and between the two directions, degrees.
const APART_MM: f64 = 0.05;
const APART_DEG: f64 = 0.02;
/// Middle of the mount card, mm: 8 x 3 squares of 8 mm.
const MIDDLE: [f64; 2] = [32.0, 12.0];

/// The mount card's corners in a photo.
fn corners(truth: &Truth, targets: &TargetSet, id: &str) -> Vec<PlanePoint> {
    let bytes = truth.bytes(id);
    let found = look_at(
        &PhotoInput {
            name: id,
            bytes: &bytes,
        },
        targets,
    )
    .expect("a readable photo");
    let card = found.targets.into_iter().find(|t| t.name == "mount-card");
    let corners = card.expect("the card is in view").corners;
    corners
        .iter()
        .map(|c| PlanePoint {
            place: c.place,
            at: c.at,
            sigma_px: c.sigma_px,
        })
        .collect()
}

#[test]
fn poses_of_the_mount_card_agree() {
    let Some(truth) = Truth::load() else { return };
    if !outside::is_ready(&["cv2", "numpy"], &[]) {
        return;
    }
    let camera = CameraProfile::from_json(&truth.camera_profile())
        .expect("a profile")
        .camera;
    let targets = TargetSet::built_in();
    let photos: Vec<_> = (1..=5)
        .flat_map(|case| (1..=3).map(move |view| format!("g{case}_v{view}")))
        .map(|id| corners(&truth, &targets, &id))
        .collect();
    let rows = |points: &Vec<PlanePoint>| -> Vec<[f64; 4]> {
        points
            .iter()
            .map(|p| [p.place.x, p.place.y, p.at.x, p.at.y])
            .collect()
    };
    let theirs = outside::ask(
        "pose_opencv.py",
        &json!({"intrinsics": camera.intrinsics, "photos": photos.iter().map(rows).collect::<Vec<_>>()}),
    );
    let (mut worst_mm, mut worst_deg) = (0.0f64, 0.0f64);
    for (points, theirs) in photos.iter().zip(theirs.as_array().expect("a list")) {
        // OpenCV weighs all corners alike.
        let alike: Vec<_> = points
            .iter()
            .map(|p| PlanePoint { sigma_px: 1.0, ..*p })
            .collect();
        let ours = pose_of_plane(&camera, &alike).expect("a pose");
        let (mm, deg) = apart(&ours, theirs);
        worst_mm = worst_mm.max(mm);
        worst_deg = worst_deg.max(deg);
    }
    println!(
        "{} photos: at most {worst_mm:.2e} mm and {worst_deg:.2e} degrees apart",
        photos.len()
    );
    assert!(worst_mm <= APART_MM, "{worst_mm} mm");
    assert!(worst_deg <= APART_DEG, "{worst_deg} degrees");
}

/// Distance of the card's middle, mm, and angle between the rotations, degrees.
fn apart(ours: &shimwright_geom::Pose, theirs: &Value) -> (f64, f64) {
    let (rotation, shift) = (ours.rotation(), ours.translation());
    let (mut squares, mut trace) = (0.0, 0.0);
    for i in 0..3 {
        let mut d = shift[i] - number(&theirs["translation"][i]);
        for j in 0..3 {
            let r = number(&theirs["rotation"][i][j]);
            trace += rotation[(i, j)] * r;
            if j < 2 {
                d += (rotation[(i, j)] - r) * MIDDLE[j];
            }
        }
        squares += d * d;
    }
    let angle = ((trace - 1.0) / 2.0).clamp(-1.0, 1.0).acos();
    (squares.sqrt(), angle.to_degrees())
}
