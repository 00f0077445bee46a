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

/// Standard deviation by which the scale of a single print differs from that of others of one printer (ours: moisture alone
/// moves paper by as much over 10 % of relative humidity). Card and ring are two prints, each off by its own, so their ratio is off
/// by more.
const OF_A_PRINT: f64 = 0.0005;

/// How often the corners' standard deviations are brought to their scatter: with the weight of the corners against what is
/// known beforehand their residuals change a little.
const ROUNDS: usize = 2;
/// Least share of their stated standard deviations to which corners are believed to scatter: an error that all corners of a
/// target share, or that changes smoothly over it, moves its pose and not its residuals.
const LEAST_SCATTER: f64 = 0.4;

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
    start.priors.own_scale_sigma = OF_A_PRINT * std::f64::consts::SQRT_2;
    if problem.scale_checked {
        // A bar along each axis was measured, and each by itself: what is left of the two errors does not go together.
        start.priors.axes_sigma = None;
    }
    weigh_corners(&problem, &mut start)?;
    let measured = solved(&problem, &start)?;
    let result = result::tell(&problem, &photos, &measured)?;
    watch.step(say!("done"), 1.0);
    Ok(result)
}

/// Brings the corners' standard deviations to their scatter. A corner's own fit does not show what its model leaves out, so a
/// floor made for any picture is in what it states. Here little else decides, because prints, lens and the paper's bend are the
/// same in all photos and cancel in a movement; and the corners are many more than what is solved for.
fn weigh_corners(problem: &Problem, start: &mut start::Start) -> Result<(), Error> {
    let mut factor = 1.0;
    for _ in 0..ROUNDS {
        let before = factor;
        let Measured { joint, solution, .. } = solved(problem, start)?;
        if let Some(scatter) = joint.corner_scatter(&solution) {
            factor = (factor * scatter).max(LEAST_SCATTER);
        }
        start.state = solution.state;
        let corners = start.fixed.iter_mut().chain(&mut start.turning);
        corners.for_each(|corner| *corner = corner.widened(factor / before));
    }
    Ok(())
}

/// Solves for the ring's places with the corners' standard deviations as they are.
fn solved<'a>(problem: &Problem, start: &'a start::Start) -> Result<Measured<'a>, Error> {
    let joint = TurnProblem {
        wobbles: true,
        ..start.joint(problem, &[], &start.state)
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
    Ok(Measured {
        joint,
        solution,
        start,
    })
}
