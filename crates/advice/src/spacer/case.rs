//! The question, checked, with what is fitted recognised.

use crate::asked::check_quantity;
use crate::stock::{ASSUMED_RING_U95, check_stock, same_label};
use crate::wording::STACK_JOINT;
use crate::{Error, MOST_RINGS, check_drive};
use shimwright_record::Phrase;
use shimwright_record::conformity::{COVERAGE_95, at_least};
use shimwright_record::{Conformity, Corner, CornerGap, Drive, SpacerQuestion, SpacerStock};
use shimwright_say::say;

/// A sound question. Corners are in order, left first.
pub(super) struct Case<'a> {
    pub drive: &'a Drive,
    pub stock: &'a [SpacerStock],
    pub sides: Vec<Side<'a>>,
}

/// A measured corner and what is fitted there.
pub(super) struct Side<'a> {
    pub measured: &'a CornerGap,
    pub fitted: Fitted,
    /// Whether the gap keeps its minimum as it is now.
    pub now: Conformity,
    /// What else a spacer moves here.
    pub clearances: Vec<Clearance<'a>>,
}

/// A clearance besides the gap, with the spacer that is fitted now.
pub(super) struct Clearance<'a> {
    pub name: &'a str,
    /// mm, its expanded uncertainty, and the least that is allowed.
    pub value: f64,
    pub u95: f64,
    pub minimum: f64,
    /// Change for each mm of spacer.
    pub factor: f64,
}

/// The spacer that was fitted when the gap was measured.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Fitted {
    /// Rings of sizes that the stock knows, as sorted places in the stock.
    Known(Vec<usize>),
    /// Anything else. It may stay, and its thickness counts with this expanded uncertainty, mm.
    Unknown { u95: f64, mismatch: bool },
}

impl<'a> Case<'a> {
    /// Checks a question.
    pub fn new(question: &'a SpacerQuestion) -> Result<Self, Error> {
        let contradictions = check_drive(&question.drive);
        if !contradictions.is_empty() {
            return Err(Error::Drive { contradictions });
        }
        check_stock(&question.stock)?;
        if question.corners.is_empty() {
            return Err(Error::NoCorner);
        }
        let mut sides = Vec::new();
        for corner in Corner::BOTH {
            let mut given = question
                .corners
                .iter()
                .filter(|measured| measured.corner == corner);
            let Some(measured) = given.next() else { continue };
            if given.next().is_some() {
                return Err(Error::CornerTwice { corner });
            }
            check_measured(measured)?;
            let fitted = recognise(measured, &question.stock);
            let now = at_least(measured.gap.value, measured.gap.u95, question.drive.minimum_gap).0;
            sides.push(Side {
                measured,
                fitted,
                now,
                clearances: clearances(&question.drive, measured),
            });
        }
        Ok(Self {
            drive: &question.drive,
            stock: &question.stock,
            sides,
        })
    }

    /// The corner that was not measured, when one was.
    pub fn other_corner(&self) -> Option<Corner> {
        match self.sides.as_slice() {
            [side] => Corner::BOTH
                .into_iter()
                .find(|&corner| corner != side.measured.corner),
            _ => None,
        }
    }

    /// The corner that must be measured before anything is fitted, because its wheel must get the same spacer.
    pub fn measure_first(&self) -> Option<Corner> {
        self.other_corner().filter(|_| self.drive.same_spacer_everywhere)
    }

    /// Standard uncertainty of a ring's thickness, mm.
    pub fn ring_u(&self, ring: usize) -> f64 {
        self.stock[ring].u95 / COVERAGE_95
    }

    /// Thickness of a stack, mm.
    pub fn thickness(&self, rings: &[usize]) -> f64 {
        rings.iter().map(|&ring| self.stock[ring].thickness).sum()
    }

    /// Labels of a stack.
    pub fn labels(&self, rings: &[usize]) -> Vec<String> {
        rings
            .iter()
            .map(|&ring| self.stock[ring].label.trim().to_owned())
            .collect()
    }

    /// How many rings of a size can be used: those in the drawer and those on the measured corners.
    pub fn available(&self, ring: usize) -> usize {
        let fitted: usize = self.sides.iter().map(|side| side.fitted.uses(ring)).sum();
        fitted.saturating_add(self.stock[ring].count as usize)
    }

    /// Whether there are enough rings for all these stacks at once.
    pub fn enough<'s>(&self, stacks: impl IntoIterator<Item = &'s [usize]> + Clone) -> bool {
        self.short_of(stacks).is_none()
    }

    /// The first size of which these stacks together need more than there are: (place in stock, needed, available).
    pub fn short_of<'s>(
        &self,
        stacks: impl IntoIterator<Item = &'s [usize]> + Clone,
    ) -> Option<(usize, usize, usize)> {
        let all = || stacks.clone().into_iter().flatten().copied();
        all().find_map(|ring| {
            let needed = all().filter(|&other| other == ring).count();
            let available = self.available(ring);
            (needed > available).then_some((ring, needed, available))
        })
    }
}

impl Side<'_> {
    /// The corner's name.
    pub fn name(&self) -> Phrase {
        self.measured.corner.words()
    }

    /// The label of what is fitted; a name for it when it has none.
    pub fn fitted_label(&self) -> Phrase {
        match self.measured.spacer_label.trim() {
            "" if self.measured.spacer_thickness == 0.0 => say!("no spacer"),
            "" => say!("the fitted spacer"),
            label => Phrase::foreign(label),
        }
    }

    /// Expanded uncertainty of the thickness of what is fitted, mm.
    pub fn fitted_u95(&self, case: &Case) -> f64 {
        match &self.fitted {
            Fitted::Known(rings) => stack_u(rings, case.stock) * COVERAGE_95,
            Fitted::Unknown { u95, .. } => *u95,
        }
    }
}

impl Fitted {
    fn uses(&self, ring: usize) -> usize {
        match self {
            Self::Known(rings) => rings.iter().filter(|&&fitted| fitted == ring).count(),
            Self::Unknown { .. } => 0,
        }
    }
}

/// Standard uncertainty of a stack, mm. Rings of one size share one measured thickness and so its error: their
/// errors add up; errors of different sizes are independent and add in square.
pub(super) fn stack_u(rings: &[usize], stock: &[SpacerStock]) -> f64 {
    let mut square = 0.0;
    for (place, &ring) in rings.iter().enumerate() {
        if !rings[..place].contains(&ring) {
            let many = rings.iter().filter(|&&other| other == ring).count();
            square += (many as f64 * stock[ring].u95 / COVERAGE_95).powi(2);
        }
    }
    square.sqrt()
}

/// Recognises a fitted spacer by its label, if the thickness that was entered agrees with the stock's.
fn recognise(measured: &CornerGap, stock: &[SpacerStock]) -> Fitted {
    if measured.spacer_thickness == 0.0 {
        return Fitted::Unknown {
            u95: 0.0,
            mismatch: false,
        };
    }
    let unknown = |mismatch| Fitted::Unknown {
        u95: ASSUMED_RING_U95,
        mismatch,
    };
    let Some(rings) = rings_named(&measured.spacer_label, stock) else {
        return unknown(false);
    };
    let thickness: f64 = rings.iter().map(|&ring| stock[ring].thickness).sum();
    let tolerance = ASSUMED_RING_U95.hypot(stack_u(&rings, stock) * COVERAGE_95);
    if (thickness - measured.spacer_thickness).abs() > tolerance {
        return unknown(true);
    }
    Fitted::Known(rings)
}

fn rings_named(label: &str, stock: &[SpacerStock]) -> Option<Vec<usize>> {
    let named = |label: &str| stock.iter().position(|ring| same_label(&ring.label, label));
    if let Some(single) = named(label) {
        return Some(vec![single]);
    }
    let mut rings = label.split(STACK_JOINT).map(named).collect::<Option<Vec<_>>>()?;
    rings.sort_unstable();
    (rings.len() <= MOST_RINGS as usize).then_some(rings)
}

/// The clearances of a corner, moved from the spacer of their day to the one that is fitted now.
fn clearances<'a>(drive: &'a Drive, measured: &CornerGap) -> Vec<Clearance<'a>> {
    let described = drive.description.iter().flat_map(|drive| &drive.clearances);
    described
        .filter(|one| one.corner == measured.corner)
        .map(|one| {
            let factor = f64::from(one.per_spacer);
            let step = measured.spacer_thickness - one.spacer_thickness;
            // Two spacers whose thickness somebody entered; none, where it is the same one still.
            let step_u95 = if step == 0.0 {
                0.0
            } else {
                ASSUMED_RING_U95.hypot(ASSUMED_RING_U95)
            };
            Clearance {
                name: one.name.trim(),
                value: one.value + factor * step,
                u95: one.u95.hypot(factor * step_u95),
                minimum: one.minimum,
                factor,
            }
        })
        .collect()
}

pub(super) fn check_measured(measured: &CornerGap) -> Result<(), Error> {
    let name = measured.corner.words();
    check_quantity(&measured.gap, say!("the gap on the {name}"), "mm")?;
    check_quantity(&measured.belt_offset, say!("the belt offset on the {name}"), "mm")?;
    let thickness = measured.spacer_thickness;
    if !(thickness >= 0.0 && thickness.is_finite()) {
        return Err(Error::BadNumber {
            what: say!("the thickness of the spacer fitted on the {name}"),
            value: thickness,
            wanted: say!("its thickness in mm, or 0 when none is fitted"),
        });
    }
    Ok(())
}
