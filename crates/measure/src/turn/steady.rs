//! Whether the wheel turned about one axis: bearing play, a ring or a card that came loose.

use super::problem::Problem;
use super::start::Start;
use crate::Error;
use crate::observe::Observed;
use shimwright_record::Phrase;
use shimwright_say::say;
use shimwright_solve::{Loose, Slip, Standing, Steadiness, steadiness};

/// A slip must explain this much of chi-squared: far beyond what the search over all photos finds in noise (its five
/// numbers make 30 once in thousands of sound jobs).
const SLIP_EXPLAINS: f64 = 60.0;
/// Share of what noise does not explain that one slip must explain; else it is play.
const SLIP_SHARE: f64 = 0.6;
/// Slips and play below these change no result much: shift in mm, lean in rad.
const LEAST_SHIFT: f64 = 0.03;
const LEAST_LEAN: f64 = 0.001;
/// Play beyond which one axis means nothing, mm and rad.
const MOST_SHIFT: f64 = 0.5;
const MOST_LEAN: f64 = 0.015;

/// What is told of the wheel's steadiness.
pub(crate) struct Steady {
    /// Factor by which the scatter of the targets' poses exceeds what their corners' noise makes; at least 1.
    pub spread: f64,
    /// What to tell the user.
    pub warning: Option<Phrase>,
}

/// Judges the photos; refuses a slip, and play that leaves no axis.
pub(crate) fn check(problem: &Problem, photos: &[Observed], start: &Start) -> Result<Steady, Error> {
    let joint = start.joint(problem, &[], &start.state);
    let standings: Result<Vec<Standing>, _> = (0..start.used.len())
        .map(|photo| Standing::of(&joint, &start.state, photo))
        .collect();
    let standings = standings.map_err(|error| {
        Error::unmeasurable(
            None,
            say!("how the wheel stands in single photos cannot be solved ({error})"),
            say!("take the photos again with both targets whole in view"),
        )
    })?;
    let Some(found) = steadiness(&standings) else {
        return Ok(Steady {
            spread: 1.0,
            warning: None,
        });
    };
    let spread = (found.misfit / found.freedom).max(1.0).sqrt();
    if found.is_noise() {
        return Ok(Steady {
            spread,
            warning: None,
        });
    }
    if let Some(slip) = found.slip.filter(|slip| is_slip(&found, slip)) {
        return Err(slipped(problem, photos, start, &slip));
    }
    let size = say!(
        "by about {:.2} mm across the axis, {:.2} mm along it and {:.2} degrees of lean",
        found.across,
        found.along,
        found.lean.to_degrees()
    );
    if found.across > MOST_SHIFT || found.lean > MOST_LEAN {
        return Err(Error::unmeasurable(
            None,
            say!("the wheel does not turn about one axis: it stands off it {size}"),
            say!(
                "check the bearings for play, that the ring is stuck fast and that the card did not move; then take the \
             photos again without leaning on the wheel"
            ),
        ));
    }
    let matters = found.across > LEAST_SHIFT || found.lean > LEAST_LEAN;
    Ok(Steady {
        spread,
        warning: matters.then(|| {
            say!(
                "the photos do not quite share one turning axis; the wheel stands off it {size}: bearing play, a ring \
                 that is not stuck fast, or a card that moves; do a play check"
            )
        }),
    })
}

fn is_slip(found: &Steadiness, slip: &Slip) -> bool {
    let unexplained = found.misfit - found.freedom;
    slip.explains > SLIP_EXPLAINS
        && slip.explains > SLIP_SHARE * unexplained
        && (slip.shift > LEAST_SHIFT || slip.lean > LEAST_LEAN)
}

fn slipped(problem: &Problem, photos: &[Observed], start: &Start, slip: &Slip) -> Error {
    let name = |k: usize| &photos[start.used[k]].name;
    let (target, hint) = match slip.what {
        Loose::Turning => (
            &problem.turning.0,
            say!("stick the ring fast to the wheel and take all photos again"),
        ),
        Loose::Fixed => (
            &problem.fixed.0,
            say!(
                "stick the card fast to a part that stands still, do not touch it, and take all photos again"
            ),
        ),
    };
    Error::unmeasurable(
        Some(name(slip.from)),
        say!(
            "the {target} slipped by about {:.2} mm between {} and {}",
            slip.shift,
            name(slip.from - 1),
            name(slip.from)
        ),
        hint,
    )
}
