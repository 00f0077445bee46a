//! Phrases that several parts of spacer advice share.

use super::case::{Case, Side, stack_u};
use super::options::Options;
use super::predict::Fit;
use super::search::Plan;
use crate::wording::{and, chance, in_inches, in_millimetres, length, quantity, set_length, stack_label};
use shimwright_record::conformity::{COVERAGE_95, at_least};
use shimwright_record::{Conformity, Located, Phrase, Valued};
use shimwright_say::say;

/// The label of an option.
pub(super) fn label(case: &Case, options: &Options, option: usize) -> Phrase {
    match options.rings(option) {
        [] => say!("what is fitted now"),
        rings => Phrase::foreign(stack_label(&case.labels(rings))),
    }
}

/// A stack with its thickness: `7/16 in (11.11 ± 0.05 mm, 0.4375 ± 0.0020 in)`.
pub(super) fn rings(case: &Case, rings: &[usize]) -> Phrase {
    let u95 = stack_u(rings, case.stock) * COVERAGE_95;
    labelled(
        &Phrase::foreign(stack_label(&case.labels(rings))),
        case.thickness(rings),
        u95,
    )
}

/// What is fitted at a corner, with its thickness.
pub(super) fn fitted(case: &Case, side: &Side) -> Phrase {
    let thickness = side.measured.spacer_thickness;
    if thickness == 0.0 {
        return side.fitted_label();
    }
    labelled(&side.fitted_label(), thickness, side.fitted_u95(case))
}

fn labelled(label: &Phrase, thickness: f64, u95: f64) -> Phrase {
    let both = format!(
        "{} mm, {} in",
        in_millimetres(thickness, u95),
        in_inches(thickness, u95)
    );
    let thickness = Valued {
        text: both,
        ..length(thickness, u95)
    };
    say!("{label} ({thickness})")
}

/// What a plan puts on each corner.
pub(super) fn sizes(case: &Case, options: &Options, plan: &Plan) -> Phrase {
    let labels: Vec<Phrase> = plan
        .0
        .iter()
        .map(|&option| label(case, options, option))
        .collect();
    if let [left, right] = labels.as_slice()
        && left == right
    {
        return say!("{left} on both corners");
    }
    let on = |(side, label): (&Side, &Phrase)| say!("{label} on the {} corner", side.name());
    and(&case.sides.iter().zip(&labels).map(on).collect::<Vec<_>>())
}

/// A predicted gap at a corner, or how far the parts would press on each other.
pub(super) fn gap_after(side: &Side, fit: &Fit) -> Phrase {
    let name = side.name();
    if fit.gap == side.measured.gap.value {
        return say!("the {name} gap would stay at {}", length(fit.gap, fit.gap_u95));
    }
    if fit.gap < 0.0 {
        return say!(
            "the {name} rim would run into the mount by {}",
            length(-fit.gap, fit.gap_u95)
        );
    }
    say!("the {name} gap would be {}", length(fit.gap, fit.gap_u95))
}

/// The gap at a corner now, how it stands to its minimum, and how sure that is.
pub(super) fn gap_now(case: &Case, side: &Side) -> Phrase {
    let gap = quantity(&side.measured.gap);
    let minimum = set_length(case.drive.minimum_gap);
    let (_, sure) = at_least(
        side.measured.gap.value,
        side.measured.gap.u95,
        case.drive.minimum_gap,
    );
    let name = side.name();
    match side.now {
        Conformity::Within => say!("the {name} gap is {gap} and keeps the smallest allowed {minimum}"),
        Conformity::Outside => say!("the {name} gap is {gap}, less than the smallest allowed {minimum}"),
        Conformity::Undecided => say!(
            "the {name} gap is {gap}, too close to the smallest allowed {minimum} to call ({} that it is kept)",
            chance(sure)
        ),
    }
}

/// How a thicker spacer moves things on this drive.
pub(super) fn effect_of_thickness(located: Located) -> Phrase {
    match located {
        Located::Hub => {
            say!(
                "the axle holds the hub, so a thicker spacer moves the pulley inward: gap and belt offset shrink by as much"
            )
        }
        Located::Pulley => {
            say!(
                "the axle holds the pulley, so a spacer moves neither gap nor belt offset, whatever its thickness"
            )
        }
        Located::Wheel => {
            say!(
                "the whole wheel stands on the spacer, so a thicker one moves the pulley outward: gap and belt offset grow \
             by as much"
            )
        }
    }
}

/// The names of corners: `the left corner`, `both corners`.
pub(super) fn corners(sides: &[&Side]) -> Phrase {
    match sides {
        [_, _] => say!("both corners"),
        _ => and(&sides
            .iter()
            .map(|side| say!("the {} corner", side.name()))
            .collect::<Vec<_>>()),
    }
}

/// What one further photo should show.
pub(super) fn further_photo() -> Phrase {
    say!(
        "one more photo from a clearly different direction, with the card and both \
                                        edges sharp in it"
    )
}
