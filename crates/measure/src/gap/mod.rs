//! The gap check: several handheld views of the mount card, the mount's edge and the rim.
//!
//! The mount's edge is solved for as a 3D line and the rim as a 3D circle, together with the poses, the lens and
//! the print scale; the gap is the distance from the edge to the rim's plane along the axis. No flat homography:
//! card and edges do not lie in one plane.

mod agree;
mod approach;
mod chamfer;
mod coarse;
mod grid;
mod hiding;
mod locate;
mod locate_rim;
mod movable;
mod outcomes;
mod over_turn;
mod pieces;
mod problem;
mod propose;
mod refine;
mod result;
mod rivals;
mod seek;
mod seen;
mod settle;
mod start;
mod tables;
mod trials;
pub(crate) mod view;

pub(crate) use propose::propose;

use crate::observe::observe_all;
use crate::{Error, JobInput, Watch, target_seen, watch};
use problem::Problem;
use shimwright_record::CheckResult;
use shimwright_say::say;

/// Measures a gap job.
pub(crate) fn measure(input: &JobInput, watch: &dyn Watch) -> Result<CheckResult, Error> {
    let problem = Problem::check(input)?;
    watch.step(say!("reading the photos"), 0.0);
    let photos = observe_all(input, watch)?;
    problem.check_marks(&photos)?;
    let pause = |what, done| watch::pause(watch, what, done);
    let measured = || {
        pause(say!("solving for the camera's places"), 0.6)?;
        let start = start::from_corners(&problem, &photos, input)?;
        coarse::check(&start)?;
        pause(say!("finding the marked edges"), 0.65)?;
        let rough = locate::features(&problem, &photos, start)?;
        pause(say!("measuring the edges"), 0.75)?;
        let refined = refine::edges(&problem, &photos, rough)?;
        agree::check(&problem, &photos, &refined)?;
        pause(say!("working out the uncertainty"), 0.95)?;
        result::tell(&problem, &photos, &refined, watch)
    };
    let result = measured().map_err(|error| target_seen::blamed_on_blur(error, &photos, &problem.fixed))?;
    watch.step(say!("done"), 1.0);
    Ok(result)
}
