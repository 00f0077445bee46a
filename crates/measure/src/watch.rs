//! Progress and cancelling.

use crate::Error;
use shimwright_record::Phrase;

/// Watches a running measurement.
pub trait Watch: Sync {
    /// Called as the work goes on: what is being done, and the share done, 0 to 1.
    fn step(&self, what: Phrase, done: f64);
    /// Asked between steps; true stops the work.
    fn cancelled(&self) -> bool;
}

/// Tells a step, and ends the work when it was cancelled.
///
/// # Errors
/// Cancelled.
pub(crate) fn pause(watch: &dyn Watch, what: Phrase, done: f64) -> Result<(), Error> {
    watch.step(what, done);
    if watch.cancelled() {
        Err(Error::cancelled())
    } else {
        Ok(())
    }
}

/// Watches nothing and never cancels.
#[derive(Clone, Copy, Debug, Default)]
pub struct Silent;

impl Watch for Silent {
    fn step(&self, _: Phrase, _: f64) {}
    fn cancelled(&self) -> bool {
        false
    }
}
