//! Measures a job from photos in memory, as the tests of every check do.

use shimwright_camera::CameraProfile;
use shimwright_measure::{Error, JobInput, PhotoInput, Silent, run};
use shimwright_record::{CheckResult, Job};
use shimwright_target::TargetSet;

/// Measures a job whose photos' bytes are given in its order, with the built-in targets.
///
/// # Errors
/// The engine's own.
pub fn measured(job: &Job, bytes: &[Vec<u8>], camera: Option<&CameraProfile>) -> Result<CheckResult, Error> {
    with_input(job, bytes, camera, |input| run(input, &Silent))
}

/// Lets the engine work on a job whose photos' bytes are given in its order, with the built-in targets.
pub fn with_input<T>(
    job: &Job,
    bytes: &[Vec<u8>],
    camera: Option<&CameraProfile>,
    work: impl FnOnce(&JobInput) -> T,
) -> T {
    let photos: Vec<_> = job
        .photos
        .iter()
        .zip(bytes)
        .map(|(photo, bytes)| PhotoInput {
            name: &photo.file,
            bytes,
        })
        .collect();
    let input = JobInput {
        job,
        photos: &photos,
        targets: &TargetSet::built_in(),
        camera,
    };
    work(&input)
}
