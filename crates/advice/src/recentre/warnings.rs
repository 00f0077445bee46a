//! What stands in the way of a push: the holes, the boss or jig, the face, the measurement itself.

use super::case::Case;
use crate::wording::{length, quantity, set_length};
use shimwright_record::conformity::COVERAGE_95;
use shimwright_record::{Conformity, Phrase};
use shimwright_say::say;

/// The warnings that a push must carry.
pub(super) fn for_push(case: &Case) -> Vec<Phrase> {
    [
        holes(case),
        register(case),
        axial(case),
        coarse(case),
        assumed(case),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The warnings of any other outcome.
pub(super) fn otherwise(case: &Case) -> Vec<Phrase> {
    [axial(case), coarse(case), assumed(case)]
        .into_iter()
        .flatten()
        .collect()
}

/// In a word for the headline, when the push is more than the holes or the boss give.
pub(super) fn out_of_reach(case: &Case) -> bool {
    let size = case.now.size();
    let register = case.description.register_clearance;
    size > case.hole_play() / 2.0 || register.is_some_and(|play| size > play / 2.0)
}

fn holes(case: &Case) -> Option<Phrase> {
    let (size, play) = (case.now.size(), case.hole_play());
    let drive = &case.description;
    let hole = drive.screw_hole.unwrap_or(drive.screw_size.medium_hole());
    let holes = say!(
        "{} screws in holes of {}",
        drive.screw_size.name(),
        set_length(hole)
    );
    if size > play {
        return Some(say!(
            "The push is more than the screws' holes allow: {holes} go {} from stop to stop. Push until the screws stop it \
             and measure again; what is left is not in the screws but in hub or pulley. Do not file holes; have a \
             qualified workshop look at them.",
            set_length(play)
        ));
    }
    (size > play / 2.0).then(|| {
        say!(
            "The push may end at the screws: {holes} go {} each way from the middle. If it stops early, push no harder; \
             tighten, measure again, and turn the pulley by one screw before the next try.",
            set_length(play / 2.0)
        )
    })
}

fn register(case: &Case) -> Option<Phrase> {
    let play = case.description.register_clearance?;
    let size = case.now.size();
    (size > play / 2.0).then(|| {
        say!(
            "The boss or jig that centres the pulley fights this push: its play of {} on the diameter lets the pulley go {} \
             from the middle, and {} is asked. Find out why the boss itself runs out (dirt, a burr, a bent hub) before you \
             push against it.",
            set_length(play),
            set_length(play / 2.0),
            length(size, case.now.u * COVERAGE_95)
        )
    })
}

fn axial(case: &Case) -> Option<Phrase> {
    let (axial, state) = case.axial()?;
    let limit = set_length(case.axial_limit());
    match state {
        Conformity::Within => None,
        Conformity::Outside => Some(say!(
            "The face runs out by {}, more than the allowed {limit}: uneven tightening, dirt under the pulley, or a bent \
             face.",
            quantity(axial)
        )),
        Conformity::Undecided => Some(say!(
            "The face runs out by {}, too close to the allowed {limit} to call.",
            quantity(axial)
        )),
    }
}

fn coarse(case: &Case) -> Option<Phrase> {
    let (u95, limit) = (case.now.u * COVERAGE_95, case.limit());
    (u95 > limit).then(|| {
        say!(
            "The measurement is known to ± {} only, which is coarser than the limit of {} itself: photos at more wheel angles \
             narrow it.",
            set_length(u95),
            set_length(limit)
        )
    })
}

fn assumed(case: &Case) -> Option<Phrase> {
    case.is_assumed().then(|| {
        say!(
            "The drive has not been described: {} screws of {} in holes of {} and a limit of {} are starting values. Count \
             your screws, and describe the drive before you push.",
            case.description.pulley_screws,
            case.description.screw_size.name(),
            set_length(case.description.screw_size.medium_hole()),
            set_length(case.limit())
        )
    })
}
