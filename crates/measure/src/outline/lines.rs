//! Which of a chamfer's two lines is which.
//!
//! Where a chamfer is as dark or as bright as what lies beside it, a piece cannot tell the edge's two lines apart, and
//! pieces around a rim may settle on different ones. All pieces together can: each knows what it costs wherever the edge
//! lies, and the curve is moved to where their costs add up to the least. Where nothing moves between the photos they share
//! the chamfer's light as well, stretch by stretch of the edge: what lies behind changes, from photo to photo and from
//! square to square of the sheet, and the chamfer does not.

use super::Shares;
use super::compass::{compass, undisturbed};
use super::pieces::Movable;
use super::rounds::Rounds;
use crate::chamfer_light::{SHARES, Weighed, unusual, weighed};
use nalgebra::{DMatrix, Matrix3};
use shimwright_solve::{Circle, CurvesProblem, CurvesState, Known, Shape};
use std::f64::consts::FRAC_PI_2;

/// How far a piece's edge may lie from where the rounds before left it, in widths of the chamfer, and at least in px.
const REACH: f64 = 2.5;
const LEAST_REACH: f64 = 2.0;
/// Where the search begins: the curve grown, and sunk, by these parts of the chamfer's leg.
const GROWN: [f64; 5] = [0.0, -0.5, 0.5, -1.0, 1.0];
const SUNK: [f64; 5] = [0.0, -1.5, 1.5, -3.0, 3.0];
/// A rim seen from the side: three places of its arc are moved by up to so many parts of the leg, so many to a leg.
const PLACED: i32 = 8;
const PLACES_A_LEG: f64 = 4.0;
/// Stretches of a rim, and of a straight edge, in which the chamfer has a light of its own.
const STRETCHES: usize = 24;
const STRETCHES_OF_LINE: usize = 4;
/// Standard deviation of a piece's own share about that of its stretch: surfaces are not quite matt.
const OWN_SHARE: f64 = 0.12;
/// Sizes that are weighed against each other: up to a leg smaller and larger, in so many steps a leg.
const SIZES_A_LEG: i32 = 5;
/// No more pieces than so many are believed where sizes are weighed against each other: what the model leaves out, as a lens
/// that blurs not quite like a Gaussian, is the same in all of them.
const MOST_BELIEVED: f64 = 60.0;
/// A piece's cost rises by about one this far from its least, px.
const TELLS_PX: f64 = 0.2;

/// What the pieces of a curve tell together.
#[derive(Clone, Debug, Default)]
pub(super) struct Together {
    /// The chamfer's light; empty when each piece has its own.
    pub shares: Shares,
    /// Standard deviation of how far outward the edge lies that comes of not knowing which line is which, mm.
    pub open: f64,
}

impl Rounds<'_> {
    /// Moves each chamfered curve to where all its pieces together cost least.
    pub(super) fn tell_lines_apart(&self, state: &mut CurvesState, blurs: &[Option<f64>]) -> Vec<Together> {
        (0..state.curves.len())
            .map(|curve| {
                let (out, up) = self.edges[curve].chamfer;
                let leg = out.abs().max(up.abs());
                if leg == 0.0 {
                    return Together::default();
                }
                let pieces = self.movable(state, blurs, curve, leg);
                let (shape, together) = self.cheapest(state, curve, leg, &pieces);
                state.curves[curve] = shape;
                together
            })
            .collect()
    }

    fn movable(&self, state: &CurvesState, blurs: &[Option<f64>], curve: usize, leg: f64) -> Vec<Movable> {
        let mut pieces = Vec::new();
        for k in 0..state.base.photos.len() {
            let i = k * state.curves.len() + curve;
            let sighted = self.sighted(state, i, &[]);
            let middle = state.curves[curve].point(self.edges[curve].range.0);
            let depth = (middle - sighted.view.place()).norm();
            let px_per_mm = state.base.camera_of(k).intrinsics[0] / depth;
            let reach = (REACH * leg * px_per_mm).max(LEAST_REACH);
            if let Some(blur) = blurs[i] {
                pieces.extend(sighted.movable(blur, reach, self.stretches(state, curve)));
            }
        }
        pieces
    }

    /// In how many stretches the curve's chamfer has a light of its own.
    fn stretches(&self, state: &CurvesState, curve: usize) -> usize {
        match (self.edges[curve].wall(), &state.curves[curve]) {
            (Some(_), Shape::Circle(_)) => STRETCHES,
            (Some(_), Shape::Line(_)) => STRETCHES_OF_LINE,
            (None, _) => 1,
        }
    }

    /// The cheapest place of a curve: a compass search from several starts.
    fn cheapest(&self, state: &CurvesState, curve: usize, leg: f64, pieces: &[Movable]) -> (Shape, Together) {
        let shape = state.curves[curve];
        let mut moved = state.clone();
        // What holds two curves parallel would keep each where the other went wrong.
        let own: Vec<Known> = self
            .known
            .iter()
            .filter(|known| !matches!(known, Known::Parallel { .. }))
            .copied()
            .collect();
        let problem = CurvesProblem {
            known: &own,
            ..self.problem(&[], state)
        };
        let shared = self.edges[curve].wall().is_some();
        let mut say = Say::new(pieces, self.stretches(state, curve), shared);
        let mut known_cost = |step: &[f64]| -> f64 {
            moved.curves[curve] = shape.moved(step);
            problem.known_cost(&moved)
        };
        let metric = metric(&scales(&shape), pieces, &mut known_cost);
        let mut cost = |step: &[f64]| say.cost(step) + known_cost(step);
        let aslant = match shape {
            Shape::Circle(circle) if self.edges[curve].aside => Aslant::of(&circle, self.edges[curve].range),
            _ => None,
        };
        let (_, step) = match aslant {
            Some(aslant) => compass(aslant.start(leg, &mut cost), &aslant.directions, leg, &mut cost),
            None => self.flatly((&shape, curve), leg, &metric, &mut cost),
        };
        let open = if shared {
            self.spread((&shape, curve), (pieces.len(), &metric), (leg, &step), &mut cost)
        } else {
            0.0
        };
        let shares = if shared { say.shares(&step) } else { Shares::new() };
        (shape.moved(&step), Together { shares, open })
    }

    /// Standard deviation of how far outward a curve lies, mm: each size is as likely as the cheapest curve of that size.
    fn spread(
        &self,
        (shape, curve): (&Shape, usize),
        (pieces, metric): (usize, &DMatrix<f64>),
        (leg, best): (f64, &[f64]),
        cost: &mut impl FnMut(&[f64]) -> f64,
    ) -> f64 {
        let across = &self.edges[curve].across;
        let outward = started(shape, across, 1.0, 0.0);
        let length2: f64 = outward.iter().map(|v| v * v).sum();
        // All directions but outward: what is left of each without its part of that.
        let others: Vec<Vec<f64>> = axes(&scales(shape))
            .iter()
            .map(|axis| {
                let part: f64 = axis.iter().zip(&outward).map(|(a, o)| a * o).sum::<f64>() / length2;
                axis.iter().zip(&outward).map(|(a, o)| a - part * o).collect()
            })
            .collect();
        let others = undisturbed(&others, metric, &outward);
        let sizes = (-SIZES_A_LEG..=SIZES_A_LEG).map(|i| leg * f64::from(i) / f64::from(SIZES_A_LEG));
        let told: Vec<(f64, f64)> = sizes
            .map(|size| {
                let start = best.iter().zip(&outward).map(|(b, o)| b + size * o).collect();
                (size, compass(start, &others, leg, cost).0)
            })
            .collect();
        let least = told.iter().map(|t| t.1).fold(f64::INFINITY, f64::min);
        let believed = (MOST_BELIEVED / pieces as f64).min(1.0);
        let weight = |c: f64| (-0.5 * believed * (c - least)).exp();
        let total: f64 = told.iter().map(|(_, c)| weight(*c)).sum();
        let squares: f64 = told.iter().map(|(size, c)| weight(*c) * size * size).sum();
        (squares / total).sqrt()
    }

    /// The cheapest step of a curve that is held flat.
    fn flatly(
        &self,
        (shape, curve): (&Shape, usize),
        leg: f64,
        metric: &DMatrix<f64>,
        cost: &mut impl FnMut(&[f64]) -> f64,
    ) -> (f64, Vec<f64>) {
        let outward = started(shape, &self.edges[curve].across, 1.0, 0.0);
        let directions = undisturbed(&axes(&scales(shape)), metric, &outward);
        let mut best = (f64::INFINITY, vec![0.0; shape.parameters()]);
        for grown in GROWN {
            for sunk in SUNK {
                let start = started(shape, &self.edges[curve].across, grown * leg, sunk * leg);
                let found = compass(start, &directions, leg, cost);
                if found.0 < best.0 {
                    best = found;
                }
            }
        }
        best
    }
}

/// What all pieces of a curve say together.
struct Say<'a> {
    pieces: &'a [Movable],
    shared: bool,
    /// Sums of costs by stretch and share.
    sums: Vec<Vec<f64>>,
}

impl<'a> Say<'a> {
    fn new(pieces: &'a [Movable], stretches: usize, shared: bool) -> Self {
        let shares = if shared { SHARES } else { 1 };
        Self {
            pieces,
            shared,
            sums: vec![vec![0.0; shares]; stretches],
        }
    }

    fn add_up(&mut self, step: &[f64]) {
        self.sums.iter_mut().for_each(|sums| sums.fill(0.0));
        for piece in self.pieces {
            piece.add_after(step, &mut self.sums[piece.sector]);
        }
    }

    /// Twice the negative logarithm of how likely the pieces are after a step, the chamfer's light weighed out.
    fn cost(&mut self, step: &[f64]) -> f64 {
        self.add_up(step);
        if !self.shared {
            return self.sums.iter().map(|sums| sums[0]).sum();
        }
        self.sums.iter().map(|sums| share_in(sums).cost).sum()
    }

    /// The chamfer's light after a step.
    fn shares(&mut self, step: &[f64]) -> Shares {
        self.add_up(step);
        let told = |sums: &Vec<f64>| {
            let share = share_in(sums);
            (share.mean, share.spread.hypot(OWN_SHARE))
        };
        self.sums.iter().map(told).collect()
    }
}

/// The share in a stretch, from the sums of its pieces' costs.
fn share_in(sums: &[f64]) -> Weighed {
    let costs: Vec<f64> = sums.iter().enumerate().map(|(k, sum)| sum + unusual(k)).collect();
    weighed(&costs)
}

/// A rim that is free to lean and is seen from the side. It may have settled with one end of its arc on the one line and the
/// other end on the other, so the search moves three places of the arc along the axis, each for itself.
struct Aslant {
    /// Steps that move one of the three places along the axis by a millimetre, then those that move the rim across.
    directions: Vec<Vec<f64>>,
}

impl Aslant {
    /// `None` where the arc is too short to have three places.
    fn of(circle: &Circle, (from, to): (f64, f64)) -> Option<Self> {
        let places = [from, (from + to) / 2.0, to].map(|t| circle.radial(t) * circle.radius);
        // How far a shift along the axis and turns about two directions move each place along it, by differences.
        let unit = |k: usize| {
            let mut step = vec![0.0; Shape::Circle(*circle).parameters()];
            match k {
                0 => step[..3].copy_from_slice(circle.normal.as_slice()),
                k => step[2 + k] = 1.0,
            }
            step
        };
        let tiny = 1e-6;
        let moved = Matrix3::from_fn(|place, k| {
            let step: Vec<f64> = unit(k).iter().map(|s| s * tiny).collect();
            match Shape::Circle(*circle).moved(&step) {
                Shape::Circle(moved) if k == 0 => (moved.centre - circle.centre).dot(&circle.normal) / tiny,
                // A place stays in the rim's plane: it goes the opposite way of the normal's lean.
                Shape::Circle(moved) => -places[place].dot(&moved.normal) / tiny,
                Shape::Line(_) => 0.0,
            }
        });
        let by_place = moved.try_inverse()?;
        let mut directions: Vec<Vec<f64>> = (0..3)
            .map(|place| {
                let mut step = vec![0.0; Shape::Circle(*circle).parameters()];
                for k in 0..3 {
                    let share = by_place[(k, place)];
                    step.iter_mut().zip(unit(k)).for_each(|(s, u)| *s += share * u);
                }
                step
            })
            .collect();
        let (a, b) = (circle.radial(0.0), circle.radial(FRAC_PI_2));
        for across in [a, b] {
            let mut step = vec![0.0; Shape::Circle(*circle).parameters()];
            step[..3].copy_from_slice(across.as_slice());
            directions.push(step);
        }
        Some(Self { directions })
    }

    /// The cheapest of all steps that move the three places by parts of the leg.
    fn start(&self, leg: f64, cost: &mut impl FnMut(&[f64]) -> f64) -> Vec<f64> {
        let mut best = (f64::INFINITY, vec![0.0; self.directions[0].len()]);
        let parts = || (-PLACED..=PLACED).map(|i| f64::from(i) * leg / PLACES_A_LEG);
        for first in parts() {
            for second in parts() {
                for third in parts() {
                    let mut step = vec![0.0; self.directions[0].len()];
                    for (size, direction) in [first, second, third].iter().zip(&self.directions) {
                        step.iter_mut().zip(direction).for_each(|(s, d)| *s += size * d);
                    }
                    let here = cost(&step);
                    if here < best.0 {
                        best = (here, step);
                    }
                }
            }
        }
        best.1
    }
}

/// What a step costs near the least cost: about so much for each px^2 by which it moves a piece, and what is known of the
/// curve, by differences.
fn metric(scales: &[f64], pieces: &[Movable], known_cost: &mut impl FnMut(&[f64]) -> f64) -> DMatrix<f64> {
    let size = scales.len();
    let mut metric = DMatrix::zeros(size, size);
    for piece in pieces {
        piece.weigh(&mut metric);
    }
    metric /= TELLS_PX * TELLS_PX;
    let tiny = 1e-3;
    let mut along = |pick: &[usize]| {
        let mut step = vec![0.0; size];
        pick.iter().for_each(|&k| step[k] += tiny * scales[k]);
        known_cost(&step)
    };
    let here = along(&[]);
    for i in 0..size {
        for j in 0..size {
            let bend = along(&[i, j]) - along(&[i]) - along(&[j]) + here;
            metric[(i, j)] += 0.5 * bend / (tiny * tiny * scales[i] * scales[j]);
        }
    }
    metric
}

/// A step along each parameter.
fn axes(scales: &[f64]) -> Vec<Vec<f64>> {
    let axis = |k: usize| {
        (0..scales.len())
            .map(|i| if i == k { scales[k] } else { 0.0 })
            .collect()
    };
    (0..scales.len()).map(axis).collect()
}

/// What a millimetre at the edge is in each parameter.
fn scales(shape: &Shape) -> Vec<f64> {
    match shape {
        Shape::Circle(circle) => {
            let turn = 1.0 / circle.radius;
            vec![1.0, 1.0, 1.0, turn, turn, 1.0]
        }
        // A turn counts at some ten millimetres from the middle of what is seen.
        Shape::Line(_) => vec![1.0, 1.0, 0.1, 0.1],
    }
}

/// The step that moves a curve outward and along the direction into the target by some lengths, mm.
fn started(
    shape: &Shape,
    across: &(shimwright_geom::Vec3, shimwright_geom::Vec3),
    out: f64,
    down: f64,
) -> Vec<f64> {
    match shape {
        Shape::Circle(circle) => {
            let sunk = -circle.normal * down;
            vec![sunk.x, sunk.y, sunk.z, 0.0, 0.0, out]
        }
        Shape::Line(line) => {
            let wanted = across.0 * out - across.1 * down;
            // The first two parameters shift a line along two directions across it.
            let unit = |k: usize| {
                let mut step = [0.0; 4];
                step[k] = 1.0;
                match shape.moved(&step) {
                    Shape::Line(moved) => moved.point - line.point,
                    Shape::Circle(_) => shimwright_geom::Vec3::zeros(),
                }
            };
            vec![wanted.dot(&unit(0)), wanted.dot(&unit(1)), 0.0, 0.0]
        }
    }
}
