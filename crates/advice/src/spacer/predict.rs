//! What a stack of rings would do at a corner: gap, belt offset, slide of the motor pulley, each with uncertainty.

use super::case::{Case, Fitted, Side};
use shimwright_record::conformity::{COVERAGE_95, at_least, normal_cdf};
use shimwright_record::{Conformity, Quantity};

/// How exactly a motor pulley is set by hand, expanded uncertainty (95 %), mm. An assumption, no source: slid against
/// callipers or a feeler gauge and held while its screws are tightened.
pub(super) const SLIDE_U95: f64 = 0.1;

/// A prediction for one stack at one corner. Lengths mm, uncertainties expanded at 95 %.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fit {
    /// Thickness of the stack.
    pub thickness: f64,
    /// Its thickness less what is fitted now; exactly 0 when that stays.
    pub step: f64,
    /// Rings in it.
    pub rings: usize,
    /// Whether what is fitted stays.
    pub stays: bool,
    pub gap: f64,
    pub gap_u95: f64,
    /// Whether the gap keeps its minimum, and how probable that is.
    pub state: Conformity,
    pub certainty: f64,
    /// The least sure of the other clearances, when it is not sure to keep its minimum.
    pub blocked: Option<Blocked>,
    /// Belt offset with the motor pulley slid by `slide`.
    pub offset: f64,
    pub offset_u95: f64,
    pub slide: f64,
}

/// A clearance besides the gap that would not surely keep its minimum. Lengths mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Blocked {
    /// Its place among the corner's clearances.
    pub clearance: usize,
    pub value: f64,
    pub u95: f64,
    pub state: Conformity,
    pub certainty: f64,
}

impl Fit {
    /// Whether it may be chosen: every clearance keeps its minimum with 95 % confidence.
    pub fn keeps_minimum(&self) -> bool {
        self.state == Conformity::Within && self.blocked.is_none()
    }

    /// Whether some clearance surely falls below its minimum.
    pub fn surely_breaks(&self) -> bool {
        self.state == Conformity::Outside || self.blocked.is_some_and(|one| one.state == Conformity::Outside)
    }

    /// How probable it is that the least sure clearance keeps its minimum.
    pub fn least_certainty(&self) -> f64 {
        self.blocked.map_or(1.0, |one| one.certainty).min(self.certainty)
    }

    /// The gap as a quantity.
    pub fn gap(&self) -> Quantity {
        millimetres(self.gap, self.gap_u95)
    }

    /// The belt offset as a quantity.
    pub fn offset(&self) -> Quantity {
        millimetres(self.offset, self.offset_u95)
    }

    /// Probability that mount and rim touch.
    pub fn rub_chance(&self) -> f64 {
        rub_chance(self.gap, self.gap_u95)
    }
}

/// Probability that a gap is not above 0, for a normally distributed error.
pub(super) fn rub_chance(gap: f64, u95: f64) -> f64 {
    if u95 > 0.0 {
        normal_cdf(-gap / (u95 / COVERAGE_95))
    } else if gap > 0.0 {
        0.0
    } else {
        1.0
    }
}

/// A quantity in mm.
pub(super) fn millimetres(value: f64, u95: f64) -> Quantity {
    Quantity {
        value,
        u95,
        unit: "mm".to_owned(),
    }
}

/// Leaves what is fitted at a corner.
pub(super) fn staying(case: &Case, side: &Side) -> Fit {
    let rings = match &side.fitted {
        Fitted::Known(rings) => rings.len(),
        Fitted::Unknown { .. } => 1,
    };
    fit(
        case,
        side,
        Change {
            thickness: side.measured.spacer_thickness,
            step: 0.0,
            step_u: 0.0,
            rings,
            stays: true,
        },
    )
}

/// Fits a stack of sorted `rings` at a corner; the same rings as are fitted now count as staying.
pub(super) fn fitting(case: &Case, side: &Side, rings: &[usize]) -> Fit {
    if matches!(&side.fitted, Fitted::Known(fitted) if fitted == rings) {
        return staying(case, side);
    }
    let thickness = case.thickness(rings);
    let step = thickness - side.measured.spacer_thickness;
    let step_u = step_uncertainty(case, &side.fitted, rings);
    fit(
        case,
        side,
        Change {
            thickness,
            step,
            step_u,
            rings: rings.len(),
            stays: false,
        },
    )
}

/// Fits a ring that is not in stock, of a given thickness and expanded uncertainty.
pub(super) fn ordering(case: &Case, side: &Side, thickness: f64, u95: f64) -> Fit {
    let step = thickness - side.measured.spacer_thickness;
    if step == 0.0 {
        return staying(case, side);
    }
    let step_u = side.fitted_u95(case).hypot(u95) / COVERAGE_95;
    fit(
        case,
        side,
        Change {
            thickness,
            step,
            step_u,
            rings: 1,
            stays: false,
        },
    )
}

/// A change of spacer; `step_u` is the standard uncertainty of `step`.
struct Change {
    thickness: f64,
    step: f64,
    step_u: f64,
    rings: usize,
    stays: bool,
}

fn fit(case: &Case, side: &Side, change: Change) -> Fit {
    let drive = case.drive;
    let (gap, offset) = (&side.measured.gap, &side.measured.belt_offset);
    let gap_factor = drive.located.gap_per_spacer();
    let offset_factor = drive.located.belt_offset_per_spacer();
    let step_u95 = change.step_u * COVERAGE_95;

    let gap_after = gap.value + gap_factor * change.step;
    let gap_u95 = gap.u95.hypot(gap_factor * step_u95);
    let (state, certainty) = at_least(gap_after, gap_u95, drive.minimum_gap);

    let blocked = blocked(side, change.step, step_u95);

    let unslid = offset.value + offset_factor * change.step;
    let [inward, outward] = drive.motor_slide;
    // Sliding the motor pulley outward takes as much off the offset; it goes as far as it helps.
    let slide = unslid.clamp(inward, outward) + 0.0;
    let slide_u95 = if slide == 0.0 { 0.0 } else { SLIDE_U95 };
    Fit {
        thickness: change.thickness,
        step: change.step,
        rings: change.rings,
        stays: change.stays,
        gap: gap_after,
        gap_u95,
        state,
        certainty,
        blocked,
        offset: unslid - slide,
        offset_u95: offset.u95.hypot(offset_factor * step_u95).hypot(slide_u95),
        slide,
    }
}

/// The least sure clearance that does not keep its minimum after a change.
fn blocked(side: &Side, step: f64, step_u95: f64) -> Option<Blocked> {
    let after = side.clearances.iter().enumerate().map(|(clearance, one)| {
        let value = one.value + one.factor * step;
        let u95 = one.u95.hypot(one.factor * step_u95);
        let (state, certainty) = at_least(value, u95, one.minimum);
        Blocked {
            clearance,
            value,
            u95,
            state,
            certainty,
        }
    });
    after
        .filter(|one| one.state != Conformity::Within)
        .min_by(|a, b| a.certainty.total_cmp(&b.certainty))
}

/// Standard uncertainty of a change of rings, mm. A ring that stays in the stack cancels out; rings of one size share
/// one error, so what counts is how many more or fewer of each size there are.
fn step_uncertainty(case: &Case, fitted: &Fitted, rings: &[usize]) -> f64 {
    let (old, unknown_u95) = match fitted {
        Fitted::Known(old) => (old.as_slice(), 0.0),
        Fitted::Unknown { u95, .. } => (&[][..], *u95),
    };
    let count = |stack: &[usize], ring| stack.iter().filter(|&&other| other == ring).count() as f64;
    let mut square = (unknown_u95 / COVERAGE_95).powi(2);
    for (place, &ring) in rings.iter().enumerate() {
        if !rings[..place].contains(&ring) {
            square += ((count(rings, ring) - count(old, ring)) * case.ring_u(ring)).powi(2);
        }
    }
    for (place, &ring) in old.iter().enumerate() {
        if !old[..place].contains(&ring) && !rings.contains(&ring) {
            square += (count(old, ring) * case.ring_u(ring)).powi(2);
        }
    }
    square.sqrt()
}
