//! Phrases that several parts of spacer advice share.

use super::case::{Case, Side, stack_u};
use super::options::Options;
use crate::wording::{and, chance, length, quantity, set_length, stack_label};
use shimwright_record::conformity::COVERAGE_95;
use shimwright_record::{Conformity, Located};

/// The label of an option at a corner.
pub(super) fn label(case: &Case, options: &Options, side: &Side, option: usize) -> String {
    match options.rings(option) {
        [] => side.fitted_label(),
        rings => stack_label(&case.labels(rings)),
    }
}

/// A stack with its thickness: `7/16 in (11.11 ± 0.05 mm, 0.4375 ± 0.0020 in)`.
pub(super) fn rings(case: &Case, rings: &[usize]) -> String {
    let u95 = stack_u(rings, case.stock) * COVERAGE_95;
    let labels = stack_label(&case.labels(rings));
    format!("{labels}, {}", length(case.thickness(rings), u95))
}

/// What is fitted at a corner, with its thickness.
pub(super) fn fitted(case: &Case, side: &Side) -> String {
    let measured = side.measured;
    if measured.spacer_thickness == 0.0 {
        return side.fitted_label();
    }
    format!(
        "{}, {}",
        side.fitted_label(),
        length(measured.spacer_thickness, side.fitted_u95(case))
    )
}

/// The gap at a corner now, how it stands to its minimum, and how sure that is.
pub(super) fn gap_now(case: &Case, side: &Side) -> String {
    let gap = quantity(&side.measured.gap);
    let minimum = set_length(case.drive.minimum_gap);
    let (_, sure) = shimwright_record::conformity::at_least(
        side.measured.gap.value,
        side.measured.gap.u95,
        case.drive.minimum_gap,
    );
    let name = side.name();
    match side.now {
        Conformity::Within => format!("the {name} gap is {gap} and keeps the smallest allowed {minimum}"),
        Conformity::Outside => format!("the {name} gap is {gap}, less than the smallest allowed {minimum}"),
        Conformity::Undecided => format!(
            "the {name} gap is {gap}, too close to the smallest allowed {minimum} to call ({} that it is kept)",
            chance(sure)
        ),
    }
}

/// How a thicker spacer moves things on this drive.
pub(super) fn effect_of_thickness(located: Located) -> &'static str {
    match located {
        Located::Hub => {
            "the axle holds the hub, so a thicker spacer moves the pulley inward: gap and belt offset shrink by as much"
        }
        Located::Pulley => {
            "the axle holds the pulley, so a spacer moves neither gap nor belt offset, whatever its thickness"
        }
        Located::Wheel => {
            "the whole wheel stands on the spacer, so a thicker one moves the pulley outward: gap and belt offset grow \
             by as much"
        }
    }
}

/// The names of corners: `the left corner`, `both corners`.
pub(super) fn corners(sides: &[&Side]) -> String {
    match sides {
        [_, _] => "both corners".to_owned(),
        _ => and(&sides
            .iter()
            .map(|side| format!("the {} corner", side.name()))
            .collect::<Vec<_>>()),
    }
}

/// What one further photo should show.
pub(super) const FURTHER_PHOTO: &str = "one more photo from a clearly different direction, with the card and both \
                                        edges sharp in it";
