//! The advice when nothing in stock serves.

use super::case::{Case, Side};
use super::describe::{corners, effect_of_thickness, further_photo, gap_now, sizes};
use super::options::Options;
use super::predict::Fit;
use super::search::{Plan, Terms, best, likeliest};
use super::{basis, cautions, describe, ideal, notes, rejected, steps};
use crate::inch::{Toward, fraction_label, inches};
use crate::stock::ASSUMED_RING_U95;
use crate::wording::{and, chance, length, set_length};
use shimwright_record::{Conformity, Guidance, IdealSpacer, Located, Phrase, SpacerAdvice};
use shimwright_say::say;

/// Why nothing serves; the first that applies is told.
enum Obstacle {
    /// The gap does not move with the spacer; `undecided` when it may yet be sound as it is.
    SpacerMovesNothing { undecided: bool },
    /// These would serve, if there were rings enough.
    TooFew(Plan),
    /// One size does not serve, own sizes would.
    OneSize(Plan),
    /// Too close to call: this one may serve.
    Undecided(Plan),
    /// Even without a spacer the gap would be too small.
    NoneThinEnough,
    /// A ring of another thickness is needed.
    OtherThickness,
}

/// Puts the advice together.
pub(super) fn advice(case: &Case, options: &Options) -> SpacerAdvice {
    let ideal = ideal::ideal(case);
    let obstacle = obstacle(case, options, &ideal);
    let mut notes = notes::for_nothing(case);
    if !matches!(
        obstacle,
        Obstacle::SpacerMovesNothing { .. } | Obstacle::Undecided(_)
    ) {
        notes.extend(notes::undecided_now(case));
    }
    if !matches!(obstacle, Obstacle::TooFew(_)) {
        notes.extend(belt_with_ideal(case, &ideal));
    }
    SpacerAdvice {
        guidance: Guidance::new(headline(case, options, &obstacle, &ideal), cautions::with_tools())
            .steps(steps(case, options, &obstacle, &ideal))
            .notes(notes)
            .basis(basis::basis(case)),
        fits: false,
        choices: Vec::new(),
        rejected: rejected::rejected(case, options, None),
        ideal,
    }
}

fn obstacle(case: &Case, options: &Options, ideal: &[IdealSpacer]) -> Obstacle {
    let one_size = case.drive.same_spacer_everywhere;
    let sound = case.sides.iter().all(|side| side.now == Conformity::Within);
    if case.drive.located == Located::Pulley && !sound {
        let undecided = case.sides.iter().all(|side| side.now != Conformity::Outside);
        return Obstacle::SpacerMovesNothing { undecided };
    }
    if let Some(plan) = best(
        case,
        options,
        Terms {
            one_size,
            counted: false,
        },
    ) {
        return Obstacle::TooFew(plan);
    }
    if let Some(plan) = best(
        case,
        options,
        Terms {
            one_size: false,
            counted: true,
        },
    ) {
        return Obstacle::OneSize(plan);
    }
    if let Some(plan) = likeliest(case, options, one_size) {
        return Obstacle::Undecided(plan);
    }
    if ideal.is_empty() {
        Obstacle::NoneThinEnough
    } else {
        Obstacle::OtherThickness
    }
}

fn headline(case: &Case, options: &Options, obstacle: &Obstacle, ideal: &[IdealSpacer]) -> Phrase {
    match obstacle {
        Obstacle::SpacerMovesNothing { undecided: true } => say!(
            "Too close to call, and no spacer would change it: {}. Take {further_photo}. On this drive {}.",
            gaps_in_question(case),
            effect_of_thickness(case.drive.located),
            further_photo = further_photo()
        ),
        Obstacle::SpacerMovesNothing { undecided: false } => say!(
            "No spacer can mend this: {}, and {}. The mount's place on the hanger, or whatever holds pulley or mount \
             out of place, is work for a qualified workshop.",
            gaps_in_question(case),
            effect_of_thickness(case.drive.located)
        ),
        Obstacle::TooFew(plan) => {
            let missing = missing(case, options, plan);
            let plan = sizes(case, options, plan);
            say!("The right sizes are known but not there: {plan} would do. You need {missing}.")
        }
        Obstacle::OneSize(plan) if ideal.is_empty() => say!(
            "No single size serves both corners, whatever its thickness. With a size of its own each corner can be served \
             ({}), if the wheels need not stay interchangeable.",
            sizes(case, options, plan)
        ),
        Obstacle::OneSize(plan) => say!(
            "No single size in stock fits both corners: you would need {}. With a size of its own each corner can be \
             served ({}), if the wheels need not stay interchangeable.",
            needs(case, ideal),
            sizes(case, options, plan)
        ),
        Obstacle::Undecided(plan) => undecided_headline(case, options, plan, ideal),
        Obstacle::NoneThinEnough if has_clearances(case) => say!(
            "No spacer keeps every clearance at once: {}, and what widens one closes another below its smallest allowed. This \
             is work for a qualified workshop.",
            gaps_in_question(case)
        ),
        Obstacle::NoneThinEnough => say!(
            "No spacer is thin enough: {}, and even without one the gap would stay below the smallest allowed. This is \
             work for a qualified workshop.",
            gaps_in_question(case)
        ),
        Obstacle::OtherThickness => {
            say!(
                "Nothing in stock fits: {}. You would need {}.",
                gaps_in_question(case),
                needs(case, ideal)
            )
        }
    }
}

fn undecided_headline(case: &Case, options: &Options, plan: &Plan, ideal: &[IdealSpacer]) -> Phrase {
    let fits = plan.fits(options);
    let sure = fits.iter().map(|fit| fit.least_certainty()).fold(1.0, f64::min);
    let minimum = set_length(case.drive.minimum_gap);
    let what = if fits.iter().all(|fit| fit.stays) {
        say!("what is fitted now may do")
    } else {
        say!("{} may do", sizes(case, options, plan))
    };
    let sure_otherwise = if ideal.is_empty() {
        Phrase::foreign("")
    } else {
        say!(" To be sure without it, you would need {}.", needs(case, ideal))
    };
    let gaps: Vec<Phrase> = case
        .sides
        .iter()
        .zip(&fits)
        .map(|(side, fit)| say!("{} gap {}", side.name(), length(fit.gap, fit.gap_u95)))
        .collect();
    say!(
        "Too close to call: {what} ({}; chance that the smallest allowed {minimum} is kept: {}). Take {further_photo}, \
         before anything is changed.{sure_otherwise}",
        and(&gaps),
        chance(sure),
        further_photo = further_photo()
    )
}

/// The gaps that are not known to be sound; all, when all are.
fn gaps_in_question(case: &Case) -> Phrase {
    let doubtful: Vec<_> = case
        .sides
        .iter()
        .filter(|side| side.now != Conformity::Within)
        .collect();
    let told = if doubtful.is_empty() {
        case.sides.iter().collect()
    } else {
        doubtful
    };
    and(&told
        .into_iter()
        .map(|side| gap_now(case, side))
        .collect::<Vec<_>>())
}

/// Whether a spacer moves more here than the gap.
fn has_clearances(case: &Case) -> bool {
    case.sides.iter().any(|side| !side.clearances.is_empty())
}

/// What must be got, such as `2 more of 1/2 in`.
fn missing(case: &Case, options: &Options, plan: &Plan) -> Phrase {
    let needed: Vec<usize> = plan
        .0
        .iter()
        .flat_map(|&option| options.rings(option))
        .copied()
        .collect();
    let mut sizes = needed.clone();
    sizes.sort_unstable();
    sizes.dedup();
    let missing = sizes.into_iter().filter_map(|ring| {
        let many = needed.iter().filter(|&&other| other == ring).count();
        let more = many.checked_sub(case.available(ring)).filter(|&more| more > 0)?;
        Some(say!("{more} more of {}", describe::rings(case, &[ring])))
    });
    and(&missing.collect::<Vec<_>>())
}

/// The ideal thicknesses in words, rounded to the safe side.
fn needs(case: &Case, ideal: &[IdealSpacer]) -> Phrase {
    let one_for_all = case.drive.same_spacer_everywhere || ideal.len() == 1;
    let sides: Vec<&Side> = case.sides.iter().collect();
    let parts = match ideal.first() {
        Some(first) if one_for_all => {
            vec![say!("{} on {}", need(case, first.thickness), corners(&sides))]
        }
        _ => {
            let each = sides.iter().zip(ideal);
            each.map(|(side, wanted)| match wanted.thickness {
                same if same == side.measured.spacer_thickness => {
                    say!("no change on {}", corners(&[side]))
                }
                thickness => say!("{} on {}", need(case, thickness), corners(&[side])),
            })
            .collect()
        }
    };
    let tolerance = set_length(ASSUMED_RING_U95);
    say!("{}, made to within {tolerance}", and(&parts))
}

/// One thickness in words: `a spacer of 13.70 mm (0.539 in; next 64th 35/64 in) or more`.
fn need(case: &Case, thickness: f64) -> Phrase {
    // Hundredths: a tenth of what a ring is good for would be false precision, and rounding must not eat the margin. Which way
    // is safe is the way in which the change goes, whichever clearance asks for it.
    let fitted = case.sides.iter().map(|side| side.measured.spacer_thickness);
    let thinner = match case.drive.located.gap_per_spacer() {
        _ if has_clearances(case) => fitted.fold(f64::INFINITY, f64::min) > thickness,
        factor => factor < 0.0,
    };
    let (or, shown, toward) = if thinner {
        (
            say!("or less"),
            (thickness * 100.0 + 1e-6).floor() / 100.0,
            Toward::Thinner,
        )
    } else {
        (
            say!("or more"),
            (thickness * 100.0 - 1e-6).ceil() / 100.0,
            Toward::Thicker,
        )
    };
    let fraction =
        fraction_label(shown, toward).map_or(Phrase::foreign(""), |label| say!("; next 64th {label}"));
    say!(
        "a spacer of {shown:.2} mm ({:.3} in{fraction}) {or}",
        inches(shown)
    )
}

/// What the belt would do with the ideal thickness.
fn belt_with_ideal(case: &Case, ideal: &[IdealSpacer]) -> Option<Phrase> {
    let offset =
        |(side, fit): (&Side, &Fit)| say!("{} on the {}", length(fit.offset, fit.offset_u95), side.name());
    let fits = ideal::predicted(case, ideal);
    let offsets: Vec<Phrase> = case.sides.iter().zip(&fits).map(offset).collect();
    (!offsets.is_empty()).then(|| {
        say!(
            "With the thickness that is needed, the belt offset would be {}.",
            and(&offsets)
        )
    })
}

fn steps(case: &Case, options: &Options, obstacle: &Obstacle, ideal: &[IdealSpacer]) -> Vec<Phrase> {
    match obstacle {
        Obstacle::SpacerMovesNothing { undecided: true } | Obstacle::Undecided(_) => {
            steps::for_further_photo()
        }
        Obstacle::SpacerMovesNothing { undecided: false } | Obstacle::NoneThinEnough => steps::for_workshop(),
        Obstacle::TooFew(plan) => steps::for_getting_rings(case, &missing(case, options, plan)),
        Obstacle::OneSize(_) if ideal.is_empty() => steps::for_workshop(),
        Obstacle::OneSize(_) | Obstacle::OtherThickness => {
            steps::for_getting_rings(case, &needs(case, ideal))
        }
    }
}
