//! What to know before starting.

use super::case::{Case, Fitted, Side};
use super::describe::{further_photo, gap_now, sizes};
use super::options::Options;
use super::predict::{Fit, staying};
use super::search::{Terms, best};
use super::served::Chosen;
use crate::wording::{corner_capital, length, quantity, stack_label};
use shimwright_record::{Conformity, Phrase};
use shimwright_say::say;

/// Notes on a choice.
pub(super) fn for_choice(case: &Case, options: &Options, chosen: &[Chosen]) -> Vec<Phrase> {
    let mut notes = undecided_now(case);
    notes.extend(other_corner(case, Some((options, chosen))));
    notes.extend(small_gain(case, chosen));
    notes.extend(price_of_one_size(case, options, chosen));
    notes.extend(entries(case));
    notes
}

/// Notes when nothing in stock serves.
pub(super) fn for_nothing(case: &Case) -> Vec<Phrase> {
    other_corner(case, None)
        .into_iter()
        .chain(other_limits(case))
        .chain(entries(case))
        .collect()
}

/// A gap may be sound as it is: a photo is cheaper than a change.
pub(super) fn undecided_now(case: &Case) -> Vec<Phrase> {
    let undecided = case.sides.iter().filter(|side| side.now == Conformity::Undecided);
    undecided
        .map(|side| {
            let note = gap_now(case, side).capital();
            say!(
                "{note}: {further_photo}, may show that nothing needs changing there.",
                further_photo = further_photo()
            )
        })
        .collect()
}

/// A thickness that is needed is limited on both sides where other clearances move too.
fn other_limits(case: &Case) -> Option<Phrase> {
    let moves = |side: &Side| side.clearances.iter().any(|one| one.factor != 0.0);
    case.sides.iter().any(moves).then(|| {
        say!("Other clearances limit the thickness too: keep close to what is named, enter the ring that you get in the stock, and ask \
         again before it is fitted.")
    })
}

/// The corner that was not measured.
fn other_corner(case: &Case, choice: Option<(&Options, &[Chosen])>) -> Option<Phrase> {
    let (this, other) = (case.sides.first()?.name(), case.other_corner()?.name());
    if case.measure_first().is_none() {
        return Some(say!(
            "Only the {this} corner was measured; this says nothing about the {other} one."
        ));
    }
    let enough = choice.is_none_or(|(options, chosen)| {
        let sets = chosen.iter().map(|one| options.rings(one.option));
        case.enough(sets.clone().chain(sets))
    });
    let count = if enough {
        Phrase::foreign("")
    } else {
        say!(" There are not rings enough for both corners now.")
    };
    Some(say!(
        "Only the {this} corner was measured. Every wheel of this board must carry the same spacer, so the {other} \
         corner must be measured too before anything is fitted.{count}"
    ))
}

/// A change that is only for a straighter belt, by less than anybody can tell.
fn small_gain(case: &Case, chosen: &[Chosen]) -> Option<Phrase> {
    let stay: Vec<Fit> = case.sides.iter().map(|side| staying(case, side)).collect();
    let changes = chosen.iter().any(|one| !one.fit.stays);
    let could_stay = stay.iter().all(Fit::keeps_minimum) && alike(case) && within_stack_limit(case);
    if !changes || !could_stay {
        return None;
    }
    let (now, after) = (worst(stay.iter())?, worst(chosen.iter().map(|one| one.fit))?);
    let gain = now.offset.abs() - after.offset.abs();
    let unsure = after.offset_u95;
    (gain < unsure).then(|| {
        say!(
            "The gaps are sound as they are. The change only makes the belt run straighter, by {}, which is less than \
             the measurement can tell; leaving the spacers as they are is about as good.",
            length(gain, unsure)
        )
    })
}

/// One size for all can cost belt alignment.
fn price_of_one_size(case: &Case, options: &Options, chosen: &[Chosen]) -> Option<Phrase> {
    if !case.drive.same_spacer_everywhere || case.sides.len() < 2 {
        return None;
    }
    let free = best(
        case,
        options,
        Terms {
            one_size: false,
            counted: true,
        },
    )?;
    let fits = free.fits(options);
    let (freed, bound) = (worst(fits.into_iter())?, worst(chosen.iter().map(|one| one.fit))?);
    let price = bound.offset.abs() - freed.offset.abs();
    (price > bound.offset_u95).then(|| {
        say!(
            "One size on both corners keeps the wheels interchangeable and costs belt alignment: the largest belt \
             offset would be {} with {}, and is {} with one size.",
            length(freed.offset.abs(), freed.offset_u95),
            sizes(case, options, &free),
            length(bound.offset.abs(), bound.offset_u95)
        )
    })
}

fn worst<'f>(fits: impl Iterator<Item = &'f Fit>) -> Option<&'f Fit> {
    fits.max_by(|a, b| a.offset.abs().total_cmp(&b.offset.abs()))
}

/// Whether leaving everything would be allowed by the rule of one size.
fn alike(case: &Case) -> bool {
    let same = |a: &Side, b: &Side| match (&a.fitted, &b.fitted) {
        (Fitted::Known(a), Fitted::Known(b)) => a == b,
        _ => a.measured.spacer_thickness == b.measured.spacer_thickness,
    };
    !case.drive.same_spacer_everywhere || case.sides.windows(2).all(|pair| same(&pair[0], &pair[1]))
}

fn within_stack_limit(case: &Case) -> bool {
    case.sides.iter().all(|side| too_high(case, side).is_none())
}

/// The rings of a fitted stack that is higher than the drive allows.
fn too_high<'c>(case: &Case, side: &'c Side) -> Option<&'c [usize]> {
    match &side.fitted {
        Fitted::Known(rings) if rings.len() > case.drive.stack_limit as usize => Some(rings),
        _ => None,
    }
}

/// Entries that do not agree with each other.
fn entries(case: &Case) -> Vec<Phrase> {
    let mut notes = Vec::new();
    for side in &case.sides {
        let corner = corner_capital(side.measured.corner);
        let entered = length(side.measured.spacer_thickness, side.fitted_u95(case));
        if matches!(side.fitted, Fitted::Unknown { mismatch: true, .. }) {
            notes.push(say!(
                "{corner}: the fitted spacer is labelled {}, but the {entered} entered for it are not what the stock \
                 says for that label. Measure it with callipers: the thickness entered is what was used here.",
                side.fitted_label()
            ));
        }
        if let Some(rings) = too_high(case, side) {
            notes.push(say!(
                "{corner}: {} rings are stacked there now ({}), and the drive allows {}, so they cannot stay. If its maker \
                 allows more, say so in the drive's entry and ask again.",
                rings.len(),
                stack_label(&case.labels(rings)),
                case.drive.stack_limit
            ));
        }
        notes.extend(touching(side));
    }
    notes
}

/// A gap of nothing or less.
fn touching(side: &Side) -> Option<Phrase> {
    let (corner, gap) = (corner_capital(side.measured.corner), &side.measured.gap);
    if gap.value + gap.u95 < 0.0 {
        return Some(say!(
            "{corner}: a gap of {} would mean that mount and rim overlap, which solid parts cannot. Look at the marks \
             in the photos and measure again before you trust any of this.",
            quantity(gap)
        ));
    }
    (gap.value <= 0.0).then(|| {
        say!(
            "{corner}: a gap of {} means that mount and rim touch. Do not ride.",
            quantity(gap)
        )
    })
}
