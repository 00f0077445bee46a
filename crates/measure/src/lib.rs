//! Measuring jobs: from the bytes of photos and a job to a result with its uncertainty.
//!
//! Knows nothing of files, databases, windows or clocks: a shell reads the files and hands in their bytes.
//! One folder a job, each with its problem (what is asked and checked), its steps, and how the result is told.

mod alignment;
mod asked;
mod camera;
mod cameras;
mod chamfer_light;
mod error;
mod gap;
mod observe;
mod outline;
mod part;
mod play;
mod scene;
mod stale;
mod target_seen;
mod tension;
mod told;
mod trials;
mod turn;
mod watch;

pub use error::{Error, Kind};
pub use observe::{FoundInPhoto, find_in, look_at, open};
pub use tension::{SoundInput, measure_tension, read_recording};
pub use watch::{Silent, Watch};

use shimwright_camera::CameraProfile;
use shimwright_record::{CheckKind, CheckResult, Job, Proposal};
use shimwright_say::say;
use shimwright_target::TargetSet;

/// A photo of a job: its name for messages and its bytes as the camera wrote them.
#[derive(Clone, Copy, Debug)]
pub struct PhotoInput<'a> {
    /// Name as the job gives it.
    pub name: &'a str,
    /// The file's bytes.
    pub bytes: &'a [u8],
}

/// Everything a measurement needs.
#[derive(Clone, Copy, Debug)]
pub struct JobInput<'a> {
    /// The job.
    pub job: &'a Job,
    /// Its photos, in the job's order.
    pub photos: &'a [PhotoInput<'a>],
    /// Definitions of the printed targets.
    pub targets: &'a TargetSet,
    /// Profile of the camera, when there is one.
    pub camera: Option<&'a CameraProfile>,
}

/// Measures a job of any kind that is seen in photos; [`measure_tension`] is for the one that is heard.
///
/// # Errors
/// [`Error`] says whether the input is bad, the photos do not allow the measurement, or the user cancelled.
pub fn run(input: &JobInput, watch: &dyn Watch) -> Result<CheckResult, Error> {
    if !matches!(input.job.check, CheckKind::Gap | CheckKind::Turn) {
        refuse_trials(input.job)?;
    }
    match input.job.check {
        CheckKind::Gap => gap::measure(input, watch),
        CheckKind::Part => part::measure(input, watch),
        CheckKind::Camera => camera::measure(input, watch),
        CheckKind::Turn => turn::measure(input, watch),
        CheckKind::Play => play::measure(input, watch),
        CheckKind::Alignment => alignment::measure(input, watch),
        CheckKind::Tension => Err(Error::heard()),
    }
}

/// Finds the edges of a gap job without marks, by the card's place and the rim's diameter, for somebody to confirm.
///
/// # Errors
/// As [`run`]; bad input as well when the job is of another kind or states no rim diameter.
pub fn propose(input: &JobInput, watch: &dyn Watch) -> Result<Proposal, Error> {
    if input.job.check != CheckKind::Gap {
        return Err(Error::bad(
            Some("check"),
            say!("edges are proposed for a gap job only"),
            say!("mark the edges of this job by hand"),
        ));
    }
    gap::propose(input, watch)
}

/// Refuses trials of the uncertainty in a job of a kind that makes none.
fn refuse_trials(job: &Job) -> Result<(), Error> {
    if job.trials.is_none() {
        return Ok(());
    }
    Err(Error::bad(
        Some("trials"),
        say!("trials of the uncertainty are made for a gap job and for a turn job with a hub ring only"),
        say!("leave `trials` out of this job"),
    ))
}
