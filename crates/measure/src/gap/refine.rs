//! Measures the edges: brings them near, tables what the pixels say, and lets edges, poses and lens settle together.

use super::agree::meets_marks;
use super::approach::{does_not_fit, near};
use super::locate::Rough;
use super::outcomes::{COST_SCALE, best_of, settle_about, weights};
use super::pieces::{Sighted, card_blur, strips};
use super::problem::Problem;
use super::rivals::rivals;
use super::settle::{Settled, Tables};
use super::start::Start;
use super::tables;
use crate::Error;
use crate::observe::Observed;
use shimwright_detect::cores;
use shimwright_say::say;
use shimwright_solve::{EdgeSight, FeatureId, JointSolution, JointState, Options};
use std::iter::once;

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
    /// Every outcome that was weighed, with its weight; the one that is told stands first.
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
    let sighted = sighted(problem, photos, &start);
    let ranges = Ranges([mount_range, rim_range]);
    let about = near(problem, &start, state, &sighted, &ranges)?;
    let unsettled = || does_not_fit(say!("they do not settle"));
    let settled = |about: &JointState| {
        let tables = tabled(problem, about, &sighted, &ranges);
        let best = best_of(&settle_about(problem, &start, about, &tables)).cloned();
        best.map(|best| (tables, best)).ok_or_else(unsettled)
    };
    let (tables, first) = settled(&about)?;
    let mut rivals = rivals(problem, &start, &sighted, &ranges, (&tables, &first));
    rivals.retain(|rival| meets_marks(problem, photos, &start, &rival.solution.state));
    // Edges cut to one side of where they lie settle about as far to the other, over and over: they are cut halfway between.
    let (_, second) = settled(&first.solution.state)?;
    let middle = halfway(&first.solution.state, &second.solution.state);
    // Each on several cuts about itself: what comes out of these can be compared.
    let fits: Vec<(Tables, Settled)> = once(middle)
        .chain(rivals.into_iter().map(|rival| rival.solution.state))
        .filter_map(|about| {
            let tables = several_cuts(problem, &about, &sighted, &ranges);
            let fit = tables.settle(problem, &start, about)?;
            Some((tables, fit))
        })
        .collect();
    let told = surest(fits.iter().map(|(_, fit)| fit.cost)).ok_or_else(unsettled)?;
    let (tables, fit) = &fits[told];
    let mut all = settle_about(problem, &start, &fit.solution.state, tables);
    all.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    let settled = all.first().ok_or_else(unsettled)?.clone();
    let others = fits.iter().enumerate().filter(|(i, _)| *i != told);
    all.extend(others.map(|(_, (_, fit))| fit.clone()));
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

/// Which of several fits is told, by their costs: the first, or the cheapest rival that is clearly cheaper. A rival that is
/// about as good must not decide by chance; it widens the interval.
fn surest(costs: impl Iterator<Item = f64>) -> Option<usize> {
    let handicapped = costs
        .enumerate()
        .map(|(i, cost)| (i, if i == 0 { cost } else { cost + COST_SCALE }));
    handicapped.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(i, _)| i)
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
            each: 1,
        })
    };
    start.used.iter().enumerate().flat_map(of_photo).collect()
}

/// The tables of several ways of cutting the edges about a state; together they count as one.
fn several_cuts(problem: &Problem, state: &JointState, sighted: &[Sighted], ranges: &Ranges) -> Tables {
    let cuts = (0..CUTS).map(|cut| tabled_from(problem, state, sighted, ranges, cut as f64 / CUTS as f64));
    Tables::together(cuts)
}

/// The tables of all pieces cut about a state, on all cores.
pub(crate) fn tabled(problem: &Problem, state: &JointState, sighted: &[Sighted], ranges: &Ranges) -> Tables {
    tabled_from(problem, state, sighted, ranges, 0.0)
}

/// As [`tabled`] with every `each`-th piece alone, which stands for those left out.
pub(crate) fn tabled_thinly(
    problem: &Problem,
    state: &JointState,
    sighted: &[Sighted],
    ranges: &Ranges,
    each: usize,
) -> Tables {
    let thin: Vec<_> = sighted.iter().map(|edge| Sighted { each, ..*edge }).collect();
    let mut tables = tabled(problem, state, &thin, ranges);
    tables.scale(each as f64);
    tables
}

/// As [`tabled`] with the cuts moved along the edge by a part of a piece.
fn tabled_from(
    problem: &Problem,
    state: &JointState,
    sighted: &[Sighted],
    ranges: &Ranges,
    phase: f64,
) -> Tables {
    let of_edge = |i: usize| {
        let edge = Sighted { phase, ..sighted[i] };
        let mut blur = Some(edge.corner_blur);
        let pieces = strips(problem, state, &edge, &mut blur, ranges.of(edge.feature));
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

#[cfg(test)]
mod tests {
    use super::*;

    /// A rival is told when it is clearly cheaper, and not when it is a little cheaper.
    #[test]
    fn a_rival_must_be_clearly_better_to_be_told() {
        assert_eq!(surest([90.0, 80.0, 85.0].into_iter()), Some(0));
        assert_eq!(surest([90.0, 80.0, 70.0].into_iter()), Some(2));
        assert_eq!(surest([90.0].into_iter()), Some(0));
        assert_eq!(surest(std::iter::empty()), None);
    }
}
