//! What the edges can settle to. An edge can settle with one of its two lines taken for the other, so it is tried from
//! several places, and what comes out is weighed.

use super::chamfer::{self, UNKNOWN_CHAMFER};
use super::problem::Problem;
use super::settle::{Settled, Tables};
use super::start::Start;
use shimwright_detect::cores;
use shimwright_solve::JointState;

/// From where the edges are let settle: the mount's edge and the rim moved along the axis, in widths of their
/// chamfers.
const STARTS: [(f64, f64); 7] = [
    (0.0, 0.0),
    (0.0, -1.2),
    (0.0, -0.6),
    (0.0, 0.6),
    (0.0, 1.2),
    (-1.0, 0.0),
    (1.0, 0.0),
];

/// Two outcomes whose features lie nearer than this everywhere are one, mm.
const SAME: f64 = 0.01;
/// How far from a feature's middle that is looked at, mm.
const ARM: f64 = 30.0;

/// Difference of cost that makes one outcome e times as likely as another. Wider than the 2 that chance alone would
/// allow: what the model leaves out shifts costs as well.
pub(crate) const COST_SCALE: f64 = 12.0;

/// Settles from every start about a state, on all cores. Starts that end in one place count once.
pub(crate) fn settle_about(
    problem: &Problem,
    start: &Start,
    about: &JointState,
    tables: &Tables,
) -> Vec<Settled> {
    let mount_leg = problem.drive.mount_chamfer.unwrap_or(UNKNOWN_CHAMFER);
    let rim_leg = problem.drive.rim_chamfer.unwrap_or(UNKNOWN_CHAMFER);
    let from = |i: usize| {
        let (mount, rim) = STARTS[i];
        let mut from = about.clone();
        if let (Some(line), Some(circle)) = (&mut from.line, &mut from.circle) {
            let axis = chamfer::axis(line, circle);
            line.point += axis * (mount * mount_leg);
            circle.centre += axis * (rim * rim_leg);
        }
        tables.settle(problem, start, from)
    };
    let all = cores::map(STARTS.len(), 1, from).into_iter().flatten().collect();
    distinct(all)
}

/// The outcome of least cost.
pub(crate) fn best_of(all: &[Settled]) -> Option<&Settled> {
    all.iter().min_by(|a, b| a.cost.total_cmp(&b.cost))
}

/// Weights of the outcomes, adding up to one.
pub(crate) fn weights(all: &[Settled]) -> Vec<f64> {
    let least = all.iter().map(|s| s.cost).fold(f64::INFINITY, f64::min);
    let raw: Vec<f64> = all
        .iter()
        .map(|s| ((least - s.cost) / COST_SCALE).exp())
        .collect();
    let total: f64 = raw.iter().sum();
    raw.iter().map(|w| w / total).collect()
}

/// The outcomes without repetitions.
fn distinct(all: Vec<Settled>) -> Vec<Settled> {
    let mut kept: Vec<Settled> = Vec::new();
    for settled in all {
        if !kept.iter().any(|other| same(&settled, other)) {
            kept.push(settled);
        }
    }
    kept
}

fn same(one: &Settled, other: &Settled) -> bool {
    let places = |s: &Settled| {
        let (line, circle) = (s.solution.state.line?, s.solution.state.circle?);
        Some([
            line.point,
            circle.centre,
            line.direction * ARM,
            circle.normal * ARM,
        ])
    };
    match (places(one), places(other)) {
        (Some(a), Some(b)) => a.iter().zip(&b).all(|(p, q)| (p - q).norm() < SAME),
        _ => false,
    }
}
