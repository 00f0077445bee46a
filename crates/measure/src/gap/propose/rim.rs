//! Which circle beside the card is the rim.
//!
//! A flange has an edge on either side, the same circle twice, its thickness apart along the axis. Slid along its axis, a
//! circle on one of them meets the other and nothing else: the one nearer to the card faces the mount.

use super::closer::Closer;
use super::place::Side;
use super::search::Looked;
use crate::gap::start::Start;
use crate::observe::Observed;
use shimwright_detect::cores;
use shimwright_solve::Circle;

/// Candidates of each side that are looked at closely.
const CANDIDATES: usize = 8;
/// How far a circle is slid to either side, mm, and the steps.
const SLIDE: f64 = 3.6;
const SLIDE_STEP: f64 = 0.15;
/// The two edges of a flange lie at least so far apart, mm.
const LEAST_FLANGE: f64 = 0.6;
/// The other edge of a flange shows at least this share of the better one's score, and stands out from what lies between
/// by this factor.
const OTHER_EDGE: f64 = 0.4;
const STANDS_OUT: f64 = 1.6;
/// Beside an edge on the far side, which makes a flange already, one on the near side must be seen this well (share of the
/// best).
const THIRD_EDGE: f64 = 0.65;
/// Circles with no point nearer to each other than this are different ones, mm.
const OTHER_PLACE: f64 = 1.0;

/// The rim as it is proposed.
pub(super) struct RimFound<'a> {
    pub side: &'a Side,
    pub circle: Circle,
    /// Share of it that the photos show as an edge.
    pub seen: f64,
    /// The other edge of its flange, when both are seen, so that it is known which one this is.
    pub other_edge: Option<Circle>,
    /// How well the best circle elsewhere is seen, as a share of this one.
    pub rival: f64,
}

/// Looks for the rim at both long sides of the card.
pub(super) fn find<'a>(
    looked: &Looked,
    photos: &[Observed],
    start: &Start,
    sides: &'a [Side; 2],
    radius: f64,
) -> Option<RimFound<'a>> {
    let mut rough: Vec<(&Side, Circle, f64)> = Vec::new();
    for side in sides {
        let found = looked.rims(side, radius, CANDIDATES);
        rough.extend(
            found
                .iter()
                .map(|f| (side, f.place.circle(side, radius), f.score)),
        );
    }
    rough.sort_by(|a, b| b.2.total_cmp(&a.2));
    let close = |i: usize| {
        let (side, circle, _) = &rough[i];
        let closer = Closer { photos, start, side };
        closer.rim(circle).map(|(circle, seen)| (*side, circle, seen))
    };
    let mut close: Vec<(&Side, Circle, f64)> = cores::map(rough.len().min(CANDIDATES), 1, close)
        .into_iter()
        .flatten()
        .collect();
    close.sort_by(|a, b| b.2.total_cmp(&a.2));
    let (side, best, seen) = *close.first()?;
    let rivals = close.iter().filter(|(_, circle, _)| elsewhere(circle, &best));
    let rival = rivals.map(|r| r.2 / seen).fold(0.0, f64::max);
    let closer = Closer { photos, start, side };
    let (circle, seen, other_edge) = facing_mount(&closer, &best)?;
    Some(RimFound {
        side,
        circle,
        seen,
        other_edge,
        rival,
    })
}

/// Whether two circles are different ones, and not the two edges of a flange.
fn elsewhere(a: &Circle, b: &Circle) -> bool {
    let apart = a.centre - b.centre;
    let along = apart.dot(&b.normal);
    (apart - b.normal * along).norm() > OTHER_PLACE || along.abs() > SLIDE
}

/// The edge of a flange that faces the card, from a circle on one of its edges; how well it is seen, and the other one
/// where it is seen as well.
fn facing_mount(closer: &Closer, best: &Circle) -> Option<(Circle, f64, Option<Circle>)> {
    let steps = (SLIDE / SLIDE_STEP) as i32;
    let at = |i: usize| {
        let by = SLIDE_STEP * f64::from(i as i32 - steps);
        closer.slid(best, by).map(|(circle, seen)| (by, circle, seen))
    };
    let slid: Vec<(f64, Circle, f64)> = cores::map(2 * steps as usize + 1, 4, at)
        .into_iter()
        .flatten()
        .collect();
    let own = slid
        .iter()
        .filter(|s| s.0.abs() < 0.3)
        .max_by(|a, b| a.2.total_cmp(&b.2))?;
    let other = |near: bool| {
        let there = slid
            .iter()
            .filter(|s| s.0.abs() > LEAST_FLANGE && (s.0 < 0.0) == near);
        let top = there.max_by(|a, b| a.2.total_cmp(&b.2))?;
        let between = slid
            .iter()
            .filter(|s| s.0.abs() < top.0.abs() && (s.0 < 0.0) == near);
        let valley = between.map(|s| s.2).fold(f64::INFINITY, f64::min);
        (top.2 > OTHER_EDGE * own.2 && top.2 > STANDS_OUT * valley).then_some(top)
    };
    Some(match (other(true), other(false)) {
        (Some(near), Some(_)) if near.2 < THIRD_EDGE * own.2 => (own.1, own.2, None),
        (Some(near), _) => (near.1, near.2, Some(own.1)),
        (None, far) => (own.1, own.2, far.map(|far| far.1)),
    })
}
