//! Which thickness would serve when nothing in stock does.

use super::case::{Case, Side};
use super::predict::{Fit, ordering, staying};
use crate::stock::ASSUMED_RING_U95;
use shimwright_record::conformity::{COVERAGE_95, GUARD_FACTOR, at_least};
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
    let fitted = side.measured.spacer_thickness;
    if staying(case, side).keeps_minimum() {
        return Some(fitted);
    }
    Range::of(case, side)?.nearest(fitted)
}

/// For all corners together: what every corner allows, nearest to what is fitted on the far side of the limit.
fn common(case: &Case) -> Option<f64> {
    let fitted = case.sides.iter().map(|side| side.measured.spacer_thickness);
    // A thinner ring than the thinnest fitted, or a thicker than the thickest, is a change on every corner.
    let nearest = if case.drive.located.gap_per_spacer() > 0.0 {
        fitted.fold(f64::INFINITY, f64::min)
    } else {
        fitted.fold(0.0, f64::max)
    };
    let ranges = case.sides.iter().map(|side| Range::of(case, side));
    ranges
        .reduce(|all, one| Some(all?.and(one?)))
        .flatten()?
        .nearest(nearest)
}

/// Thicknesses, mm, of a new ring with which every clearance of a corner keeps its minimum.
#[derive(Clone, Copy)]
struct Range {
    least: f64,
    most: f64,
}

impl Range {
    /// None when some clearance does not move with the spacer and does not keep its minimum.
    fn of(case: &Case, side: &Side) -> Option<Self> {
        let gap = &side.measured.gap;
        let located = case.drive.located.gap_per_spacer();
        let limits = side
            .clearances
            .iter()
            .map(|one| (one.value, one.u95, one.minimum, one.factor))
            .chain([(gap.value, gap.u95, case.drive.minimum_gap, located)]);
        let mut range = Self {
            least: 0.0,
            most: f64::INFINITY,
        };
        for (value, u95, minimum, factor) in limits {
            let step_u95 = factor * side.fitted_u95(case).hypot(ASSUMED_RING_U95);
            let guard = GUARD_FACTOR * u95.hypot(step_u95) / COVERAGE_95;
            let short = minimum + guard + ROUNDING_ROOM - value;
            if factor == 0.0 {
                // The room for rounding is for rings; what no ring moves is judged as it is.
                if at_least(value, u95, minimum).0 != Conformity::Within {
                    return None;
                }
                continue;
            }
            let limit = side.measured.spacer_thickness + short / factor;
            if factor > 0.0 {
                range.least = range.least.max(limit);
            } else {
                range.most = range.most.min(limit);
            }
        }
        Some(range)
    }

    fn and(self, other: Self) -> Self {
        Self {
            least: self.least.max(other.least),
            most: self.most.min(other.most),
        }
    }

    /// The thickness in the range that is nearest to another; none for an empty range or no ring at all.
    fn nearest(self, to: f64) -> Option<f64> {
        (self.least <= self.most)
            .then(|| to.clamp(self.least, self.most))
            .filter(|thickness| *thickness > 0.0)
    }
}
