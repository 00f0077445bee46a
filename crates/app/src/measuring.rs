//! Running the engine: progress, cancelling, and the definitions of the printed targets.

use crate::bridge::{Failure, ProgressNote};
use crate::job_file::LoadedJob;
use shimwright_measure::{JobInput, PhotoInput, SoundInput, Watch};
use shimwright_record::{CheckResult, Phrase, Proposal};
use shimwright_target::TargetSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A way to stop a running measurement.
#[derive(Clone, Debug, Default)]
pub struct Cancel(Arc<AtomicBool>);

impl Cancel {
    /// Stops it at its next step.
    pub fn cancel(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether it was stopped.
    pub fn is_cancelled(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

struct Told<'a> {
    progress: &'a (dyn Fn(ProgressNote) + Sync),
    cancel: &'a Cancel,
}

impl Watch for Told<'_> {
    fn step(&self, what: Phrase, done: f64) {
        (self.progress)(ProgressNote {
            step: what,
            done: done.clamp(0.0, 1.0),
        });
    }

    fn cancelled(&self) -> bool {
        self.cancel.is_cancelled()
    }
}

/// Measures a loaded job on this thread and on as many others as there are cores.
///
/// # Errors
/// As the engine says: bad input, not measurable, or cancelled.
pub fn measure_job(
    loaded: &LoadedJob,
    targets: &TargetSet,
    progress: &(dyn Fn(ProgressNote) + Sync),
    cancel: &Cancel,
) -> Result<CheckResult, Failure> {
    let watch = Told { progress, cancel };
    if let Some(sound) = &loaded.sound {
        let input = SoundInput {
            name: &sound.name,
            bytes: &sound.bytes,
        };
        return Ok(shimwright_measure::measure_tension(&loaded.job, &input, &watch)?);
    }
    let photos = loaded.inputs();
    let mut result = shimwright_measure::run(&input(loaded, &photos, targets), &watch)?;
    result.warnings.extend(loaded.notes.iter().cloned());
    Ok(result)
}

/// Finds the edges of a loaded gap job without marks, for somebody to confirm; threads as for [`measure_job`].
///
/// # Errors
/// As the engine says: bad input, not to be found, or cancelled.
pub fn propose_for(
    loaded: &LoadedJob,
    targets: &TargetSet,
    progress: &(dyn Fn(ProgressNote) + Sync),
    cancel: &Cancel,
) -> Result<Proposal, Failure> {
    let photos = loaded.inputs();
    let watch = Told { progress, cancel };
    Ok(shimwright_measure::propose(
        &input(loaded, &photos, targets),
        &watch,
    )?)
}

fn input<'a>(loaded: &'a LoadedJob, photos: &'a [PhotoInput<'a>], targets: &'a TargetSet) -> JobInput<'a> {
    JobInput {
        job: &loaded.job,
        photos,
        targets,
        camera: loaded.camera.as_ref(),
    }
}
