//! The work, step by step.

use super::case::Case;
use super::describe::further_photo;
use super::options::Options;
use super::predict::SLIDE_U95;
use super::served::Chosen;
use crate::torque::{axle_nut, pulley_screws};
use crate::wording::{and, corner_capital, length};
use shimwright_record::{Conformity, Corner, Located, Phrase};
use shimwright_say::say;

/// Looking at the belt again after this, as words. Common practice, no source.
fn recheck() -> Phrase {
    say!("a couple of hundred kilometres (common practice, no source)")
}

/// The steps for a choice.
pub(super) fn for_choice(case: &Case, options: &Options, chosen: &[Chosen]) -> Vec<Phrase> {
    let changes = chosen.iter().any(|one| !one.fit.stays);
    let slides = chosen.iter().any(Chosen::slides);
    if !changes && !slides {
        return vec![
            say!("Nothing to change."),
            say!(
                "Look at the belt and measure the gap again after {recheck}, and after every fall.",
                recheck = recheck()
            ),
        ];
    }
    let mut steps: Vec<Phrase> = first(case, chosen)
        .map(|first| say!("First {first}"))
        .into_iter()
        .collect();
    steps.push(safe_start().to_owned());
    if changes {
        steps.push(say!(
            "Take a photo of the axle end and of the belt's path, so that all goes back as it was."
        ));
    }
    let each: Vec<(Corner, Vec<Phrase>)> = chosen
        .iter()
        .map(|one| (one.side.measured.corner, at_corner(case, options, one)))
        .collect();
    match each.as_slice() {
        [(_, left), (_, right)] if left == right => {
            steps.extend(left.iter().map(|step| say!("Left, then right: {step}")));
        }
        each => steps
            .extend(each.iter().flat_map(|(corner, own)| {
                own.iter().map(|step| say!("{}: {step}", corner_capital(*corner)))
            })),
    }
    steps.extend(finish(chosen));
    steps
}

/// What must come before a change: measuring the corner that has to get the same spacer, or the photo that may show
/// that a spacer need not be changed at all.
pub(super) fn first(case: &Case, chosen: &[Chosen]) -> Option<Phrase> {
    let changed = || chosen.iter().filter(|one| !one.fit.stays);
    let other = case.measure_first().filter(|_| changed().next().is_some());
    let measure = other.map(|corner| say!("measure the {} corner too", corner.words()));
    let doubtful = changed().find(|one| one.side.now == Conformity::Undecided);
    let photo = doubtful.map(|one| {
        say!(
            "take one more photo of the {} corner, whose gap now is too close to its limit to call",
            one.side.name()
        )
    });
    let things: Vec<Phrase> = photo.into_iter().chain(measure).collect();
    (!things.is_empty()).then(|| and(&things).with_stop())
}

fn at_corner(case: &Case, options: &Options, one: &Chosen) -> Vec<Phrase> {
    let swap = if one.fit.stays {
        Vec::new()
    } else {
        swap(case, options, one)
    };
    swap.into_iter().chain(slide(one)).collect()
}

/// How any work starts.
pub(super) fn safe_start() -> Phrase {
    say!(
        "Switch the board off, disconnect the battery, and stand the board so that it can neither tip nor roll."
    )
}

fn swap(case: &Case, options: &Options, one: &Chosen) -> Vec<Phrase> {
    let rings = options.rings(one.option);
    let new = super::describe::rings(case, rings);
    let old = super::describe::fitted(case, one.side);
    let mut steps = vec![say!(
        "undo the axle nut, lay the washers out in the order they come, and draw the wheel off with its pulley; slip \
         the belt off without levering."
    )];
    match case.drive.located {
        Located::Wheel => steps.push(say!(
            "take {old} off the axle, where it stands between shoulder and wheel, wipe the faces clean, and put on \
             {new}."
        )),
        Located::Hub | Located::Pulley => {
            steps.push(say!(
                "undo the pulley's screws, lift the pulley off the hub, take {old} out from between them, wipe the \
                 faces clean, and put in {new}."
            ));
            steps.push(say!(
                "tighten the pulley's screws in star order, in two or three stages, to your board maker's value. {}",
                pulley_screws()
            ));
        }
    }
    if rings.len() > 1 {
        steps.push(say!(
            "see that the rings of the stack lie flat on each other and share one centre."
        ));
    }
    steps.push(say!(
        "lay the belt over, push the wheel home, and put the washers back in the same order. {axle_nut}",
        axle_nut = axle_nut()
    ));
    steps
}

fn slide(one: &Chosen) -> Option<Phrase> {
    let amount = length(one.fit.slide.abs(), SLIDE_U95);
    if one.slides() {
        let way = if one.fit.slide > 0.0 {
            say!("outward, away from the mount")
        } else {
            say!("inward, towards the mount")
        };
        return Some(say!(
            "loosen the motor pulley's screw, slide the pulley {amount} {way}, and tighten the screw as it was, thread \
             locker included. If the pulley does not move, leave it to a qualified workshop: no hammer, and no heat \
             near the motor."
        ));
    }
    (one.fit.slide != 0.0).then(|| {
        say!("leave the motor pulley where it is; the {amount} that would be left to slide cannot be set by hand.")
    })
}

fn finish(chosen: &[Chosen]) -> Vec<Phrase> {
    let expected: Vec<Phrase> = chosen
        .iter()
        .map(|one| {
            let gap = length(one.fit.gap, one.fit.gap_u95);
            let offset = length(one.fit.offset, one.fit.offset_u95);
            say!("{} gap {gap} with belt offset {offset}", one.side.name())
        })
        .collect();
    vec![
        say!(
            "Turn each wheel slowly by hand a few full turns: nothing may rub, and the belt must stay in the middle of \
         both pulleys, as loose as it can be without skipping (common practice, no source)."
        ),
        say!(
            "Measure again with new photos and expect {}. If a number lies outside that, stop and find out why before \
             you ride.",
            and(&expected)
        ),
        say!("Look at the belt again after {recheck}.", recheck = recheck()),
    ]
}

/// The steps when a further photo is what is missing.
pub(super) fn for_further_photo() -> Vec<Phrase> {
    vec![
        safe_start().to_owned(),
        say!(
            "Take {further_photo}, and measure again with all photos together.",
            further_photo = further_photo()
        ),
        say!(
            "If you have not yet measured the printed page's scale bars with callipers, do that and enter the lengths: it \
         often narrows the result more than anything else."
        ),
        say!(
            "Ask for advice again with the new result; change nothing until then, and do not ride if anything rubs."
        ),
    ]
}

/// The steps when a ring has to be got first.
pub(super) fn for_getting_rings(case: &Case, wanted: &str) -> Vec<Phrase> {
    let unsure = case.sides.iter().any(|side| side.now != Conformity::Within);
    let leave = unsure.then(|| say!("Leave the board unused until every gap keeps its minimum."));
    let get = [
        say!(
            "Measure the spacer that is fitted now with callipers and see that its thickness is entered rightly: the whole \
         sum hangs on it."
        ),
        say!(
            "Get {wanted}, or have it turned by a workshop; then measure it, enter it in the stock and ask again."
        ),
    ];
    leave.into_iter().chain(get).collect()
}

/// The steps when no spacer can help.
pub(super) fn for_workshop() -> Vec<Phrase> {
    vec![
        say!("Leave the board unused until every gap keeps its minimum."),
        safe_start().to_owned(),
        say!(
            "See whether pulley and wheel sit fully home, whether the wheel has play, and whether dirt or a bent part holds \
         something off its seat; measure again after what you mend."
        ),
        say!(
            "See in the drive description whether the located part is entered rightly: a spacer that sits elsewhere moves \
         other things."
        ),
        say!(
            "If it stays too close, have a qualified workshop set the mount's place on the hanger, or replace the part that \
         is out of place."
        ),
        say!("Measure again with new photos before you ride."),
    ]
}
