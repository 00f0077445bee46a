//! Looks for one feature in space in all photos at once: an edge that is wrong in one photo fits no feature in the
//! others. A feature is moved by five small numbers on a grid, and judged by how much of it is seen as an edge and by
//! how near it comes to the marks.

use super::grid::{Grid, best_move};
use super::hiding;
use super::movable::{Frame, Movable, Move};
use super::problem::Problem;
use super::seen::{Credit, Place, SEEN_NEAR, seen_among, seen_of};
use super::start::Start;
use super::view::{Piece, View};
use crate::observe::Observed;
use nalgebra::{SMatrix, SVector};
use shimwright_edge::{Ridge, StepProfile};
use shimwright_geom::Vec2;
use shimwright_solve::{EdgeSight, FeatureId, JointState};

/// Pieces into which the marked part is cut for the search.
const PIECES: usize = 24;
/// At a glance one in so many of them is looked at.
const GLANCE: usize = 3;
/// How far from a feature edges are looked for when it is asked how well it is seen where it stands, px.
const SEEN_REACH: f64 = 4.0;
/// Other edges within this of the mount's edge are taken for it, px.
pub(crate) const MOUNT_WIDTH: f64 = 2.5;
/// A mark is as good as any other within this, px.
const MARK_FREE: f64 = 5.0;
/// Standard deviation of what a mark is off beyond that, px.
const MARK_SIGMA: f64 = 3.0;
/// Weight of the marks against the edges seen.
const MARK_WEIGHT: f64 = 0.2;

/// Where a mark lies from the projected feature, px across, and how the numbers move the feature there.
pub(crate) struct MarkGap {
    pub away: f64,
    pub by: Move,
}

/// A search in all photos of a job.
#[derive(Clone, Copy)]
pub(crate) struct Seek<'a> {
    pub photos: &'a [Observed],
    pub start: &'a Start,
    /// Poses and lens; its features tell what hides what.
    pub state: &'a JointState,
    pub frame: &'a Frame,
    /// Marks of the feature.
    pub marks: &'a [EdgeSight],
}

impl Seek<'_> {
    /// Whether a photo carries marks of the feature.
    pub fn marked(&self, photo: usize) -> bool {
        self.marks.iter().any(|m| m.photo == photo)
    }

    /// Moves a feature until it fits the marks of all photos; `loose` are the standard deviations of the five
    /// numbers beforehand.
    pub fn onto_marks<C: Movable>(&self, mut feature: C, loose: &Move) -> C {
        for _ in 0..15 {
            let mut normal = SMatrix::<f64, 5, 5>::zeros();
            let mut right = SVector::<f64, 5>::zeros();
            for (k, sigma) in loose.iter().enumerate() {
                normal[(k, k)] = 1.0 / (sigma * sigma);
            }
            for gap in self.mark_gaps(&feature) {
                let row = SVector::<f64, 5>::from(gap.by) / MARK_FREE;
                normal += row * row.transpose();
                right += row * (gap.away / MARK_FREE);
            }
            let Some(step) = normal.cholesky().map(|factor| factor.solve(&right)) else {
                break;
            };
            feature = feature.moved(self.frame, &step.into());
            if step.fixed_rows::<3>(0).norm() < 1e-3 {
                break;
            }
        }
        feature
    }

    /// The best feature on a grid about a start, judged by the photos taken; with its score. `None` when no photo
    /// shows enough of it.
    pub fn best<C: Movable>(
        &self,
        feature: &C,
        take: impl Fn(usize) -> bool,
        range: (f64, f64),
        reach: f64,
        grid: &Grid,
    ) -> Option<(C, f64)> {
        let places: Vec<Vec<Place>> = (0..self.start.used.len())
            .filter(|&k| take(k))
            .map(|k| self.places(k, feature, range, reach))
            .filter(|places| places.len() >= PIECES / 4)
            .collect();
        if places.is_empty() {
            return None;
        }
        let marks = self.mark_gaps(feature);
        let credits: Vec<Vec<Credit>> = places
            .iter()
            .map(|places| (places.iter().map(|place| Credit::of(place, grid.nearness))).collect())
            .collect();
        let score = |by: &Move| {
            let seen = seen_of(&credits, |credit| credit.at(by));
            seen - mark_cost(&marks, by) - feature.askew_cost(self.frame, by)
        };
        let best = best_move(grid, &score);
        Some((feature.moved(self.frame, &best.1), best.0))
    }

    /// Edges seen along a feature where it stands, summed over the photos taken.
    pub fn seen<C: Movable>(&self, feature: &C, take: impl Fn(usize) -> bool, range: (f64, f64)) -> f64 {
        (0..self.start.used.len())
            .filter(|&k| take(k))
            .filter_map(|k| self.seen_in(k, feature, range))
            .sum()
    }

    /// Share of a feature that a photo shows as an edge; `None` where it is hidden or out of the picture.
    pub fn seen_in<C: Movable>(&self, photo: usize, feature: &C, range: (f64, f64)) -> Option<f64> {
        self.seen_at(photo, feature, range, 1)
    }

    /// As [`Seek::seen`], told by one in [`GLANCE`] places alone.
    pub fn glimpsed<C: Movable>(&self, feature: &C, take: impl Fn(usize) -> bool, range: (f64, f64)) -> f64 {
        (0..self.start.used.len())
            .filter(|&k| take(k))
            .filter_map(|k| self.seen_at(k, feature, range, GLANCE))
            .sum()
    }

    fn seen_at<C: Movable>(&self, photo: usize, feature: &C, range: (f64, f64), each: usize) -> Option<f64> {
        let view = View::of(self.state, photo);
        let mut pieces = self.pieces(&view, feature, range)?;
        // One of every `each`, the one in their middle.
        pieces = pieces.into_iter().skip(each / 2).step_by(each).collect();
        let seen: Vec<f64> = pieces
            .iter()
            .filter_map(|piece| self.edges_across::<C>(photo, &view, piece, SEEN_REACH))
            .map(|edges| seen_among(&edges, 0.0, SEEN_NEAR))
            .collect();
        (seen.len() * each >= PIECES / 4).then(|| seen.iter().sum::<f64>() / seen.len() as f64)
    }

    fn places<C: Movable>(&self, k: usize, feature: &C, range: (f64, f64), reach: f64) -> Vec<Place> {
        let view = View::of(self.state, k);
        let Some(pieces) = self.pieces(&view, feature, range) else {
            return Vec::new();
        };
        pieces
            .iter()
            .filter_map(|piece| {
                Some(Place {
                    edges: self.edges_across::<C>(k, &view, piece, reach)?,
                    by: self.moves_across(&view, feature, piece.t, &piece.guess.side)?,
                })
            })
            .collect()
    }

    /// The edges that a photo shows across a piece of the feature within reach, px, but for those known to be others.
    fn edges_across<C: Movable>(
        &self,
        k: usize,
        view: &View,
        piece: &Piece,
        reach: f64,
    ) -> Option<Vec<Ridge>> {
        let mut guess = piece.guess;
        guess.length = guess.length.min(16.0);
        let picture = &self.photos[self.start.used[k]].picture;
        let mut edges = StepProfile::measure(picture, &guess, reach)?.ridges();
        if C::ID == FeatureId::Circle
            && let Some(offset) = self.mount_offset(view, &guess.at, &guess.side)
        {
            edges.retain(|edge| (edge.offset - offset).abs() > MOUNT_WIDTH);
        }
        edges.retain(|edge| !self.start.on_card(view, &(guess.at + guess.side * edge.offset)));
        Some(edges)
    }

    /// The pieces of a feature that a photo shows.
    fn pieces<C: Movable>(&self, view: &View, feature: &C, range: (f64, f64)) -> Option<Vec<Piece>> {
        // The axis shows well in a view that shows the gap; the rim's radius may point at the camera.
        let toward = |t: f64| feature.at(t) + self.frame.axis;
        let mut pieces = view.pieces(range, PIECES, |t| feature.at(t), toward)?;
        let eye = view.place();
        pieces.retain(|piece| {
            let point = feature.at(piece.t);
            match (C::ID, &self.state.line, &self.state.circle) {
                (FeatureId::Line, _, Some(circle)) => !hiding::behind_rim(circle, &eye, &point),
                (FeatureId::Circle, Some(line), Some(circle)) => {
                    !hiding::behind_mount(line, circle, &eye, &point)
                }
                _ => true,
            }
        });
        Some(pieces)
    }

    /// Where the mount's edge crosses the normal of a place, px.
    fn mount_offset(&self, view: &View, at: &Vec2, side: &Vec2) -> Option<f64> {
        let line = self.state.line.as_ref()?;
        let (a, b) = (view.see(&line.at(-20.0))?, view.see(&line.at(20.0))?);
        let along = (b - a).normalize();
        let across = Vec2::new(-along.y, along.x);
        let slope = side.dot(&across);
        (slope.abs() > 0.3).then(|| (a - at).dot(&across) / slope)
    }

    fn moves_across<C: Movable>(&self, view: &View, feature: &C, t: f64, side: &Vec2) -> Option<Move> {
        let point = feature.at(t);
        let here = view.see(&point)?;
        let mut by = [0.0; 5];
        for (k, value) in by.iter_mut().enumerate() {
            let h = if k < 3 { 0.1 } else { 0.001 };
            let mut step = [0.0; 5];
            step[k] = h;
            let moved = feature.moved(self.frame, &step);
            *value = (view.see(&moved.at(moved.parameter(&point)))? - here).dot(side) / h;
        }
        Some(by)
    }

    fn mark_gaps<C: Movable>(&self, feature: &C) -> Vec<MarkGap> {
        (0..self.start.used.len())
            .filter_map(|k| {
                self.gaps(
                    k,
                    feature,
                    self.marks.iter().filter(|m| m.photo == k).map(|m| &m.at),
                )
            })
            .flatten()
            .collect()
    }

    /// How far the farthest mark lies from a feature, px.
    pub fn farthest_mark<C: Movable>(&self, feature: &C) -> f64 {
        (self.marks_away(feature).iter()).fold(0.0, |most, away| most.max(away.abs()))
    }

    /// How far each mark lies from a feature, px, counted along the axis.
    pub fn marks_away<C: Movable>(&self, feature: &C) -> Vec<f64> {
        self.mark_gaps(feature).iter().map(|gap| gap.away).collect()
    }

    /// Where pixels of a photo lie from the projected feature.
    pub fn gaps<'b, C: Movable>(
        &self,
        k: usize,
        feature: &C,
        pixels: impl Iterator<Item = &'b Vec2>,
    ) -> Option<Vec<MarkGap>> {
        let view = View::of(self.state, k);
        pixels
            .map(|pixel| {
                let (t, at, side) = feature.nearest(self.state, k, &view, pixel)?;
                Some(MarkGap {
                    away: (pixel - at).dot(&side),
                    by: self.moves_across(&view, feature, t, &side)?,
                })
            })
            .collect()
    }

    /// Points of the feature in every photo that shows it, for the rough solve.
    pub fn points<C: Movable>(&self, feature: &C, range: (f64, f64)) -> Vec<EdgeSight> {
        (0..self.start.used.len())
            .filter_map(|k| {
                let pieces = self.pieces(&View::of(self.state, k), feature, range)?;
                Some(pieces.into_iter().map(move |piece| EdgeSight {
                    photo: k,
                    feature: C::ID,
                    at: piece.guess.at,
                    side: piece.guess.side,
                    t: piece.t,
                    along: 0.0,
                    sigma_px: 2.0,
                }))
            })
            .flatten()
            .collect()
    }
}

fn mark_cost(marks: &[MarkGap], by: &Move) -> f64 {
    let cost: f64 = marks
        .iter()
        .map(|mark| {
            let moved: f64 = mark.by.iter().zip(by).map(|(a, b)| a * b).sum();
            let beyond = ((mark.away - moved).abs() - MARK_FREE).max(0.0);
            (beyond / MARK_SIGMA).powi(2)
        })
        .sum();
    0.5 * MARK_WEIGHT * cost / marks.len().max(1) as f64
}

/// The marks of a feature as edge points.
pub(crate) fn mark_points(problem: &Problem, start: &Start, feature: FeatureId) -> Vec<EdgeSight> {
    let of_photo = |(photo, &i): (usize, &usize)| {
        let marks = match feature {
            FeatureId::Line => &problem.marks[i].mount,
            FeatureId::Circle => &problem.marks[i].rim,
        };
        marks.iter().map(move |at| EdgeSight {
            photo,
            feature,
            at: *at,
            side: Vec2::new(0.0, 1.0),
            t: 0.0,
            along: 0.0,
            sigma_px: MARK_FREE,
        })
    };
    start.used.iter().enumerate().flat_map(of_photo).collect()
}
