//! The turn check: a wheel turned by hand, a handheld photo at each of its angles.
//!
//! The mount card stands still, the hub ring turns. Poses, lens, prints, the axis in both frames, an angle a photo and the
//! rim are solved for together; the rim's centre and plane against the axis are the eccentricity and the run-out. Nothing
//! relies on the ring being centred or square to the axis.

mod photos;
mod problem;
mod result;
mod rim;
mod seek;
mod shade;
mod size;
mod stand;
pub(crate) mod start;
mod steady;
mod trials;
mod vector;

use crate::observe::observe_all;
use crate::{Error, JobInput, Watch, target_seen, watch};
pub(crate) use photos::{SeenInPhotos, photo_lines};
pub(crate) use problem::Problem;
use shimwright_record::CheckResult;
use shimwright_say::say;
pub(crate) use vector::polar;

/// Measures a turn job.
pub(crate) fn measure(input: &JobInput, watch: &dyn Watch) -> Result<CheckResult, Error> {
    if let Some(way) = input.job.drive.as_ref().and_then(|drive| drive.equal_steps) {
        return stand::measure(input, watch, way);
    }
    let problem = Problem::check(input)?;
    watch.step(say!("reading the photos"), 0.0);
    let photos = observe_all(input, watch)?;
    problem.check_photos(&photos)?;
    let pause = |what, done| watch::pause(watch, what, done);
    let measured = || {
        pause(say!("solving for the axis"), 0.6)?;
        let start = start::from_corners(&problem, &photos, input)?;
        let steady = steady::check(&problem, &photos, &start)?;
        pause(say!("finding the rim"), 0.7)?;
        let rough = seek::rim(&problem, &photos, &start)?;
        pause(say!("measuring the rim"), 0.75)?;
        let measured = rim::measure(&problem, &photos, start, rough)?;
        pause(say!("working out the uncertainty"), 0.95)?;
        result::tell(&problem, &photos, &measured, &steady, watch)
    };
    let result =
        measured().map_err(|error| target_seen::blamed_on_blur(error, &photos, &problem.turning.0))?;
    watch.step(say!("done"), 1.0);
    Ok(result)
}
