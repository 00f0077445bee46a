//! Brings roughly found edges to the pixels of the photos themselves, and tells how much of them is seen.

use super::place::{Directions, Side};
use crate::gap::grid::Grid;
use crate::gap::movable::Frame;
use crate::gap::seek::Seek;
use crate::gap::seen::{SEEN_NEAR, seen_among};
use crate::gap::start::Start;
use crate::gap::view::View;
use crate::observe::Observed;
use shimwright_edge::{Ridge, StepProfile};
use shimwright_geom::Vec2;
use shimwright_solve::{Circle, JointState, Line};
use std::f64::consts::FRAC_PI_2;

/// The rim is looked at over this angle to either side of its top, rad.
pub(super) const ARC: f64 = 0.7;
/// Length of the pieces by which is told how far the mount's edge reaches, mm.
const STRETCH: f64 = 1.0;

const COARSE_RIM: Grid = Grid {
    each: [(0.3, 3), (1.2, 4), (1.2, 4), (0.012, 2), (0.014, 3)],
    nearness: 1.6,
};
const FINE_RIM: Grid = Grid {
    each: [(0.15, 3), (0.3, 2), (0.3, 2), (0.006, 2), (0.004, 2)],
    nearness: 0.8,
};
/// A circle that may move along its axis alone; the rest makes up for how well it is known.
const SLID: Grid = Grid {
    each: [(0.08, 1), (0.3, 2), (0.3, 2), (0.0, 0), (0.004, 1)],
    nearness: 1.0,
};
const COARSE_MOUNT: Grid = Grid {
    each: [(0.3, 4), (0.0, 0), (1.0, 6), (0.03, 4), (0.01, 4)],
    nearness: 1.6,
};
const FINE_MOUNT: Grid = Grid {
    each: [(0.15, 3), (0.0, 0), (0.3, 3), (0.012, 3), (0.006, 3)],
    nearness: 0.8,
};
/// What a sharp edge stands above its neighbourhood, as a share of its step.
const SHARP: f64 = 0.5;
/// A line nearer than this to another edge lies on it, px.
const BESIDE: f64 = 2.5;
/// Rounds of the finest search after the first: each may move a feature by its grid.
const ROUNDS: usize = 4;

/// The photos, and the side of the card at which edges are looked for.
#[derive(Clone, Copy)]
pub(super) struct Closer<'a> {
    pub photos: &'a [Observed],
    pub start: &'a Start,
    pub side: &'a Side,
}

impl<'a> Closer<'a> {
    fn seek<'b>(&'b self, state: &'b JointState, frame: &'b Frame) -> Seek<'b> {
        Seek {
            photos: self.photos,
            start: self.start,
            state,
            frame,
            marks: &[],
        }
    }

    /// The rim near a circle, and the share of it that the photos show as an edge.
    pub fn rim(&self, circle: &Circle) -> Option<(Circle, f64)> {
        let near = self.moved(circle, 16.0, &COARSE_RIM)?;
        let mut found = self.moved(&near.0, 6.0, &FINE_RIM)?;
        for _ in 0..ROUNDS {
            let again = self.moved(&found.0, 6.0, &FINE_RIM)?;
            if again.1 <= found.1 + 1e-3 {
                break;
            }
            found = again;
        }
        Some(found)
    }

    /// A circle slid along its axis, away from the card, and the share of it that the photos show as an edge there.
    pub fn slid(&self, circle: &Circle, by: f64) -> Option<(Circle, f64)> {
        let mut there = *circle;
        there.centre += Directions::of(circle, self.side).axis * by;
        self.moved(&there, 6.0, &SLID)
    }

    fn moved(&self, circle: &Circle, reach: f64, grid: &Grid) -> Option<(Circle, f64)> {
        let to = Directions::of(circle, self.side);
        let frame = Frame::of(&Line {
            point: to.on(circle, 0.0),
            direction: to.along,
        });
        let top = to.parameter(circle, 0.0);
        let seek = self.seek(&self.start.state, &frame);
        seek.best(circle, |_| true, (top - ARC, top + ARC), reach, grid)
    }

    /// The mount's edge near a line before a rim, over a reach along it, and the share of it that is seen.
    pub fn mount(&self, line: &Line, circle: &Circle, reach: (f64, f64)) -> Option<(Line, f64)> {
        let frame = Frame::of(line);
        let state = JointState {
            circle: Some(*circle),
            ..self.start.state.clone()
        };
        let seek = self.seek(&state, &frame);
        let near = seek.best(line, |_| true, reach, 16.0, &COARSE_MOUNT)?.0;
        seek.best(&near, |_| true, reach, 6.0, &FINE_MOUNT)
    }

    /// How much of a sharp edge is seen at each millimetre of a line, from one place on it to another, in each photo.
    /// What lies on one of the `known` curves is that curve's edge.
    pub fn along(&self, line: &Line, reach: (f64, f64), known: &[Circle]) -> Along {
        let count = ((reach.1 - reach.0) / STRETCH) as usize;
        let mut seen = vec![vec![None; count]; self.start.used.len()];
        let mut brighter = 0.0;
        let at = |t: f64| line.point + line.direction * t;
        for (k, &i) in self.start.used.iter().enumerate() {
            let view = View::of(&self.start.state, k);
            let Some(pieces) = view.pieces(reach, count, at, |t| at(t) + self.side.away) else {
                continue;
            };
            let known: Vec<Vec<Vec2>> = known.iter().map(|circle| self.drawn(&view, circle)).collect();
            for (piece, seen) in pieces.iter().zip(&mut seen[k]) {
                let guess = &piece.guess;
                let Some(profile) = StepProfile::measure(&self.photos[i].picture, guess, 4.0) else {
                    continue;
                };
                let beside = known.iter().any(|curve| near(curve, &guess.at));
                let own = if beside {
                    0.0
                } else {
                    seen_among(&sharp(&profile), 0.0, SEEN_NEAR)
                };
                brighter += own * profile.at(0.0).map_or(0.0, f64::signum);
                *seen = Some(own);
            }
        }
        Along {
            places: (0..count).map(|i| reach.0 + STRETCH * (i as f64 + 0.5)).collect(),
            seen,
            brighter: brighter > 0.0,
        }
    }

    /// The upper half of a circle as a photo shows it, px.
    fn drawn(&self, view: &View, circle: &Circle) -> Vec<Vec2> {
        let to = Directions::of(circle, self.side);
        (-60..=60)
            .filter_map(|i| view.see(&to.on(circle, f64::from(i) / 60.0 * FRAC_PI_2)))
            .collect()
    }
}

/// How much of an edge is seen along a line.
pub(super) struct Along {
    /// Places on the line, mm from its point.
    pub places: Vec<f64>,
    /// For each photo how much is seen at each place, 0 to 1; nothing outside the picture.
    seen: Vec<Vec<Option<f64>>>,
    /// Whether it is brighter beyond the line than on the card's side of it.
    pub brighter: bool,
}

impl Along {
    /// The mean over the photos at a place.
    pub fn at(&self, place: usize) -> f64 {
        mean(self.seen.iter().filter_map(|photo| photo[place])).unwrap_or(0.0)
    }

    /// The mean over all places and photos, and that in the poorest photo.
    pub fn shares(&self) -> (f64, f64) {
        let of_photo = |photo: &Vec<Option<f64>>| mean(photo.iter().flatten().copied());
        let shares: Vec<f64> = self.seen.iter().filter_map(of_photo).collect();
        let poorest = shares.iter().copied().fold(1.0, f64::min);
        mean(shares.into_iter()).map_or((0.0, 0.0), |mean| (mean, poorest))
    }
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0usize), |(sum, count), v| (sum + v, count + 1));
    (count > 0).then(|| sum / count as f64)
}

/// Whether a pixel lies beside a drawn curve.
fn near(curve: &[Vec2], at: &Vec2) -> bool {
    curve.windows(2).any(|w| {
        let along = w[1] - w[0];
        let t = ((at - w[0]).dot(&along) / along.norm_squared().max(1e-9)).clamp(0.0, 1.0);
        (w[0] + along * t - at).norm() < BESIDE
    })
}

/// The sharp edges across a place: a shadow's is soft, brightness goes on changing beside it.
fn sharp(profile: &StepProfile) -> Vec<Ridge> {
    let mut edges = profile.ridges();
    edges.retain(|edge| {
        profile
            .at(edge.offset)
            .is_some_and(|step| edge.height > SHARP * step.abs())
    });
    edges
}
