//! Other ways in which the edges may fit. Of a chamfered edge a photo shows two lines, and shadows beside it draw more: where
//! an edge is taken for another line in one photo, poses and edges give way, and all fits again elsewhere. Pixels that are cut
//! about such a fit speak for it, so each edge is moved aside in one photo at a time and everything is cut anew.

use super::pieces::Sighted;
use super::problem::Problem;
use super::refine::{Ranges, tabled, tabled_thinly};
use super::result::gap_at;
use super::settle::{Settled, Tables};
use super::start::Start;
use shimwright_detect::cores;
use shimwright_solve::{FeatureId, JointState, Options};

/// How far an edge is moved aside in one photo, in widths of the band between its two lines.
const ASIDE: [f64; 2] = [1.0, -1.0];
/// Least width taken, px.
const LEAST_ASIDE: f64 = 1.0;
/// One in so many pieces is cut for the first look: neighbours overlap by half, so that every pixel still has its say.
const EACH: usize = 2;
/// How firmly an edge is moved aside in its photo, and kept where it is in the others, px.
const FIRM: f64 = 0.2;
const LOOSE: f64 = 1.0;
/// Fits whose gaps differ by less than this at both ends of the edge are one, mm.
const ELSEWHERE: f64 = 0.05;
/// A fit that costs so much more before it is cut about itself is no rival.
const WORSE: f64 = 40.0;
/// Most rivals that are followed, the cheapest first.
const MOST: usize = 3;

/// The rivals of a fit, each settled on pieces cut about itself.
pub(crate) fn rivals(
    problem: &Problem,
    start: &Start,
    sighted: &[Sighted],
    ranges: &Ranges,
    (tables, fit): (&Tables, &Settled),
) -> Vec<Settled> {
    let photos = 0..fit.solution.state.photos.len();
    let edges = photos.flat_map(|photo| [FeatureId::Line, FeatureId::Circle].map(|feature| (photo, feature)));
    let moves: Vec<_> = edges.flat_map(|edge| ASIDE.map(|by| (edge, by))).collect();
    let thinly =
        |from: JointState| tabled_thinly(problem, &from, sighted, ranges, EACH).settle(problem, start, from);
    let tried = cores::map(moves.len(), 1, |i| {
        let (edge, by) = moves[i];
        thinly(aside(problem, start, tables, &fit.solution.state, edge, by)?)
    });
    let mut tried: Vec<Settled> = tried.into_iter().flatten().collect();
    tried.retain(|rival| rival.cost < fit.cost + WORSE);
    tried.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    let ends = ranges.of(FeatureId::Line);
    let mut kept: Vec<Settled> = Vec::new();
    for rival in tried {
        if kept.len() < MOST
            && std::iter::once(fit)
                .chain(&kept)
                .all(|other| apart(&rival, other, ends))
        {
            kept.push(rival);
        }
    }
    let anew = |from: JointState| tabled(problem, &from, sighted, ranges).settle(problem, start, from);
    let again = cores::map(kept.len(), 1, |i| anew(kept[i].solution.state.clone()));
    again.into_iter().flatten().collect()
}

/// Whether two fits tell different gaps somewhere along the mount's edge.
fn apart(one: &Settled, other: &Settled, ends: (f64, f64)) -> bool {
    let differs =
        |t: f64| (gap_at(&one.solution.state, t) - gap_at(&other.solution.state, t)).abs() > ELSEWHERE;
    differs(ends.0) || differs(ends.1)
}

/// The state with one edge moved aside in one photo, and everything else giving way as it likes.
fn aside(
    problem: &Problem,
    start: &Start,
    tables: &Tables,
    state: &JointState,
    (photo, feature): (usize, FeatureId),
    by: f64,
) -> Option<JointState> {
    let mut edges = tables.placed(state);
    for (edge, band) in &mut edges {
        edge.sigma_px = LOOSE;
        if edge.photo == photo && edge.feature == feature {
            edge.at += edge.side * (band.abs().max(LEAST_ASIDE) * band.signum() * by);
            edge.sigma_px = FIRM;
        }
    }
    let edges: Vec<_> = edges.into_iter().map(|(edge, _)| edge).collect();
    // It only has to come near.
    let options = Options {
        iterations: 5,
        relative_fall: 1e-4,
    };
    let solved = start.joint(problem, &edges, state).solve(state.clone(), &options);
    Some(solved.ok()?.state)
}
