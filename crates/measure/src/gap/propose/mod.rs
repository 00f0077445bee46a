//! Proposals: both edges of a gap job found without a mark, for somebody to confirm.
//!
//! What is known beforehand is the rim's diameter, and how a card is stuck on: flat beside the gap, its long side along
//! the mount. A circle of that size is looked for beside the card in all photos at once, and then a straight edge before
//! it. Nothing is measured from a proposal: it becomes marks once somebody has looked at it.

mod closer;
mod edge_map;
mod mount;
mod place;
mod rim;
mod search;
mod told;

use super::coarse;
use super::problem::Problem;
use super::start::{self, Start};
use crate::observe::observe_all;
use crate::{Error, JobInput, Watch, target_seen, watch};
use place::Side;
use search::Looked;
use shimwright_record::Proposal;
use shimwright_say::say;

/// Proposes marks for a gap job. Marks that it carries already are not looked at.
pub(crate) fn propose(input: &JobInput, watch: &dyn Watch) -> Result<Proposal, Error> {
    let problem = Problem::read(input)?.without_marks();
    let (Some((radius, _)), Some(diameter)) = (problem.radius(), problem.drive.rim_diameter) else {
        return Err(Error::bad(
            Some("drive.rim_diameter"),
            say!("edges can only be proposed when the rim's diameter is known"),
            say!("give the rim's outer diameter, or mark both edges by hand"),
        ));
    };
    watch.step(say!("reading the photos"), 0.0);
    let photos = observe_all(input, watch)?;
    let pause = |what, done| watch::pause(watch, what, done);
    let proposed = || {
        pause(say!("solving for the camera's places"), 0.6)?;
        let start = start::from_corners(&problem, &photos, input)?;
        several(&start)?;
        coarse::check(&start)?;
        pause(say!("looking for the rim"), 0.65)?;
        let looked = Looked::of(&photos, &start);
        let sides = Side::both(&problem.middle, &problem.half);
        let rim = rim::find(&looked, &photos, &start, &sides, radius);
        let rim = rim.filter(told::worthy).ok_or_else(|| no_rim(diameter))?;
        if rim.other_edge.is_none() {
            return Err(one_edge());
        }
        pause(say!("looking for the mount's edge"), 0.85)?;
        let mount = mount::find(&looked, &photos, &start, &rim);
        Ok(told::proposal(&photos, &start, &rim, mount.as_ref()))
    };
    let proposal = proposed().map_err(|error| target_seen::blamed_on_blur(error, &photos, &problem.fixed))?;
    watch.step(say!("done"), 1.0);
    Ok(proposal)
}

/// Where an edge is in space takes two photos.
fn several(start: &Start) -> Result<(), Error> {
    if start.used.len() > 1 {
        return Ok(());
    }
    Err(Error::unmeasurable(
        None,
        say!("one photo is too little to find edges without marks"),
        say!("add a second photo from another side, or mark both edges by hand"),
    ))
}

fn no_rim(diameter: f64) -> Error {
    Error::unmeasurable(
        None,
        say!("no rim of {diameter:.1} mm diameter is seen clearly beside the card"),
        say!("mark both edges by hand, and check the diameter"),
    )
}

/// The far edge of a flange is the same circle, and may be the only one that stands out.
fn one_edge() -> Error {
    Error::unmeasurable(
        None,
        say!("only one edge of the rim is seen, which may be the one that faces away from the mount"),
        say!("mark both edges by hand"),
    )
}
