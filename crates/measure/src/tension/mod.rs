//! The tension check: the sound of a plucked span to the tension of the belt.

mod problem;
mod result;
mod verdict;

use crate::{Error, Watch};
use problem::Problem;
use shimwright_record::{CheckResult, Job};
use shimwright_say::say;
use shimwright_sound::{Limits, Recording, listen};

/// A recording for a tension job: its name for messages and its bytes.
#[derive(Clone, Copy, Debug)]
pub struct SoundInput<'a> {
    /// Name as the job gives it.
    pub name: &'a str,
    /// The WAV file's bytes.
    pub bytes: &'a [u8],
}

/// Measures a tension job.
///
/// # Errors
/// Bad input when job or recording are wrong; not measurable when no pitch is clear; cancelled.
pub fn measure_tension(job: &Job, sound: &SoundInput, watch: &dyn Watch) -> Result<CheckResult, Error> {
    let problem = Problem::check(job)?;
    watch.step(say!("reading the recording"), 0.0);
    let recording = read_recording(sound)?;
    watch.step(say!("listening for the plucks"), 0.2);
    if watch.cancelled() {
        return Err(Error::cancelled());
    }
    let heard = listen(&recording).map_err(|unclear| {
        let (message, hint) = unclear.halves();
        let hint = hint.unwrap_or_else(|| say!("record it again"));
        Error::unmeasurable(Some(sound.name), say!("{}: {message}", sound.name), hint)
    })?;
    let result = result::tell(&problem, &recording, &heard);
    watch.step(say!("done"), 1.0);
    Ok(result)
}

/// Reads a recording and checks that it can be listened to.
///
/// # Errors
/// Bad input: no WAV file, or one that is cut short, too long or too short.
pub fn read_recording(sound: &SoundInput) -> Result<Recording, Error> {
    Recording::from_wav(sound.bytes, &Limits::default()).map_err(|error| {
        let (message, hint) = error.halves();
        let hint = hint.unwrap_or_else(|| say!("record the pluck again"));
        Error::bad(Some(sound.name), say!("{}: {message}", sound.name), hint)
    })
}
