//! From curves near their places to measured ones, under each chamfer that may be when the job states none.

use super::problem::{Problem, Pulley};
use super::seek::Found;
use super::start::{NEARLY_PARALLEL, RADIUS_SIGMA};
use crate::Error;
use crate::observe::Observed;
use crate::outline::{Edge, Rounds, Settled};
use crate::scene::Scene;
use shimwright_say::say;
use shimwright_solve::{Circle, CurvesState, Known, Shape};

/// How far the two faces of one pulley may fail to be parallel, rad: turned in one setting, or pressed on.
const FACES_PARALLEL: f64 = 0.001;
/// Chamfer legs tried when the job states none, mm: machined edges are usually broken by 0.1 to 0.2 mm (common practice, no
/// source).
const CHAMFERS: [f64; 4] = [0.0, 0.08, 0.16, 0.26];
/// Difference of misfit that makes one chamfer e times as likely as another: as in a part check.
const MISFIT_SCALE: f64 = 0.08;
/// Misfit of a piece that another chamfer explains and this one does not: that of a bad fit.
const MISSING_MISFIT: f64 = 3.0;

/// Measured curves.
pub(super) struct Measured {
    /// The likeliest outcome.
    pub best: Settled,
    /// How the curves show in it.
    pub edges: Vec<Edge>,
    /// What is known of them.
    pub known: Vec<Known>,
    /// Its chamfer leg, mm.
    pub chamfer: f64,
    /// Every outcome that was weighed: state, chamfer leg (mm), weight.
    pub outcomes: Vec<(CurvesState, f64, f64)>,
}

/// Measures the curves.
pub(super) fn measure(
    problem: &Problem,
    scene: &Scene,
    photos: &[Observed],
    found: &Found,
) -> Result<Measured, Error> {
    let legs = match problem.drive.rim_chamfer {
        Some(leg) => vec![leg],
        None => CHAMFERS.to_vec(),
    };
    let known = known(problem);
    let mut outcomes = Vec::new();
    let mut trouble = None;
    for leg in legs {
        let edges: Vec<Edge> = found
            .edges
            .iter()
            .map(|edge| Edge {
                // The face's line lies a leg further in and a leg further out along the axis than the flange's rim.
                chamfer: (-leg, leg),
                ..*edge
            })
            .collect();
        let rounds = Rounds {
            scene,
            photos,
            known: &known,
            edges: &edges,
            names: &problem.names,
        };
        let start = CurvesState {
            base: scene.state.clone(),
            curves: found.shapes.clone(),
            shifts: vec![0.0; scene.used.len() * found.shapes.len()],
        };
        match rounds.settle(start) {
            Ok(settled) => outcomes.push((settled, edges, leg)),
            Err(error) => trouble = Some(error),
        }
    }
    let weights = weights(&outcomes);
    let best = (0..weights.len()).max_by(|&a, &b| weights[a].total_cmp(&weights[b]));
    let Some(best) = best else {
        return Err(trouble.unwrap_or_else(|| {
            Error::unmeasurable(None, say!("no edge was measured"), say!("mark the edges"))
        }));
    };
    let told = outcomes
        .iter()
        .zip(&weights)
        .map(|((settled, _, leg), weight)| (settled.solution.state.clone(), *leg, *weight))
        .collect();
    let (best, edges, chamfer) = outcomes.swap_remove(best);
    Ok(Measured {
        best,
        edges,
        known,
        chamfer,
        outcomes: told,
    })
}

fn weights(outcomes: &[(Settled, Vec<Edge>, f64)]) -> Vec<f64> {
    let most = outcomes.iter().map(|o| o.0.sights.len()).max().unwrap_or(1) as f64;
    let badness: Vec<f64> = outcomes
        .iter()
        .map(|(settled, ..)| {
            let share = settled.sights.len() as f64 / most;
            settled.misfit * share + MISSING_MISFIT * (1.0 - share)
        })
        .collect();
    let least = badness.iter().copied().fold(f64::INFINITY, f64::min);
    let raw: Vec<f64> = badness
        .iter()
        .map(|b| ((least - b) / MISFIT_SCALE).exp())
        .collect();
    let total: f64 = raw.iter().sum();
    raw.iter().map(|w| w / total).collect()
}

fn known(problem: &Problem) -> Vec<Known> {
    let mut known: Vec<Known> = (0..problem.names.len())
        .map(|curve| Known::Radius {
            curve,
            radius: problem.radius(curve),
            sigma: RADIUS_SIGMA,
        })
        .collect();
    for pulley in Pulley::BOTH {
        if let (Some(inner), Some(outer)) = (problem.curve(pulley, false), problem.curve(pulley, true)) {
            known.push(Known::Parallel {
                curves: [inner, outer],
                sigma: FACES_PARALLEL,
            });
        }
    }
    let any = |pulley| problem.curve(pulley, true).or(problem.curve(pulley, false));
    if let (Some(driven), Some(motor)) = (any(Pulley::Driven), any(Pulley::Motor)) {
        known.push(Known::Parallel {
            curves: [driven, motor],
            sigma: NEARLY_PARALLEL,
        });
    }
    known
}

/// A curve of the state, which is a circle.
pub(super) fn circle(state: &CurvesState, curve: usize) -> Option<Circle> {
    match state.curves[curve] {
        Shape::Circle(circle) => Some(circle),
        Shape::Line(_) => None,
    }
}
