//! Which straight edge before the rim is the mount's.

use super::closer::{Along, Closer};
use super::place::Directions;
use super::rim::RimFound;
use super::search::Looked;
use crate::gap::start::Start;
use crate::observe::Observed;
use shimwright_detect::cores;
use shimwright_solve::{Circle, Line};

/// Where along the rim the edge is looked for first, mm from the rim's middle: a mount may end or bend on either side.
const REACHES: [(f64, f64); 3] = [(-34.0, -4.0), (-15.0, 15.0), (4.0, 34.0)];
/// Candidates of each reach that are looked at closely.
const CANDIDATES: usize = 10;
/// Nearer to the rim's plane than this is no gap to be seen, mm.
const LEAST_BEFORE: f64 = 0.15;
/// The shadow that the mount casts on the rim's face ends in the rim's plane, brighter beyond: an edge that is brighter
/// beyond must lie farther from it than this, mm.
const LEAST_BEFORE_LIT: f64 = 0.8;
/// Wider gaps than this (standard deviation) are unusual, mm: a mount has an edge on its far side as well.
const USUAL_GAP: f64 = 6.0;
/// Edges nearer to each other than this are the two lines of one chamfer, mm.
const ONE_EDGE: f64 = 0.45;
/// How far along the rim the edge may reach, mm.
const FARTHEST: f64 = 40.0;
/// Where less of it is seen than this share of what is usual on it, the edge ends.
const SEEN: f64 = 0.75;
/// Left out at both ends, mm.
const MARGIN: f64 = 3.0;
/// Fewest millimetres of an edge.
const LEAST_LENGTH: f64 = 15.0;

/// The mount's edge as it is proposed.
pub(super) struct MountFound {
    pub line: Line,
    /// Over which part of the line it is seen, mm from its point.
    pub reach: (f64, f64),
    /// Share of it that the photo which shows least of it shows as an edge.
    pub seen: f64,
    /// How well the best other edge that it might be is seen, as a share of this one.
    pub rival: f64,
}

/// An edge that may be the mount's.
struct Candidate {
    line: Line,
    seen: f64,
    in_poorest: f64,
    before: f64,
    below: f64,
}

impl Candidate {
    /// Halfway between the mean of the photos and the poorest: an edge that is not one in space fits in two photos by chance,
    /// and not in the third.
    fn score(&self) -> f64 {
        (self.seen + self.in_poorest) / 2.0 * (-0.5 * (self.before / USUAL_GAP).powi(2)).exp()
    }
}

/// Looks for the mount's edge before a rim.
pub(super) fn find(
    looked: &Looked,
    photos: &[Observed],
    start: &Start,
    rim: &RimFound,
) -> Option<MountFound> {
    let circle = &rim.circle;
    let to = Directions::of(circle, rim.side);
    let closer = Closer {
        photos,
        start,
        side: rim.side,
    };
    let rough: Vec<(Line, (f64, f64))> = REACHES
        .iter()
        .flat_map(|&reach| {
            let found = looked.mounts(circle, &to, reach, CANDIDATES);
            found.into_iter().map(move |m| (m.place.line(circle, &to), reach))
        })
        .collect();
    let known: Vec<Circle> = [Some(*circle), rim.other_edge].into_iter().flatten().collect();
    let judge = |line: &Line, reach: (f64, f64)| {
        let line = closer.mount(line, circle, reach)?.0;
        let at = line.point + line.direction * ((reach.0 + reach.1) / 2.0);
        let before = (circle.centre - at).dot(&to.axis);
        let along = closer.along(&line, reach, &known);
        let least = if along.brighter {
            LEAST_BEFORE_LIT
        } else {
            LEAST_BEFORE
        };
        let (seen, in_poorest) = along.shares();
        (before > least).then(|| Candidate {
            line,
            seen,
            in_poorest,
            before,
            below: circle.radius - (at - circle.centre).dot(&to.up),
        })
    };
    let close: Vec<Candidate> = cores::map(rough.len(), 2, |i| judge(&rough[i].0, rough[i].1))
        .into_iter()
        .flatten()
        .collect();
    let chosen = close.iter().max_by(|a, b| a.score().total_cmp(&b.score()))?;
    let others = close.iter().filter(|c| {
        (c.before - chosen.before).abs() > ONE_EDGE || (c.below - chosen.below).abs() > 2.0 * ONE_EDGE
    });
    let rival = others.map(|c| c.score() / chosen.score()).fold(0.0, f64::max);
    let (low, high) = seen_reach(&closer.along(&chosen.line, (-FARTHEST, FARTHEST), &known))?;
    // Where it begins to bend, an edge is still seen beside the line.
    let reach = (low + MARGIN, high - MARGIN);
    judge(&chosen.line, reach).map(|found| MountFound {
        line: found.line,
        reach,
        seen: found.in_poorest,
        rival,
    })
}

/// The longest stretch of a line that is seen as an edge without a break.
fn seen_reach(along: &Along) -> Option<(f64, f64)> {
    let seen: Vec<f64> = (0..along.places.len()).map(|i| along.at(i)).collect();
    let mut sorted = seen.clone();
    sorted.sort_by(f64::total_cmp);
    // What is usual where the edge is: a good part of all places.
    let usual = sorted[sorted.len() * 7 / 10];
    let mut longest: Option<(f64, f64)> = None;
    let mut from: Option<f64> = None;
    for (i, t) in along.places.iter().enumerate() {
        // The mean of three: a scratch is no end.
        let three = &seen[i.saturating_sub(1)..(i + 2).min(seen.len())];
        if three.iter().sum::<f64>() / (three.len() as f64) < SEEN * usual {
            from = None;
            continue;
        }
        let begin = *from.get_or_insert(*t);
        if longest.is_none_or(|(a, b)| t - begin > b - a) {
            longest = Some((begin, *t));
        }
    }
    longest.filter(|(a, b)| b - a > LEAST_LENGTH)
}
