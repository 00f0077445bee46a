//! A camera profile that does not belong to the photos is noticed, and one that does is not suspected (rendered pictures
//! with known truth, `../shared/data/rendered`).

use shimwright_camera::CameraProfile;
use shimwright_record::{CheckKind, CheckResult, Height, Job, JobPhoto, PrintScale, StatedLength};
use shimwright_tests::rendered::{Truth, number};
use std::collections::BTreeMap;

/// A part job on the bore of the ring: the smallest job there is.
fn job(truth: &Truth, views: &[&str]) -> Job {
    let part = &truth.photo(views[0])["scene"]["parts"][0];
    let axis: Vec<f64> = (0..2).map(|k| number(&part["axis_point_W"][k])).collect();
    let top = number(&part["top_plane_z_W"]);
    let marks = |id: &str| -> Vec<[f64; 2]> {
        [0.4f64, 2.4, 4.4]
            .map(|angle| {
                truth.project(
                    id,
                    &[axis[0] + 5.3 * angle.cos(), axis[1] + 5.3 * angle.sin(), top],
                )
            })
            .to_vec()
    };
    let photo = |(i, id): (usize, &&str)| JobPhoto {
        file: format!("{id}.jpg"),
        marks: if i == 0 {
            BTreeMap::from([("inner".to_owned(), marks(id))])
        } else {
            BTreeMap::new()
        },
    };
    Job {
        photos: views.iter().enumerate().map(photo).collect(),
        print_scale: Some(PrintScale {
            x: 1.0,
            y: 1.0,
            u95: 0.001,
        }),
        drive: Some(serde_json::from_str(r#"{"rim_chamfer": 0.2}"#).expect("a drive")),
        height: Some(Height::All(StatedLength { value: 6.0, u95: 0.2 })),
        ..Job::of(CheckKind::Part)
    }
}

fn measured(truth: &Truth, views: &[&str], change: impl Fn(&mut CameraProfile)) -> CheckResult {
    let mut profile = CameraProfile::from_json(&truth.camera_profile()).expect("a profile");
    change(&mut profile);
    truth
        .measure_by(&job(truth, views), Some(&profile))
        .expect("a result")
}

fn suspected(result: &CheckResult) -> Option<&str> {
    result
        .warnings
        .iter()
        .find(|w| w.contains("profile does not fit"))
        .map(|w| w.as_str())
}

#[test]
fn the_right_profile_is_not_suspected() {
    let Some(truth) = Truth::load() else { return };
    for views in [&["p1_v1", "p1_v2", "p1_v3"][..], &["p1_v2"], &["p1_v3"]] {
        let result = measured(&truth, views, |_| {});
        assert_eq!(suspected(&result), None, "{views:?}");
        // Refocusing moves the focal length by some tenths of a percent.
        let refocused = measured(&truth, views, |profile| {
            profile.camera.intrinsics[0] *= 1.003;
            profile.camera.intrinsics[1] *= 1.003;
        });
        assert_eq!(suspected(&refocused), None, "{views:?}");
    }
}

#[test]
fn a_wrong_profile_is_named() {
    let Some(truth) = Truth::load() else { return };
    let views = ["p1_v1", "p1_v2", "p1_v3"];
    let longer = measured(&truth, &views, |profile| {
        profile.camera.intrinsics[0] *= 1.02;
        profile.camera.intrinsics[1] *= 1.02;
    });
    let told = suspected(&longer).expect("a focal length that is 2 % off shows");
    println!("{told}");
    assert!(
        told.contains("-2.0 % off") || told.contains("-1.9 % off"),
        "{told}"
    );
    let bent = measured(&truth, &views, |profile| profile.camera.intrinsics[4] += 0.1);
    let told = suspected(&bent).expect("another distortion shows");
    assert!(told.contains("another distortion"), "{told}");
}
