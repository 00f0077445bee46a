//! The alignment check: how far the wheel's pulley and the motor's stand out of line, and by how much their axes are turned
//! against each other.
//!
//! The marked edges of both pulleys are circles in space, solved for together with the poses, the lens and the print scale of
//! the card. Faces lie in the circles' planes, a chamfer's leg further out; a pulley's mid-plane lies halfway between its two
//! faces, or half its stated width from the one that was marked.
//!
//! Marks: `driven_inner`, `driven_outer`, `motor_inner`, `motor_outer`, three or more points along the visible arc of each
//! edge in two or more photos: inner is towards the mount. At least one pulley needs both, which tells which way is outboard.

mod agree;
mod budget;
mod problem;
mod pulleys;
mod result;
mod seek;
mod start;
mod steps;

use crate::observe::observe_all;
use crate::scene::Scene;
use crate::{Error, JobInput, Watch, watch};
use problem::Problem;
use shimwright_record::CheckResult;
use shimwright_say::say;

/// Measures an alignment job.
pub(crate) fn measure(input: &JobInput, watch: &dyn Watch) -> Result<CheckResult, Error> {
    let (problem, setting) = Problem::check(input)?;
    watch.step(say!("reading the photos"), 0.0);
    let photos = observe_all(input, watch)?;
    problem.check_marks(&photos)?;
    let pause = |what, done| watch::pause(watch, what, done);
    pause(say!("solving for the camera's places"), 0.6)?;
    let scene = Scene::solve(setting, &photos, input)?;
    pause(say!("finding the marked edges"), 0.65)?;
    let marked = start::from_marks(&problem, &scene)?;
    let found = seek::edges(&problem, &scene, &photos, &marked)?;
    pause(say!("measuring the edges"), 0.75)?;
    let measured = steps::measure(&problem, &scene, &photos, &found)?;
    agree::check(&problem, &scene, &photos, &measured)?;
    pause(say!("working out the uncertainty"), 0.95)?;
    let result = result::tell(&problem, &scene, &photos, &measured)?;
    watch.step(say!("done"), 1.0);
    Ok(result)
}
