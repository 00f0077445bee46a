//! Camera calibration: a job of bench-sheet photos, and the profile file made from its result.

use crate::bridge::Failure;
use crate::job_file::{LoadedJob, LoadedPhoto};
use shimwright_camera::{Camera, CameraProfile, INTRINSICS};
use shimwright_record::{CheckKind, CheckResult, Job, JobPhoto, JobTargets};

/// The names of a camera check's values, in the profile's order; a lens without the last one is held at zero there.
const VALUES: [&str; INTRINSICS] = ["fx", "fy", "cx", "cy", "k1", "k2", "p1", "p2", "k3"];
/// The value that may be absent.
const OPTIONAL: &str = "k3";

/// A calibration job from photos of the bench sheet.
///
/// # Errors
/// Bad input: two photos with the same content, or photos of different sizes.
pub fn calibration_job(photos: Vec<LoadedPhoto>) -> Result<LoadedJob, Failure> {
    if let Some([first, other]) = photos.windows(2).find_map(|pair| match pair {
        [a, b] if (a.facts.width, a.facts.height) != (b.facts.width, b.facts.height) => Some([a, b]),
        _ => None,
    }) {
        return Err(Failure::bad_input(
            format!("{} and {} have different sizes", first.name, other.name),
            "use photos of one camera at one setting",
        )
        .about(&other.name));
    }
    let job = Job {
        check: CheckKind::Camera,
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
        print_scale: None,
        camera: None,
        drive: None,
        height: None,
    };
    LoadedJob::new(job, photos, None)
}

/// The profile that a calibration's result makes for the camera of its photos.
///
/// # Errors
/// An internal failure when the result lacks a value, or is of another check.
pub fn camera_profile(result: &CheckResult, photos: &[LoadedPhoto]) -> Result<CameraProfile, Failure> {
    let Some(first) = photos.first() else {
        return Err(Failure::bad_input(
            "there is no photo to calibrate from",
            "name a dozen photos of the bench sheet",
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
            None => return Err(Failure::internal(format!("the calibration gave no `{name}`"))),
        }
    }
    Ok(CameraProfile {
        camera: Camera {
            width: first.facts.width,
            height: first.facts.height,
            intrinsics,
        },
        sigma,
        make: first.facts.make.clone().unwrap_or_default(),
        model: first.facts.model.clone().unwrap_or_default(),
    })
}
