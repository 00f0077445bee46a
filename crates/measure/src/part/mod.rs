//! The part check: sizes of a loose ring, pulley or bar that lies on the bench sheet.
//!
//! The part's upper edges are curves above the sheet: rims as 3D circles, straight edges as 3D lines, solved for
//! together with the poses, the lens and the print scale. A part as high as a coin's width above the sheet looks larger
//! than the squares under it, so its height counts: two or more photos solve for it, one photo needs it stated.
//!
//! Marks: `outer` and `inner`, three or more points around a rim; `edge_a` and `edge_b`, two or more points along each of
//! two parallel straight edges at one height. Values: `outer_diameter`, `inner_diameter`, `width`, `centre_offset`, and
//! `height`, that of the upper face above the sheet. The diameter of a chamfered part is that of the wall below the
//! chamfer; that of a toothed pulley is its tip circle.

mod agree;
mod problem;
mod result;
mod steps;
mod values;

use crate::observe::observe_all;
use crate::scene::Scene;
use crate::{Error, JobInput, Watch, watch};
use problem::Problem;
use shimwright_record::CheckResult;
use shimwright_say::say;

/// Measures a part job.
pub(crate) fn measure(input: &JobInput, watch: &dyn Watch) -> Result<CheckResult, Error> {
    let (problem, setting) = Problem::check(input)?;
    watch.step(say!("reading the photos"), 0.0);
    let photos = observe_all(input, watch)?;
    problem.check_marks(&photos)?;
    let pause = |what, done| watch::pause(watch, what, done);
    pause(say!("solving for the camera's places"), 0.6)?;
    let scene = Scene::solve(setting, &photos, input)?;
    pause(say!("finding the marked edges"), 0.65)?;
    let found = steps::find(&problem, &scene, &photos)?;
    pause(say!("measuring the edges"), 0.75)?;
    let measured = steps::measure(&problem, &scene, &photos, &found)?;
    agree::check(&problem, &scene, &photos, &measured)?;
    pause(say!("working out the uncertainty"), 0.95)?;
    let result = result::tell(&problem, &scene, &photos, &measured)?;
    watch.step(say!("done"), 1.0);
    Ok(result)
}
