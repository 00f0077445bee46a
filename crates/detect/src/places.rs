//! Where a target's points are to be expected in the picture.

use crate::homography::Homography;
use crate::quad;
use crate::tags::Tag;
use shimwright_geom::Vec2;
use shimwright_target::{TagPlace, Target};

/// Standard deviation of a tag corner from the search, pixels.
const TAG_SIGMA_PX: f64 = 0.5;
/// Standard deviation of a refined corner's place against the local map, beside its own, pixels.
const CORNER_SIGMA_PX: f64 = 0.1;
/// Share of its weight that a point keeps however far away it is.
const FAR_WEIGHT: f64 = 1e-3;

/// Count of near points that serve without far ones.
const ENOUGH_NEAR: usize = 12;

/// A tag of the target that was read, with its printed place.
pub(crate) struct Match<'a> {
    pub(crate) place: &'a TagPlace,
    pub(crate) tag: &'a Tag,
}

/// The largest set of read tags that agree on one place of the target, sorted by id.
pub(crate) fn agreeing<'a>(tags: &'a [Tag], target: &'a Target) -> Vec<Match<'a>> {
    let all: Vec<(&TagPlace, &Tag)> = tags
        .iter()
        .filter_map(|tag| target.tags().iter().find(|p| p.id == tag.id).map(|p| (p, tag)))
        .collect();
    let mut best: Vec<(&TagPlace, &Tag)> = Vec::new();
    for (place, tag) in &all {
        let Some(seed) = Homography::of_four(&place.corners, &tag.corners) else {
            continue;
        };
        // One tag foretells its neighbours well and those far away badly.
        let from = centre_of(place);
        let side = (place.corners[1] - place.corners[0]).norm();
        let near = members(&all, &seed, |p| 0.3 + 0.15 * (centre_of(p) - from).norm() / side);
        let pairs: Vec<_> = near.iter().flat_map(|(p, t)| pairs_of(p, t)).collect();
        let Some(joint) = Homography::fit(&pairs) else {
            continue;
        };
        let members = members(&all, &joint, |_| 0.5);
        if members.len() > best.len() {
            best = members;
        }
    }
    best.into_iter()
        .map(|(place, tag)| Match { place, tag })
        .collect()
}

fn centre_of(place: &TagPlace) -> Vec2 {
    place.corners.iter().fold(Vec2::zeros(), |s, c| s + c) / 4.0
}

/// Tags whose centre lies where the map expects it, within a tolerance in sides of the tag as seen. Of two with
/// the same id the nearer one counts.
fn members<'a>(
    all: &[(&'a TagPlace, &'a Tag)],
    map: &Homography,
    tolerance: impl Fn(&TagPlace) -> f64,
) -> Vec<(&'a TagPlace, &'a Tag)> {
    let mut out: Vec<(f64, (&TagPlace, &Tag))> = Vec::new();
    for &(place, tag) in all {
        let (_, longest) = quad::side_range(&tag.corners);
        let error = (map.apply(&centre_of(place)) - tag.centre()).norm() / longest;
        if error > tolerance(place) || !same_way_round(place, tag, map) {
            continue;
        }
        match out.iter_mut().find(|o| o.1.0.id == place.id) {
            Some(other) if error < other.0 => *other = (error, (place, tag)),
            Some(_) => {}
            None => out.push((error, (place, tag))),
        }
    }
    out.into_iter().map(|o| o.1).collect()
}

/// True when the tag's first corner is where the map expects it rather than another corner.
fn same_way_round(place: &TagPlace, tag: &Tag, map: &Homography) -> bool {
    let from = map.apply(&place.corners[0]) - map.apply(&place.corners[2]);
    let seen = tag.corners[0] - tag.corners[2];
    from.dot(&seen) > 0.5 * from.norm() * seen.norm()
}

fn pairs_of(place: &TagPlace, tag: &Tag) -> [(Vec2, Vec2, f64); 4] {
    let weight = TAG_SIGMA_PX.powi(-2);
    std::array::from_fn(|i| (place.corners[i], tag.corners[i], weight))
}

/// Foretells places by projective maps that each fit best near the place asked for, so that lens distortion
/// and a bent card matter little.
pub(crate) struct Expectation {
    pairs: Vec<(Vec2, Vec2, f64)>,
    /// Distance over which known points lose their weight, mm.
    reach_mm: f64,
}

impl Expectation {
    pub(crate) fn from_tags(matches: &[Match<'_>], reach_mm: f64) -> Self {
        let pairs = matches.iter().flat_map(|m| pairs_of(m.place, m.tag)).collect();
        Self { pairs, reach_mm }
    }

    /// Adds a refined corner with its sigma.
    pub(crate) fn learn(&mut self, place: Vec2, at: Vec2, sigma_px: f64) {
        self.pairs
            .push((place, at, CORNER_SIGMA_PX.hypot(sigma_px).powi(-2)));
    }

    /// Distance from `place` to the nearest known point, mm.
    pub(crate) fn distance(&self, place: &Vec2) -> f64 {
        self.pairs
            .iter()
            .map(|p| (p.0 - place).norm())
            .fold(f64::INFINITY, f64::min)
    }

    /// The map around `place`, from all known points but those at `place` itself. Points that weigh next to
    /// nothing are left out where enough others are near.
    pub(crate) fn map_at(&self, place: &Vec2) -> Option<Homography> {
        let weighted: Vec<(Vec2, Vec2, f64, f64)> = self
            .pairs
            .iter()
            .filter(|(from, ..)| (from - place).norm() > 1e-6)
            .map(|&(from, to, weight)| {
                let d = (from - place).norm() / self.reach_mm;
                let near = (-d * d).exp();
                (from, to, weight * (near + FAR_WEIGHT), near)
            })
            .collect();
        let enough = weighted.iter().filter(|p| p.3 > 0.3).count() >= ENOUGH_NEAR;
        let used: Vec<(Vec2, Vec2, f64)> = weighted
            .into_iter()
            .filter(|p| !enough || p.3 > FAR_WEIGHT)
            .map(|(from, to, weight, _)| (from, to, weight))
            .collect();
        Homography::fit(&used)
    }
}
