//! Looks for a circle of the known radius beside the card, and for a straight edge before it, in all photos at once.

use super::closer::ARC;
use super::edge_map::EdgeMap;
use super::place::{Directions, MountPlace, RimPlace, Side};
use crate::gap::start::Start;
use crate::gap::view::View;
use crate::observe::Observed;
use shimwright_detect::cores;
use shimwright_geom::Vec3;
use shimwright_solve::{Circle, Line};

/// How many px of a map show a millimetre beside the card, about: places are tried a millimetre apart.
const MAP_PX_PER_MM: f64 = 3.0;
/// Places on the arc that are looked at.
const PLACES: usize = 24;
/// How far the rim's plane may lie from the card's printed edge, mm.
const OFF: (f64, f64) = (2.0, 45.0);
/// How far the rim's centre may lie from the middle of the card along its side, mm.
const ALONG: f64 = 40.0;
/// How far the rim's top may stand above the card's face, and below, mm.
const TOP: (f64, f64) = (30.0, -12.0);
/// How far the card may be turned against the mount, rad.
const TURN: f64 = 0.09;

/// How far before the rim's plane the mount's edge may lie, mm; a little behind it, so that what lies in it is found too.
const BEFORE: (f64, f64) = (-0.6, 9.0);
/// Places kept of each plane of the rim, and of each distance of the mount.
const MOST_RIMS: usize = 20;
const MOST_MOUNTS: usize = 5;
/// Most photos in which places are looked for roughly, evenly spread over those of the job.
const MOST_PHOTOS: usize = 6;
/// Share that every photo must show.
const LEAST_IN_PHOTO: f64 = 0.3;
/// Share that the photos must show in the mean.
const LEAST_ROUGHLY: f64 = 0.6;

/// Photos in which places can be looked for.
pub(super) struct Looked {
    views: Vec<View>,
    maps: Vec<EdgeMap>,
}

/// A place with how much of it is seen: the mean over the photos, 0 to 1.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scored<P> {
    pub place: P,
    pub score: f64,
}

impl Looked {
    /// The photos' edges, without those of the card.
    pub fn of(photos: &[Observed], start: &Start) -> Self {
        let count = start.used.len().min(MOST_PHOTOS);
        let taken: Vec<usize> = (0..count).map(|i| i * start.used.len() / count).collect();
        let views: Vec<View> = taken.iter().map(|&k| View::of(&start.state, k)).collect();
        let map = |i: usize| {
            let (k, view) = (taken[i], &views[i]);
            let reduced = ((start.px_per_mm(view) / MAP_PX_PER_MM).round() as usize).max(1);
            EdgeMap::of(&photos[start.used[k]].picture, reduced, |pixel| {
                start.on_card(view, pixel)
            })
        };
        let maps = cores::map(views.len(), 1, map);
        Self { views, maps }
    }

    /// The share of points in space that a photo shows as an edge; points of a curve, evenly spaced, ends included.
    fn share(&self, photo: usize, points: &[Vec3]) -> f64 {
        let (view, map) = (&self.views[photo], &self.maps[photo]);
        let seen: Vec<_> = points.iter().map(|p| view.see(p)).collect();
        let (mut sum, mut count) = (0.0, 0usize);
        for three in seen.windows(3) {
            let [Some(before), Some(at), Some(after)] = three else {
                continue;
            };
            if let Some(seen) = map.seen(at, &(after - before)) {
                sum += seen;
                count += 1;
            }
        }
        // What is out of the picture says nothing; with too little in it, nothing is said.
        if 2 * count < points.len() {
            0.0
        } else {
            sum / count as f64
        }
    }

    /// The mean over the photos, or 0 as soon as it cannot reach `least` or a photo shows next to nothing.
    fn score(&self, points: &[Vec3], least: f64) -> f64 {
        let photos = self.views.len() as f64;
        let mut sum = 0.0;
        for k in 0..self.views.len() {
            let share = self.share(k, points);
            sum += share;
            if share < LEAST_IN_PHOTO || sum + (photos - 1.0 - k as f64) < least * photos {
                return 0.0;
            }
        }
        sum / photos
    }

    fn rim_score(&self, side: &Side, place: &RimPlace, radius: f64, least: f64) -> f64 {
        self.score(&arc_points(side, place, radius), least)
    }

    /// The best places of the rim on a side of the card, no two nearly alike; best first.
    pub fn rims(&self, side: &Side, radius: f64, most: usize) -> Vec<Scored<RimPlace>> {
        let turns = steps(-TURN, TURN, 0.03);
        let planes: Vec<(f64, f64)> = steps(OFF.0, OFF.1, 1.0)
            .iter()
            .flat_map(|off| turns.iter().map(move |turn| (*off, *turn)))
            .collect();
        let all = cores::map(planes.len(), 4, |i| self.in_plane(side, planes[i], radius));
        let alike = |a: &RimPlace, b: &RimPlace| {
            (a.off - b.off).abs() < 1.6 && (a.along - b.along).abs() < 6.0 && (a.down - b.down).abs() < 6.0
        };
        let rough = unlike(best_first(all.concat()), most, alike);
        best_first(
            rough
                .iter()
                .map(|found| self.closer(side, found, radius))
                .collect(),
        )
    }

    /// The best places of the rim in a plane, by how far that lies off the card and how it is turned.
    fn in_plane(&self, side: &Side, (off, turn): (f64, f64), radius: f64) -> Vec<Scored<RimPlace>> {
        let mut found: Vec<Scored<RimPlace>> = Vec::new();
        for along in steps(-ALONG, ALONG, 1.5) {
            for down in steps(radius - TOP.0, radius - TOP.1, 1.5) {
                let place = RimPlace {
                    off,
                    along,
                    down,
                    turn,
                    lean: 0.0,
                };
                let score = self.rim_score(side, &place, radius, LEAST_ROUGHLY);
                if score > LEAST_ROUGHLY {
                    found.push(Scored { place, score });
                }
            }
        }
        let mut found = best_first(found);
        found.truncate(MOST_RIMS);
        found
    }

    /// Moves a place until no small step is better.
    fn closer(&self, side: &Side, from: &Scored<RimPlace>, radius: f64) -> Scored<RimPlace> {
        let mut best = *from;
        let mut size = 1.0;
        while size > 0.2 {
            let mut moved = false;
            for k in 0..5 {
                for sign in [-1.0, 1.0] {
                    let mut place = best.place;
                    match k {
                        0 => place.off += sign * 0.5 * size,
                        1 => place.along += sign * size,
                        2 => place.down += sign * size,
                        3 => place.turn += sign * 0.015 * size,
                        _ => place.lean += sign * 0.015 * size,
                    }
                    if place.lean.abs() > 0.08 || place.turn.abs() > 0.12 {
                        continue;
                    }
                    let score = self.rim_score(side, &place, radius, best.score);
                    if score > best.score + 1e-6 {
                        best = Scored { place, score };
                        moved = true;
                    }
                }
            }
            if !moved {
                size /= 2.0;
            }
        }
        best
    }

    /// The best straight edges before a rim, over a reach along it, no two nearly alike; best first.
    pub fn mounts(
        &self,
        circle: &Circle,
        to: &Directions,
        reach: (f64, f64),
        most: usize,
    ) -> Vec<Scored<MountPlace>> {
        let befores = steps(BEFORE.0, BEFORE.1, 0.3);
        let at = |i: usize| {
            let mut found: Vec<Scored<MountPlace>> = Vec::new();
            for below in steps(1.0, 0.9 * circle.radius, 0.7) {
                for turn in steps(-0.03, 0.03, 0.01) {
                    for slope in steps(-0.09, 0.09, 0.03) {
                        let place = MountPlace {
                            before: befores[i],
                            below,
                            turn,
                            slope,
                        };
                        let score = self.mount_score(&place.line(circle, to), reach);
                        if score > LEAST_ROUGHLY {
                            found.push(Scored { place, score });
                        }
                    }
                }
            }
            let mut found = best_first(found);
            found.truncate(MOST_MOUNTS);
            found
        };
        let alike = |a: &MountPlace, b: &MountPlace| {
            (a.before - b.before).abs() < 0.5 && (a.below - b.below).abs() < 1.5
        };
        unlike(best_first(cores::map(befores.len(), 2, at).concat()), most, alike)
    }

    fn mount_score(&self, line: &Line, reach: (f64, f64)) -> f64 {
        let h = (reach.1 - reach.0) / (PLACES - 1) as f64;
        let points: Vec<_> = (0..PLACES)
            .map(|i| line.point + line.direction * (reach.0 + h * i as f64))
            .collect();
        self.score(&points, LEAST_ROUGHLY)
    }
}

fn best_first<P>(mut found: Vec<Scored<P>>) -> Vec<Scored<P>> {
    found.sort_by(|a, b| b.score.total_cmp(&a.score));
    found
}

/// The first places of a list that are not alike one another.
fn unlike<P>(found: Vec<Scored<P>>, most: usize, alike: impl Fn(&P, &P) -> bool) -> Vec<Scored<P>> {
    let mut kept: Vec<Scored<P>> = Vec::new();
    for one in found {
        if kept.len() < most && !kept.iter().any(|other| alike(&one.place, &other.place)) {
            kept.push(one);
        }
    }
    kept
}

fn arc_points(side: &Side, place: &RimPlace, radius: f64) -> Vec<Vec3> {
    let circle = place.circle(side, radius);
    let to = Directions::of(&circle, side);
    let h = 2.0 * ARC / (PLACES - 1) as f64;
    (0..PLACES).map(|i| to.on(&circle, -ARC + h * i as f64)).collect()
}

fn steps(from: f64, to: f64, step: f64) -> Vec<f64> {
    let count = ((to - from) / step).round() as usize;
    (0..=count)
        .map(|i| from + (to - from) * i as f64 / count.max(1) as f64)
        .collect()
}
