//! The play check: the wheel pushed and pulled by hand, the hub ring's place against the mount card in each photo.
//!
//! No axis can be turned out here, so the hub ring's own normal stands for it.

mod result;

use crate::observe::observe_all;
use crate::turn::{Problem, start};
use crate::{Error, JobInput, Watch};
use shimwright_record::CheckResult;
use shimwright_say::say;
use shimwright_solve::{Options, TurnProblem, TurnSolution};

/// Fewest photos: one pushed, one pulled.
const FEWEST_PHOTOS: usize = 2;
/// Standard deviations of the wheel's place beforehand: wide enough for anything that holds together (mm, mm, rad).
const LOOSE: [f64; 3] = [10.0, 10.0, 0.3];

/// Poses of the ring in all photos, solved together.
struct Measured<'a> {
    joint: TurnProblem<'a>,
    solution: TurnSolution,
    start: &'a start::Start,
}

/// Measures a play job.
pub(crate) fn measure(input: &JobInput, watch: &dyn Watch) -> Result<CheckResult, Error> {
    let problem = Problem::of(
        input,
        FEWEST_PHOTOS,
        say!("take one with the wheel pushed and one with it pulled"),
    )?;
    watch.step(say!("reading the photos"), 0.0);
    let photos = observe_all(input, watch)?;
    problem.check_photos(&photos)?;
    watch.step(say!("solving for the wheel's places"), 0.7);
    if watch.cancelled() {
        return Err(Error::cancelled());
    }
    let mut start = start::placed(&problem, &photos, input, FEWEST_PHOTOS)?;
    start.priors.hold_axis = true;
    start.priors.wobble_sigma = LOOSE;
    let joint = TurnProblem {
        wobbles: true,
        ..start.joint(&problem, &[], &start.state)
    };
    let solution = joint
        .solve(start.state.clone(), &Options::default())
        .map_err(|error| {
            Error::unmeasurable(
                None,
                say!("card and ring do not fit together ({error})"),
                say!("take the photos again with both targets whole in view"),
            )
        })?;
    let measured = Measured {
        joint,
        solution,
        start: &start,
    };
    let result = result::tell(&problem, &photos, &measured)?;
    watch.step(say!("done"), 1.0);
    Ok(result)
}
