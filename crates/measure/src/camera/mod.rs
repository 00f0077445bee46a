//! The camera check: a calibration from photos of the bench sheet.
//!
//! The camera is that of the stored picture, as the sensor writes it: photos may be held upright or across, and a
//! profile made here serves both.

mod coverage;
mod problem;
mod result;
mod steps;
mod stored;

use crate::observe::observe_all;
use crate::{Error, JobInput, Watch};
use problem::Problem;
use shimwright_record::CheckResult;
use shimwright_say::say;

/// Calibrates a camera.
pub(crate) fn measure(input: &JobInput, watch: &dyn Watch) -> Result<CheckResult, Error> {
    let problem = Problem::check(input)?;
    watch.step(say!("reading the photos"), 0.0);
    let photos = observe_all(input, watch)?;
    let views = steps::views(&problem, &photos)?;
    watch.step(say!("solving for the lens"), 0.7);
    if watch.cancelled() {
        return Err(Error::cancelled());
    }
    let solved = steps::solve(&problem, &views)?;
    let result = result::tell(&photos, &views, &solved);
    watch.step(say!("done"), 1.0);
    Ok(result)
}
