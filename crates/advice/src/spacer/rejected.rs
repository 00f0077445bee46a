//! Why the other rings were not chosen.

use super::case::{Case, Side};
use super::describe::gap_after;
use super::options::Options;
use super::order::crookedness;
use super::predict::{Blocked, Fit};
use super::search::Plan;
use crate::wording::{chance, length, set_length};
use shimwright_record::{Conformity, Phrase, RejectedSpacer};
use shimwright_say::say;

/// How many rejected stacks are explained.
const MOST_EXPLAINED: usize = 12;

/// Leaving what is fitted, where the stock does not know it, and the stacks nearest in thickness to what was chosen or,
/// when nothing was, to what is needed; each with its reason.
pub(super) fn rejected(case: &Case, options: &Options, plan: Option<&Plan>) -> Vec<RejectedSpacer> {
    let stay = (0..case.sides.len()).filter_map(|place| staying(case, options, plan, place));
    let stacks = nearest(case, options, plan)
        .into_iter()
        .map(|option| RejectedSpacer {
            rings: case.labels(options.rings(option)),
            thickness: case.thickness(options.rings(option)),
            reason: reason(case, options, plan, option).sentence(),
        });
    stay.chain(stacks).take(MOST_EXPLAINED).collect()
}

/// Stacks that were not chosen, nearest first.
fn nearest(case: &Case, options: &Options, plan: Option<&Plan>) -> Vec<usize> {
    let near: Vec<f64> = match plan {
        Some(plan) => plan.fits(options).iter().map(|fit| fit.thickness).collect(),
        None => wanted(case),
    };
    let distance = |option: usize| {
        let thickness = case.thickness(options.rings(option));
        near.iter()
            .map(|wanted| (thickness - wanted).abs())
            .fold(f64::INFINITY, f64::min)
    };
    let chosen = |option: usize| plan.is_some_and(|plan| plan.0.contains(&option));
    let mut others: Vec<(f64, usize)> = (0..options.stacks.len())
        .filter(|&option| !chosen(option))
        .map(|option| (distance(option), option))
        .collect();
    others.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    others
        .into_iter()
        .map(|(_, option)| option)
        .take(MOST_EXPLAINED)
        .collect()
}

/// Why a spacer that the stock does not know is not left at a corner.
fn staying(case: &Case, options: &Options, plan: Option<&Plan>, place: usize) -> Option<RejectedSpacer> {
    let (side, option) = (&case.sides[place], options.stacks.len());
    let fit = options.fits[place].get(option)?;
    if plan.is_some_and(|plan| plan.0[place] == option) {
        return None;
    }
    let reason = if !fit.keeps_minimum() {
        gap_reason(case, side, fit)
    } else if case.drive.same_spacer_everywhere && case.sides.len() > 1 {
        say!(
            "it could stay on the {} corner, but every wheel must carry the same spacer",
            side.name()
        )
    } else {
        lost_at(
            case,
            options,
            plan,
            Place {
                place,
                side,
                fit,
                option,
            },
        )
    };
    Some(RejectedSpacer {
        rings: vec![side.fitted_label().into()],
        thickness: side.measured.spacer_thickness,
        reason: reason.sentence(),
    })
}

fn wanted(case: &Case) -> Vec<f64> {
    let ideal = super::ideal::ideal(case);
    if ideal.is_empty() {
        return case
            .sides
            .iter()
            .map(|side| side.measured.spacer_thickness)
            .collect();
    }
    ideal.iter().map(|ideal| ideal.thickness).collect()
}

fn reason(case: &Case, options: &Options, plan: Option<&Plan>, option: usize) -> Phrase {
    let at_each = || {
        let sides = case.sides.iter().zip(&options.fits).enumerate();
        sides.map(|(place, (side, fits))| Place {
            place,
            side,
            fit: &fits[option],
            option,
        })
    };
    let unsafe_at: Vec<Phrase> = at_each()
        .filter(|at| !at.fit.keeps_minimum())
        .map(|at| gap_reason(case, at.side, at.fit))
        .collect();
    let one_size = case.drive.same_spacer_everywhere;
    if unsafe_at.len() == case.sides.len() || (one_size && !unsafe_at.is_empty()) {
        return Phrase::joined(unsafe_at, "; ");
    }
    if one_size {
        return lost_as_common(case, options, plan, option);
    }
    let lost = at_each()
        .filter(|at| at.fit.keeps_minimum())
        .map(|at| lost_at(case, options, plan, at));
    Phrase::joined(unsafe_at.into_iter().chain(lost), "; ")
}

fn gap_reason(case: &Case, side: &Side, fit: &Fit) -> Phrase {
    if let Some(blocked) = fit.blocked.filter(|_| fit.state == Conformity::Within) {
        return clearance_reason(side, &blocked);
    }
    let gap = gap_after(side, fit);
    let minimum = set_length(case.drive.minimum_gap);
    match fit.state {
        Conformity::Undecided => say!(
            "{gap}, too close to the smallest allowed {minimum} to be sure (kept: {}); a further photo could decide",
            chance(fit.certainty)
        ),
        _ if fit.gap < 0.0 && fit.gap != side.measured.gap.value => gap,
        _ => say!("{gap}, less than the smallest allowed {minimum}"),
    }
}

/// Why another clearance than the gap stands in the way.
fn clearance_reason(side: &Side, blocked: &Blocked) -> Phrase {
    let clearance = &side.clearances[blocked.clearance];
    let told = say!(
        "on the {} the clearance `{}` would be {}",
        side.name(),
        clearance.name,
        length(blocked.value, blocked.u95)
    );
    let minimum = set_length(clearance.minimum);
    match blocked.state {
        Conformity::Undecided => say!(
            "{told}, too close to the smallest allowed {minimum} to be sure (kept: {})",
            chance(blocked.certainty)
        ),
        _ => say!("{told}, less than the smallest allowed {minimum}"),
    }
}

/// What is missing when these stacks together need more rings than there are.
fn too_few(case: &Case, stacks: &[&[usize]]) -> Option<Phrase> {
    let (ring, needed, available) = case.short_of(stacks.iter().copied())?;
    let label = case.labels(&[ring]).concat();
    Some(match available {
        0 => say!("there is no {label} ring left, and {needed} would be needed"),
        1 => say!("there is only one {label} ring, and {needed} would be needed"),
        _ => say!("there are only {available} {label} rings, and {needed} would be needed"),
    })
}

fn lost_as_common(case: &Case, options: &Options, plan: Option<&Plan>, option: usize) -> Phrase {
    let everywhere = vec![options.rings(option); case.sides.len()];
    if let Some(reason) = too_few(case, &everywhere) {
        return reason;
    }
    let fits: Vec<&Fit> = options.fits.iter().map(|fits| &fits[option]).collect();
    match plan {
        Some(plan) => compared(
            worst(&fits),
            worst(&plan.fits(options)),
            say!("the largest belt offset"),
        ),
        None => say!("it would do by itself, but not together with what else is needed"),
    }
}

/// An option at one corner.
struct Place<'a> {
    place: usize,
    side: &'a Side<'a>,
    fit: &'a Fit,
    option: usize,
}

fn lost_at(case: &Case, options: &Options, plan: Option<&Plan>, at: Place) -> Phrase {
    let name = at.side.name();
    let Some(plan) = plan else {
        return too_few(case, &[options.rings(at.option)]).unwrap_or_else(|| {
            say!("it would do on the {name}, but the other corner stays without a match")
        });
    };
    let mut instead = plan.0.clone();
    instead[at.place] = at.option;
    let stacks: Vec<&[usize]> = instead.iter().map(|&option| options.rings(option)).collect();
    if let Some(reason) = too_few(case, &stacks) {
        return say!("on the {name}: {reason}");
    }
    compared(
        Some(at.fit),
        worst(&plan.fits(options)),
        say!("the {name} belt offset"),
    )
}

fn worst<'f>(fits: &[&'f Fit]) -> Option<&'f Fit> {
    fits.iter()
        .copied()
        .max_by(|a, b| a.offset.abs().total_cmp(&b.offset.abs()))
}

/// Why one sound option lost against another.
fn compared(lost: Option<&Fit>, won: Option<&Fit>, what: Phrase) -> Phrase {
    match (lost, won) {
        (Some(lost), Some(won)) if crookedness(lost) > crookedness(won) => say!(
            "{what} would be {} and not {}",
            length(lost.offset, lost.offset_u95),
            length(won.offset.abs(), won.offset_u95)
        ),
        _ => say!("it would do, but makes {what} no smaller and is more work than the choice"),
    }
}
