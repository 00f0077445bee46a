//! Which thickness would serve when nothing in stock does.

use super::case::{Case, Side};
use super::predict::{Fit, ordering};
use crate::stock::ASSUMED_RING_U95;
use shimwright_record::conformity::COVERAGE_95;
use shimwright_record::conformity::GUARD_FACTOR;
use shimwright_record::{Conformity, IdealSpacer};

/// Room for the last bits of floating point, mm: a ring of exactly the ideal thickness must pass the search's own rule.
const ROUNDING_ROOM: f64 = 1e-9;

/// The thickness that each corner would need, with the smallest change that keeps the minimum gap with 95 %
/// confidence, its own uncertainty of [`ASSUMED_RING_U95`] included. Empty when no thickness would serve.
pub(super) fn ideal(case: &Case) -> Vec<IdealSpacer> {
    let wanted = if case.drive.same_spacer_everywhere && case.sides.len() > 1 {
        common(case).map(|thickness| vec![thickness; case.sides.len()])
    } else {
        case.sides.iter().map(|side| alone(case, side)).collect()
    };
    let thicknesses = wanted.unwrap_or_default();
    let corners = case.sides.iter().map(|side| side.measured.corner);
    corners
        .zip(thicknesses)
        .map(|(corner, thickness)| IdealSpacer { corner, thickness })
        .collect()
}

/// What a ring of the ideal thickness would do at each corner.
pub(super) fn predicted(case: &Case, ideal: &[IdealSpacer]) -> Vec<Fit> {
    case.sides
        .iter()
        .zip(ideal)
        .map(|(side, wanted)| ordering(case, side, wanted.thickness, ASSUMED_RING_U95))
        .collect()
}

/// For one corner by itself: what is fitted, when that serves.
fn alone(case: &Case, side: &Side) -> Option<f64> {
    if side.now == Conformity::Within {
        return Some(side.measured.spacer_thickness);
    }
    limit(case, side).filter(|thickness| *thickness > 0.0)
}

/// For all corners together: the limit of the corner that needs most, or what is fitted at one of them when that is
/// on the safe side of the limit.
fn common(case: &Case) -> Option<f64> {
    let factor = case.drive.located.gap_per_spacer();
    let fitted = case.sides.iter().map(|side| side.measured.spacer_thickness);
    if factor == 0.0 {
        let sound = case.sides.iter().all(|side| side.now == Conformity::Within);
        return sound.then(|| fitted.fold(0.0, f64::max));
    }
    let limits = case
        .sides
        .iter()
        .map(|side| limit(case, side))
        .collect::<Option<Vec<_>>>()?;
    let thickness = if factor > 0.0 {
        limits
            .into_iter()
            .chain([fitted.fold(f64::INFINITY, f64::min)])
            .fold(f64::NEG_INFINITY, f64::max)
    } else {
        limits
            .into_iter()
            .chain([fitted.fold(0.0, f64::max)])
            .fold(f64::INFINITY, f64::min)
    };
    (thickness > 0.0).then_some(thickness)
}

/// The thickness of a new ring at which the gap just keeps its minimum; none when the gap does not move with it.
fn limit(case: &Case, side: &Side) -> Option<f64> {
    let factor = case.drive.located.gap_per_spacer();
    if factor == 0.0 {
        return None;
    }
    let gap = &side.measured.gap;
    let step_u95 = factor * side.fitted_u95(case).hypot(ASSUMED_RING_U95);
    let guard = GUARD_FACTOR * gap.u95.hypot(step_u95) / COVERAGE_95;
    let short = case.drive.minimum_gap + guard + ROUNDING_ROOM - gap.value;
    Some(side.measured.spacer_thickness + short / factor)
}
