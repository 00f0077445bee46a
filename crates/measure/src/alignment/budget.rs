//! The parts of an alignment's uncertainty.

use super::problem::{Problem, Pulley};
use shimwright_record::BudgetLine;
use shimwright_say::say;
use shimwright_solve::Group;

/// Standard uncertainty of where an edge "is" when its chamfer is known, mm: rounding and burrs.
const EDGE_MODEL: f64 = 0.012;
/// Standard uncertainty of a chamfer's leg that the job does not state, mm.
const UNKNOWN_LEG: f64 = 0.06;

/// Variances of a quantity: those of the solve by group, and those that the solve knows nothing of.
#[derive(Clone, Debug)]
pub(super) struct Parts {
    /// By group of the solve.
    pub solved: Vec<f64>,
    /// Rounding and burrs, and chamfers that are not stated.
    pub edges: f64,
    /// Stated widths.
    pub widths: f64,
    /// The wheel pulley's own run-out.
    pub runout: f64,
}

impl Parts {
    /// The standard uncertainty.
    pub fn u(&self) -> f64 {
        let solved: f64 = self.solved.iter().map(|part| part.max(0.0)).sum();
        (solved + self.edges + self.widths + self.runout).sqrt()
    }

    /// The same quantity in another unit.
    pub fn scaled(&self, factor: f64) -> Self {
        let f2 = factor * factor;
        Self {
            solved: self.solved.iter().map(|part| part * f2).collect(),
            edges: self.edges * f2,
            widths: self.widths * f2,
            runout: self.runout * f2,
        }
    }

    /// The lines of a budget, largest first.
    pub fn lines(&self, problem: &Problem) -> Vec<BudgetLine> {
        let part = |group: Group| self.solved.get(group as usize).copied().unwrap_or(0.0).max(0.0);
        let mut lines: Vec<BudgetLine> = [
            (
                say!("corner noise"),
                part(Group::Corners),
                say!("how well the card's corners were located"),
            ),
            (
                say!("edge noise"),
                part(Group::Edges) + part(Group::EdgeShift),
                say!("how well the pulleys' edges were located, and what light may do to them"),
            ),
            (
                say!("camera"),
                part(Group::Camera),
                say!("what is known of the lens beforehand"),
            ),
            (
                say!("print scale"),
                part(Group::Scale),
                say!("how well the print's size is known"),
            ),
            (
                say!("target flatness"),
                part(Group::Flatness),
                say!("how flat the card is taken to be"),
            ),
            (
                say!("pulleys"),
                part(Group::Features),
                say!("how well the diameters are known and how true the pulleys' faces are taken to be"),
            ),
            (
                say!("chamfer"),
                self.edges,
                if problem.drive.rim_chamfer.is_some() {
                    say!("rounding and burrs of the edges")
                } else {
                    say!("the chamfers are not known: state them as `rim_chamfer` to narrow this")
                },
            ),
            (
                say!("stated width"),
                self.widths,
                say!("how well the stated width is known"),
            ),
            (
                say!("wheel run-out"),
                self.runout,
                say!("the wheel pulley's stated axial run-out tilts its plane against the wheel's"),
            ),
        ]
        .into_iter()
        .filter(|(name, variance, _)| {
            *variance > 0.0 || !matches!(name.as_str(), "stated width" | "wheel run-out")
        })
        .map(|(name, variance, note)| BudgetLine {
            part: name,
            u: variance.sqrt(),
            note,
        })
        .collect();
        lines.sort_by(|a, b| b.u.total_cmp(&a.u));
        lines
    }
}

/// Variance of the offset by the edges' model, mm2: each face may stand out or back, and a middle between two faces halves
/// what is not common to both.
pub(super) fn edge_model(problem: &Problem) -> f64 {
    let of = |pulley: Pulley| {
        let one = EDGE_MODEL * EDGE_MODEL;
        if problem.has_both(pulley) {
            one / 2.0
        } else if problem.drive.rim_chamfer.is_some() {
            one
        } else {
            one + UNKNOWN_LEG * UNKNOWN_LEG
        }
    };
    Pulley::BOTH.into_iter().map(of).sum()
}

/// Variance of the offset by stated widths, mm2.
pub(super) fn width_part(problem: &Problem) -> f64 {
    let of = |pulley: Pulley| match problem.width(pulley) {
        Some(width) if !problem.has_both(pulley) => (width.u95 / 1.96 / 2.0).powi(2),
        _ => 0.0,
    };
    Pulley::BOTH.into_iter().map(of).sum()
}

/// Variance of each component of the wheel pulley's tilt by its axial run-out, rad2: a run-out of known size stands at an angle
/// that the photos do not tell.
pub(super) fn wobble(problem: &Problem) -> f64 {
    problem.drive.axial_runout.map_or(0.0, |runout| {
        let tilt = runout.value / (2.0 * problem.driven_radius());
        let unsure = runout.u95 / 1.96 / (2.0 * problem.driven_radius());
        (tilt * tilt + unsure * unsure) / 2.0
    })
}
