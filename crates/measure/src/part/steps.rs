//! From marks to solved curves.

use super::problem::{EDGE_A, EDGE_B, INNER, Problem, TALLEST};
use crate::Error;
use crate::observe::Observed;
use crate::outline::{ChamferLight, Edge, Rounds, Settled, Sought, Wall, flat_curve};
use crate::scene::Scene;
use shimwright_geom::Vec3;
use shimwright_say::say;
use shimwright_solve::{CurvesState, Known, Shape};

/// How far the upper face may fail to lie along the sheet, rad: parts are flat, paper nearly.
const FLAT: f64 = 0.005;
/// How far two edges of one face may differ in height, mm.
const LEVEL: f64 = 0.2;
/// How far two edges that are measured across may fail to be parallel, rad.
const PARALLEL: f64 = 0.02;
/// Chamfer legs tried when the job states none, mm, with how likely each is beforehand: machined edges are usually broken
/// by 0.1 to 0.2 mm (common practice, no source).
const CHAMFERS: [(f64, f64); 6] = [
    (0.0, 0.6),
    (0.06, 0.8),
    (0.12, 1.0),
    (0.18, 1.0),
    (0.24, 0.8),
    (0.32, 0.4),
];
/// Difference of misfit that makes one chamfer e times as likely as another. Far wider than chance alone would allow: what
/// the model leaves out shifts it by about as much.
const MISFIT_SCALE: f64 = 0.15;
/// Misfit of a piece that another chamfer explains and this one does not: that of a bad fit.
const MISSING_MISFIT: f64 = 3.0;

/// Curves near their places.
pub(super) struct Found {
    pub shapes: Vec<Shape>,
    pub edges: Vec<Edge>,
}

/// Measured curves.
pub(super) struct Measured {
    /// The likeliest outcome.
    pub best: Settled,
    /// How the curves show in it.
    pub edges: Vec<Edge>,
    /// What is known of them in it.
    pub known: Vec<Known>,
    /// Its chamfer leg, mm.
    pub chamfer: f64,
    /// Every outcome that was weighed: state, chamfer leg (mm), weight.
    pub outcomes: Vec<(CurvesState, f64, f64)>,
}

/// Finds the curves that are meant by the marks.
pub(super) fn find(problem: &Problem, scene: &Scene, photos: &[Observed]) -> Result<Found, Error> {
    let mut found = Found {
        shapes: vec![],
        edges: vec![],
    };
    for (curve, name) in problem.names.iter().enumerate() {
        let heights = problem.height(curve).map_or((0.0, TALLEST), |height| {
            let reach = (2.0 * height.u95).max(0.5);
            ((height.value - reach).max(0.0), height.value + reach)
        });
        let marks = scene.used.iter().map(|&i| problem.marks[i][curve].as_slice());
        let sought = Sought {
            name,
            straight: problem.is_straight(curve),
            marks: marks.collect(),
            heights,
            wall: (!problem.is_straight(curve)).then(|| wall(name)),
        };
        let (shape, edge) = flat_curve(scene, photos, &sought)?;
        found.shapes.push(shape);
        found.edges.push(edge);
    }
    if let (Some(a), Some(b)) = (problem.curve(EDGE_A), problem.curve(EDGE_B)) {
        turn_outward(&mut found, a, b);
        turn_outward(&mut found, b, a);
    }
    Ok(found)
}

/// On which side of a curve its wall stands.
fn wall(name: &str) -> Wall {
    if name == INNER {
        Wall::Inward
    } else {
        Wall::Outward
    }
}

/// The outward side of a straight edge is the one away from the other edge.
fn turn_outward(found: &mut Found, edge: usize, other: usize) {
    let away = found.shapes[edge].middle() - found.shapes[other].middle();
    let (outward, up) = found.edges[edge].across;
    if outward.dot(&away) < 0.0 {
        found.edges[edge].across = (-outward, up);
    }
}

/// Measures the curves, under each chamfer that may be when the job states none.
pub(super) fn measure(
    problem: &Problem,
    scene: &Scene,
    photos: &[Observed],
    found: &Found,
) -> Result<Measured, Error> {
    let legs = match problem.drive.rim_chamfer {
        Some(leg) => vec![(leg, 1.0)],
        None => CHAMFERS.to_vec(),
    };
    let mut outcomes = Vec::new();
    let mut trouble = None;
    for (leg, likely) in legs {
        match with_chamfer(problem, scene, photos, (found, leg)) {
            Ok((settled, edges, known)) => outcomes.push((settled, edges, known, leg, likely)),
            Err(error) => trouble = Some(error),
        }
    }
    let most = outcomes.iter().map(|o| o.0.sights.len()).max().unwrap_or(1) as f64;
    let badness = |settled: &Settled| {
        let share = settled.sights.len() as f64 / most;
        settled.misfit * share + MISSING_MISFIT * (1.0 - share)
    };
    let least = outcomes
        .iter()
        .map(|o| badness(&o.0))
        .fold(f64::INFINITY, f64::min);
    let raw: Vec<f64> = outcomes
        .iter()
        .map(|o| o.4 * ((least - badness(&o.0)) / MISFIT_SCALE).exp())
        .collect();
    let total: f64 = raw.iter().sum();
    let weights: Vec<f64> = raw.iter().map(|w| w / total).collect();
    let best = (0..weights.len()).max_by(|&a, &b| weights[a].total_cmp(&weights[b]));
    let Some(best) = best else {
        return Err(trouble.unwrap_or_else(|| {
            Error::unmeasurable(None, say!("no edge was measured"), say!("mark the edges"))
        }));
    };
    let told = outcomes
        .iter()
        .zip(&weights)
        .map(|(o, weight)| (o.0.solution.state.clone(), o.3, *weight))
        .collect();
    let (best, edges, known, chamfer, _) = outcomes.swap_remove(best);
    Ok(Measured {
        best,
        edges,
        known,
        chamfer,
        outcomes: told,
    })
}

fn with_chamfer(
    problem: &Problem,
    scene: &Scene,
    photos: &[Observed],
    (found, leg): (&Found, f64),
) -> Result<(Settled, Vec<Edge>, Vec<Known>), Error> {
    let edges: Vec<Edge> = (0..found.edges.len())
        .map(|curve| {
            // The wall stands outside an outer chamfer's upper line and inside a bore's.
            let out = if problem.names[curve] == INNER { leg } else { -leg };
            Edge {
                chamfer: (out, leg),
                light: ChamferLight::Shared(wall(problem.names[curve])),
                ..found.edges[curve]
            }
        })
        .collect();
    let known = known(problem, leg);
    let rounds = Rounds {
        scene,
        photos,
        known: &known,
        edges: &edges,
        names: &problem.names,
    };
    let start = CurvesState {
        base: scene.state.clone(),
        curves: found.shapes.iter().map(|shape| lowered(shape, leg)).collect(),
        shifts: vec![0.0; scene.used.len() * found.shapes.len()],
    };
    let settled = rounds.settle(start)?;
    Ok((settled, edges, known))
}

/// The wall's upper end lies a chamfer's leg below the face.
fn lowered(shape: &Shape, leg: f64) -> Shape {
    let down = Vec3::z() * leg;
    match *shape {
        Shape::Line(mut line) => {
            line.point += down;
            Shape::Line(line)
        }
        Shape::Circle(mut circle) => {
            circle.centre += down;
            Shape::Circle(circle)
        }
    }
}

fn known(problem: &Problem, leg: f64) -> Vec<Known> {
    let mut known = Vec::new();
    for curve in 0..problem.names.len() {
        known.push(Known::Flat { curve, sigma: FLAT });
        if let Some(height) = problem.height(curve) {
            known.push(Known::Height {
                curve,
                height: height.value - leg,
                sigma: height.u95 / 1.96,
            });
        }
    }
    if let (Some(a), Some(b)) = (problem.curve(EDGE_A), problem.curve(EDGE_B)) {
        known.push(Known::Level {
            curves: [a, b],
            sigma: LEVEL,
        });
        known.push(Known::Parallel {
            curves: [a, b],
            sigma: PARALLEL,
        });
    }
    known
}
