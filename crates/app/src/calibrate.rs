//! Camera calibration: a job of bench-sheet photos, and the profile file made from its result.

use crate::bridge::Failure;
use crate::job_file::{LoadedJob, LoadedPhoto};
use shimwright_camera::{Camera, CameraProfile, INTRINSICS};
use shimwright_record::{CheckKind, CheckResult, Job, JobPhoto, JobTargets};
use shimwright_say::say;

/// The names of a camera check's values, in the profile's order; a lens without the last one is held at zero there.
const VALUES: [&str; INTRINSICS] = ["fx", "fy", "cx", "cy", "k1", "k2", "p1", "p2", "k3"];
/// The value that may be absent.
const OPTIONAL: &str = "k3";

/// A calibration job from photos of the bench sheet.
///
/// # Errors
/// Bad input: two photos with the same content.
pub fn calibration_job(photos: Vec<LoadedPhoto>) -> Result<LoadedJob, Failure> {
    let job = Job {
        photos: photos
            .iter()
            .map(|photo| JobPhoto {
                file: photo.name.clone(),
                marks: Default::default(),
            })
            .collect(),
        targets: Some(JobTargets {
            fixed: Some("bench-sheet".into()),
            turning: None,
        }),
        ..Job::of(CheckKind::Camera)
    };
    LoadedJob::new(job, photos, None)
}

/// The profile that a calibration's result makes for the camera of its photos, for pictures as that camera stores
/// them.
///
/// # Errors
/// An internal failure when the result lacks a value, or is of another check.
pub fn camera_profile(result: &CheckResult, photos: &[LoadedPhoto]) -> Result<CameraProfile, Failure> {
    let Some(first) = photos.first() else {
        return Err(Failure::bad_input(
            say!("there is no photo to calibrate from"),
            say!("name a dozen photos of the bench sheet"),
        ));
    };
    let mut intrinsics = [0.0; INTRINSICS];
    let mut sigma = [0.0; INTRINSICS];
    for (i, name) in VALUES.into_iter().enumerate() {
        match result.quantity(name) {
            Some(quantity) => {
                intrinsics[i] = quantity.value;
                sigma[i] = quantity.u95 / 1.96;
            }
            None if name == OPTIONAL => {}
            None => return Err(Failure::internal(say!("the calibration gave no `{name}`"))),
        }
    }
    Ok(CameraProfile {
        camera: Camera {
            width: first.facts.stored_width,
            height: first.facts.stored_height,
            intrinsics,
        },
        sigma,
        make: first.facts.make.clone().unwrap_or_default(),
        model: first.facts.model.clone().unwrap_or_default(),
        lens: first.facts.lens.clone(),
        focal_mm: first.facts.focal_mm,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_photo::{Format, PhotoFacts};
    use shimwright_record::{Conformity, Phrase, Quantity, Value, Verdict};

    fn photo() -> LoadedPhoto {
        LoadedPhoto {
            name: "a.jpg".into(),
            id: String::new(),
            bytes: Vec::new().into(),
            facts: PhotoFacts {
                make: Some("Larkspur".into()),
                model: Some("L-20".into()),
                lens: None,
                focal_mm: None,
                focal_35mm: None,
                width: 2112,
                height: 2816,
                stored_width: 2816,
                stored_height: 2112,
                orientation: 6,
                taken: None,
                has_gps: false,
                format: Format::Jpeg,
            },
        }
    }

    fn result(names: &[&str]) -> CheckResult {
        let value = |i: usize| Quantity {
            value: 2000.0 / (i + 1) as f64,
            u95: 1.96 * i as f64,
            unit: "px".into(),
        };
        CheckResult {
            check: CheckKind::Camera,
            values: names
                .iter()
                .enumerate()
                .map(|(i, name)| ((*name).to_owned(), Value::One(value(i))))
                .collect(),
            verdict: Verdict {
                state: Conformity::Within,
                text: Phrase::foreign(""),
                limit: 0.3,
                probability: 1.0,
            },
            budget: vec![],
            photos: vec![],
            warnings: vec![],
        }
    }

    /// The photo was turned to stand upright; the profile is for the picture as it lies in the file.
    #[test]
    fn a_profile_is_of_the_stored_picture() {
        let profile = camera_profile(&result(&VALUES[..8]), &[photo()]).unwrap();
        assert_eq!((profile.camera.width, profile.camera.height), (2816, 2112));
        assert_eq!(profile.camera.intrinsics[..2], [2000.0, 1000.0]);
        assert_eq!(profile.camera.intrinsics[8], 0.0);
        assert!((profile.sigma[7] - 7.0).abs() < 1e-12 && profile.sigma[8] == 0.0);
        assert_eq!(
            (profile.make.as_str(), profile.model.as_str()),
            ("Larkspur", "L-20")
        );
    }

    #[test]
    fn a_missing_value_is_named() {
        let failure = camera_profile(&result(&VALUES[..7]), &[photo()]).unwrap_err();
        assert!(failure.message.contains("`p2`"), "{}", failure.message);
    }
}
