//! The advice in words.

use super::Told;
use super::case::Case;
use super::decide::{Decision, MOST_PUSHES, PUSH_U95, left_by_a_push};
use super::warnings::{for_push, otherwise, out_of_reach};
use crate::wording::{chance, length, quantity, set_length};
use shimwright_record::conformity::COVERAGE_95;
use shimwright_record::{Cautions, Guidance, Phrase, Push, Quantity, TorqueEntry, TorqueSource, Valued};
use shimwright_say::say;

/// How any work starts.
fn safe_start() -> Phrase {
    say!(
        "Switch the board off, disconnect the battery, and stand the board so that it can neither tip nor roll."
    )
}

/// Puts the advice in words.
pub(super) fn guidance(case: &Case, told: &Told) -> Guidance {
    let notes = match told.decision {
        Decision::Push => for_push(case),
        _ => otherwise(case),
    };
    Guidance::new(headline(case, told), cautions())
        .steps(steps(case, told))
        .notes(notes)
        .basis(basis(case, told.entry))
}

fn cautions() -> Cautions {
    Cautions::for_drive_work()
        .and(say!("Wear eye protection when you loosen stuck screws: clips, chips and old thread locker fly."))
        .and(
            say!("A screw that does not give to a hand tool is thread-locked: stop. Heat and force near tyre, belt and motor \
             are work for a qualified workshop."),
        )
        .and(say!("Push by hand or with a soft clamp, never with a hammer."))
}

fn now(case: &Case) -> Valued {
    length(case.now.size(), case.now.u * COVERAGE_95)
}

fn headline(case: &Case, told: &Told) -> Phrase {
    let (now, limit) = (now(case), set_length(case.limit()));
    match told.decision {
        Decision::Push => match told.push {
            Some(push) => push_headline(case, push),
            None => say!("The pulley stands {now} off centre."),
        },
        Decision::TrueEnough => {
            say!("The pulley runs true enough: {now} off centre, within {limit}. Nothing to push.")
        }
        Decision::FaceFirst => face_headline(case),
        Decision::TooCloseToCall => say!(
            "Do not push again yet: the pulley is {now} off centre, and a push could as well make it worse (chance that \
             the limit of {limit} is kept: {}). Measure once more with photos at more wheel angles, and stop here if it \
             stays like this.",
            chance(case.against_limit().1)
        ),
        Decision::Held { share } => say!(
            "Stop pushing: of the last push only {:.0} in 100 arrived, and the pulley is still {now} off centre. Something \
             holds it: the boss or jig that centres it, a burr, or a screw at the end of its hole.",
            (share * 100.0).max(0.0)
        ),
        Decision::TooManyPushes => say!(
            "Stop pushing: after {} pushes the pulley is still {now} off centre, and the limit is {limit}. Look for what \
             moves it while it is tightened.",
            case.earlier.len()
        ),
    }
}

fn push_headline(case: &Case, push: &Push) -> Phrase {
    let distance = quantity(&push.distance);
    let reach = if out_of_reach(case) {
        say!(" That may be more than screws and seat allow; see the notes first.")
    } else {
        Phrase::foreign("")
    };
    say!(
        "Push from {} toward {}, {distance}, then tighten in star order and measure again.{reach}",
        push.from.name,
        push.toward.name
    )
}

fn face_headline(case: &Case) -> Phrase {
    let axial = case
        .axial()
        .map_or_else(|| Phrase::foreign(""), |(axial, _)| say!("{}", quantity(axial)));
    let place = high_place(case).map_or(Phrase::foreign(""), |place| say!(" It stands out at {place}."));
    say!(
        "Put the face right first: it runs out by {axial}, which is more than the rim does ({}).{place} Loosen the screws, \
         clean both faces, tighten evenly, and measure again before anything is pushed.",
        length(2.0 * case.now.size(), 2.0 * case.now.u * COVERAGE_95)
    )
}

/// Where the face stands out, told by screws.
fn high_place(case: &Case) -> Option<Phrase> {
    let direction = case.question.now.axial_high_direction.as_ref()?.value;
    Some(case.screws?.across(direction).0.name)
}

fn steps(case: &Case, told: &Told) -> Vec<Phrase> {
    match told.decision {
        Decision::TrueEnough => vec![say!(
            "Nothing to push. Measure again after a fall, and whenever the pulley was off."
        )],
        Decision::TooCloseToCall => vec![
            safe_start().to_owned(),
            say!("Leave the screws as they are and the hub ring where it is."),
            say!(
                "Take photos at four more wheel angles, evenly around, and measure with all of them together."
            ),
        ],
        Decision::Held { .. } | Decision::TooManyPushes => vec![
            safe_start().to_owned(),
            say!(
                "Take the pulley off and look at its bore, the boss and both faces: dirt, burrs, dents, thread locker."
            ),
            say!("See that every screw goes in by hand, and that no screw leans or binds in its hole."),
            say!("Feel for play of the wheel: a loose bearing measures like a pulley off centre."),
            say!("If nothing is found, have a qualified workshop see whether hub or pulley is bent."),
        ],
        Decision::Push | Decision::FaceFirst => work(case, told),
    }
}

fn work(case: &Case, told: &Told) -> Vec<Phrase> {
    let count = case.description.pulley_screws;
    let mut steps = vec![
        safe_start().to_owned(),
        say!(
            "Slip the belt off without levering, so that it does not pull the pulley aside. Leave the hub ring where it is: \
         directions hang on it."
        ),
        say!(
            "Find screw 1, the marked one; count on clockwise to {count}, seen from the ring's printed side. Pencil a line \
             across pulley and hub beside screw 1."
        ),
        say!(
            "Loosen all screws in the same star order by a quarter of a turn, then as much again, until the pulley can just be \
         pushed and stays where it is let go."
        ),
    ];
    match told.push {
        Some(push) => steps.extend(pushing(push)),
        None => steps.push(
            say!("Lift the pulley off, wipe both faces and the boss clean, take off burrs that stand out, and see that the \
             faces lie flat on each other without rocking."),
        ),
    }
    let passes = told
        .tightening
        .iter()
        .map(|pass| say!("Tighten: {}", pass.told.clone().small()));
    steps.extend(passes);
    steps.extend([
        say!("Lay the belt over and turn the wheel by hand a few full turns: nothing may rub or tighten."),
        say!(
            "Measure the turn again with new photos, and ask again with the new result. Stop when the limit of {} is kept, \
             or after {MOST_PUSHES} pushes.",
            set_length(case.limit())
        ),
    ]);
    steps
}

fn pushing(push: &Push) -> [Phrase; 2] {
    let Quantity { value, .. } = push.distance;
    [
        say!(
            "Measure with callipers from a face of the hub to the pulley's rim at {}, and write it down.",
            push.from.name
        ),
        say!(
            "Push there, straight toward {}, until that length is {} less.",
            push.toward.name,
            length(value, PUSH_U95)
        ),
    ]
}

fn basis(case: &Case, entry: Option<&TorqueEntry>) -> Vec<Phrase> {
    let mut basis = vec![
        say!(
            "Radial run-out (full movement) is twice the eccentricity; the pulley is pushed against its eccentricity by as much."
        ),
        say!(
            "Limit: {} of eccentricity, kept with 95 % confidence, one-sided (ISO 14253-1:2017, probabilities by JCGM \
             106:2012). Near zero a measured eccentricity is on average a little larger than the true one, which errs to the \
             safe side.",
            set_length(case.limit())
        ),
        say!(
            "A push by hand is taken to arrive within {} each way, screws tightened (assumption, no source); with this \
             measurement a push leaves about {}.",
            set_length(PUSH_U95),
            set_length(left_by_a_push(case))
        ),
        say!(
            "Stages and star order: hand-snug, then a third, two thirds and the whole of the torque, then once around (ASME \
         PCC-1, from memory, not read)."
        ),
        say!("Holes: medium series of ISO 273 (from memory) where the drive's description gives none."),
    ];
    if case.screws.is_some_and(|screws| screws.coarseness() > 0.0) {
        let off = case.screws.map_or(0.0, |screws| screws.coarseness());
        basis.push(say!(
            "A place told by screws is within {off:.0}° of the measured direction; that leaves at most {:.0} in 100 of the \
             push to the next round.",
            off.to_radians().sin() * 100.0
        ));
    }
    basis.extend(entry.map(torque_basis));
    basis
}

fn torque_basis(entry: &TorqueEntry) -> Phrase {
    let whose = match entry.source {
        TorqueSource::Maker => say!("the board maker's"),
        TorqueSource::CommonPractice => say!("not the board maker's, whose value goes first"),
        TorqueSource::Computed => say!("computed, not the board maker's, whose value goes first"),
    };
    let torque = entry.torque.map_or_else(
        || say!("none known"),
        |value| say!("{}", crate::wording::torque(value)),
    );
    say!(
        "Torque of {}: {torque} ({whose}; {}).",
        Phrase::listed(&entry.name),
        Phrase::listed(&entry.cited)
    )
}
