//! Measures the edges: brings them near, tables what the pixels say, and lets edges, poses and lens settle together.

use super::approach::{does_not_fit, near};
use super::locate::Rough;
use super::outcomes::{best_of, settle_about, weights};
use super::pieces::{Sighted, card_blur, strips};
use super::problem::Problem;
use super::settle::{Settled, Tables};
use super::start::Start;
use super::tables;
use crate::Error;
use crate::observe::Observed;
use shimwright_detect::cores;
use shimwright_say::say;
use shimwright_solve::{EdgeSight, FeatureId, JointSolution, JointState, Options};

/// How often the edges settle on one cut before all cuts are looked at: what comes out then hangs less on where they were
/// first cut. Edges cut to one side of where they lie settle about as far to the other, over and over, so after the second
/// time they are cut halfway between.
const APPROACHES: usize = 2;
/// How many ways of cutting the edges into pieces are looked at together. Where exactly a piece is cut is chance: what
/// comes out of several cuts hangs less on it, and less on the marks.
const CUTS: usize = 3;

/// Share of the marked range at each end over which pieces come to count: so a mark moved a little along its edge
/// changes little.
const TAPER: f64 = 0.25;
/// Weight of the very last piece.
const LEAST_WEIGHT: f64 = 1e-3;

/// A piece of an edge as it was located on its own.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Located {
    pub sight: EdgeSight,
    /// Signed distance of the solved curve from it, in its standard deviations.
    pub residual: f64,
}

/// The refined measurement.
pub(crate) struct Refined {
    pub start: Start,
    pub solution: JointSolution,
    pub edges: Vec<EdgeSight>,
    pub located: Vec<Located>,
    /// How many pieces of the straight edge and of the rim were looked at in each photo.
    pub looked_at: Vec<[usize; 2]>,
    /// How many of them told where they lie.
    pub told: Vec<[usize; 2]>,
    /// Every outcome that was weighed, with its weight.
    pub outcomes: Vec<(JointState, f64)>,
    /// How far the farthest piece still moved when the rounds of settling were over, px.
    pub unrest: f64,
    pub mount_range: (f64, f64),
    pub rim_range: (f64, f64),
}

/// Which part of each edge is measured: mm along the mount's edge, rad around the rim.
pub(crate) struct Ranges([(f64, f64); 2]);

impl Ranges {
    pub fn of(&self, feature: FeatureId) -> (f64, f64) {
        self.0[feature as usize]
    }

    /// Place in the range, from -1 at its low end to 1 at its high end.
    pub fn along(&self, feature: FeatureId, t: f64) -> f64 {
        let (low, high) = self.of(feature);
        ((2.0 * t - low - high) / (high - low)).clamp(-1.0, 1.0)
    }

    /// Weight of a piece by its place in the range.
    pub fn weight(&self, feature: FeatureId, t: f64) -> f64 {
        let range = self.of(feature);
        let inside = (t - range.0).min(range.1 - t) / (TAPER * (range.1 - range.0));
        let x = inside.clamp(0.0, 1.0);
        (x * x * (3.0 - 2.0 * x)).max(LEAST_WEIGHT)
    }
}

/// Measures both edges.
pub(crate) fn edges(problem: &Problem, photos: &[Observed], rough: Rough) -> Result<Refined, Error> {
    let Rough {
        start,
        state,
        mount_range,
        rim_range,
    } = rough;
    let mut sighted = sighted(problem, photos, &start);
    let ranges = Ranges([mount_range, rim_range]);
    let mut about = near(problem, &start, state, &sighted, &ranges)?;
    for approach in 0..APPROACHES {
        let tables = tabled(problem, &about, &sighted, &ranges);
        let all = settle_about(problem, &start, &about, &tables);
        let best = best_of(&all).ok_or_else(|| does_not_fit(say!("they do not settle")))?;
        about = match approach {
            0 => best.solution.state.clone(),
            _ => halfway(&about, &best.solution.state),
        };
    }
    let cuts = (0..CUTS).map(|cut| {
        let phase = cut as f64 / CUTS as f64;
        sighted.iter_mut().for_each(|edge| edge.phase = phase);
        tabled(problem, &about, &sighted, &ranges)
    });
    let tables = Tables::together(cuts);
    let all = settle_about(problem, &start, &about, &tables);
    let settled = best_of(&all)
        .ok_or_else(|| does_not_fit(say!("they do not settle")))?
        .clone();
    let outcomes = all
        .iter()
        .zip(weights(&all))
        .map(|(s, w)| (s.solution.state.clone(), w))
        .collect();
    let (located, told) = tables.located(&settled.solution.state);
    let unrest = settled.unrest;
    let (edges, solution) = widened(problem, &start, settled, &located)?;
    Ok(Refined {
        looked_at: tables.count(start.used.len()),
        told,
        start,
        solution,
        edges,
        located,
        outcomes,
        unrest,
        mount_range,
        rim_range,
    })
}

/// A state with its edges halfway between where two states have them, seen as the second has it.
fn halfway(one: &JointState, other: &JointState) -> JointState {
    let mut state = other.clone();
    if let (Some(line), Some(from)) = (&mut state.line, &one.line) {
        line.point = (line.point + from.point) / 2.0;
        line.direction = (line.direction + from.direction).normalize();
    }
    if let (Some(circle), Some(from)) = (&mut state.circle, &one.circle) {
        circle.centre = (circle.centre + from.centre) / 2.0;
        circle.normal = (circle.normal + from.normal).normalize();
        circle.radius = (circle.radius + from.radius) / 2.0;
    }
    state
}

/// Every edge in every photo.
fn sighted<'a>(problem: &Problem, photos: &'a [Observed], start: &Start) -> Vec<Sighted<'a>> {
    let of_photo = |(k, &i): (usize, &usize)| {
        [FeatureId::Line, FeatureId::Circle].map(|feature| Sighted {
            picture: &photos[i].picture,
            photo: k,
            feature,
            corner_blur: card_blur(problem, &photos[i]),
            phase: 0.0,
        })
    };
    start.used.iter().enumerate().flat_map(of_photo).collect()
}

/// The tables of all pieces cut about a state, on all cores.
fn tabled(problem: &Problem, state: &JointState, sighted: &[Sighted], ranges: &Ranges) -> Tables {
    let of_edge = |i: usize| {
        let edge = &sighted[i];
        let mut blur = Some(edge.corner_blur);
        let pieces = strips(problem, state, edge, &mut blur, ranges.of(edge.feature));
        tables::of_edge(&pieces, edge.corner_blur, ranges)
    };
    let all = cores::map(sighted.len(), 1, of_edge)
        .into_iter()
        .flatten()
        .collect();
    Tables::new(all, &ranges.0)
}

/// Widens the edges' standard deviations until they match the scatter of the pieces located on their own, and solves
/// once more: neighbouring pieces share grain and JPEG blocks, which the noise of a single piece does not show.
fn widened(
    problem: &Problem,
    start: &Start,
    settled: Settled,
    located: &[Located],
) -> Result<(Vec<EdgeSight>, JointSolution), Error> {
    let Settled {
        mut edges, solution, ..
    } = settled;
    for feature in [FeatureId::Line, FeatureId::Circle] {
        let mut sizes: Vec<f64> = located
            .iter()
            .filter(|l| l.sight.feature == feature)
            .map(|l| l.residual.abs())
            .collect();
        sizes.sort_by(f64::total_cmp);
        // Median absolute deviation of a normal distribution is 0.6745 sigma.
        let spread = sizes.get(sizes.len() / 2).map_or(1.0, |m| m / 0.6745).max(1.0);
        for edge in edges.iter_mut().filter(|e| e.feature == feature) {
            edge.sigma_px *= spread;
        }
    }
    let again = start
        .joint(problem, &edges, &solution.state)
        .solve(solution.state.clone(), &Options::default())
        .map_err(|error| does_not_fit(error.halves().0))?;
    Ok((edges, again))
}
