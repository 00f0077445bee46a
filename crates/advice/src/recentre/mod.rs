//! Re-centring a pulley on its hub: from the eccentricity of a turn check to a push told by screws.
//!
//! The story in order: [`case`] checks the question; [`decide`] says whether to push, to stop or to do something else
//! first; [`screws`] tells directions by the screws that a person sees; [`words`] puts it in words, [`picture`] draws it and
//! [`svg`] writes the drawing.
//! Afterwards somebody measures again and asks again, with the earlier measurements: that is the loop, and its end.

mod case;
mod decide;
mod picture;
mod screws;
mod svg;
mod warnings;
mod words;

use crate::Error;
use crate::bolt::passes;
use crate::torque_table::{PULLEY_SCREWS, check_torque_table, torque_entry};
use case::Case;
use decide::{Decision, PUSH_U95, decide};
use shimwright_record::conformity::COVERAGE_95;
use shimwright_record::{
    Push, Quantity, RecentreAdvice, RecentreQuestion, ScrewCircle, TorqueEntry, TorqueTable,
};

/// Which way and how far to push a pulley so that it runs true, how to tighten it, and when to stop.
///
/// Numbers are told by the screws: screw 1 is the marked one, the others follow clockwise, seen from the hub ring's
/// printed side. Pushing is advised when the eccentricity is more likely above its limit than not and a push can be
/// expected to leave less; it ends when the limit is kept with 95 % confidence (ISO 14253-1), when the pulley does not go
/// where it is pushed, or after three pushes.
///
/// # Errors
/// [`Error::NoScrew1`] when a direction must be told and nobody said where screw 1 is, and others for questions that cannot
/// be asked.
pub fn recentre(question: &RecentreQuestion, torques: &TorqueTable) -> Result<RecentreAdvice, Error> {
    let case = Case::new(question)?;
    check_torque_table(torques, question.drive.description.as_ref())?;
    let entry = torque_entry(torques, question.drive.description.as_ref(), PULLEY_SCREWS);
    let decision = decide(&case);
    let push = match decision {
        Decision::Push => Some(push(&case)?),
        _ => None,
    };
    let loosens = matches!(decision, Decision::Push | Decision::FaceFirst);
    let tightening = if loosens {
        passes(
            case.description.pulley_screws,
            entry.as_ref().and_then(|entry| entry.torque),
        )
    } else {
        Vec::new()
    };
    let told = Told {
        decision,
        push: push.as_ref(),
        entry: entry.as_ref(),
        tightening: &tightening,
    };
    let drawing = picture::drawing(&case, &told);
    Ok(RecentreAdvice {
        decision: decision.told(),
        // Few pushes are ever made.
        round: question.earlier.len() as u32 + 1,
        now: question.now.clone(),
        limit: case.limit(),
        screws: case.screws.map(|screws| ScrewCircle {
            count: screws.count,
            first: screws.first,
        }),
        radial_runout: Quantity {
            value: 2.0 * question.now.size.value,
            u95: 2.0 * question.now.size.u95,
            unit: "mm".to_owned(),
        },
        kept: case.against_limit().1,
        picture: svg::svg(&drawing),
        drawing,
        guidance: words::guidance(&case, &told),
        push,
        tightening,
    })
}

/// What was decided, with what goes with it.
struct Told<'a> {
    decision: Decision,
    push: Option<&'a Push>,
    entry: Option<&'a TorqueEntry>,
    tightening: &'a [shimwright_record::TighteningPass],
}

fn push(case: &Case) -> Result<Push, Error> {
    let screws = case.screws.ok_or(Error::NoScrew1)?;
    // The pulley stands out towards the eccentricity, so that is the side to push on.
    let (from, toward) = screws.across(case.now.direction());
    let size = case.now.size();
    Ok(Push {
        distance: Quantity {
            value: size,
            u95: (case.now.u * COVERAGE_95).hypot(PUSH_U95),
            unit: "mm".to_owned(),
        },
        from,
        toward,
        direction_u95: (case.now.u * COVERAGE_95).atan2(size).to_degrees(),
    })
}
