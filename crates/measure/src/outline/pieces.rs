//! Pieces of a curve in one photo: where each lies across the edge.

use super::{Edge, Wall, sector};
use crate::chamfer_light::{SHARE_STEP, SHARES};
use crate::gap::view::{Piece, View, guess_between};
use nalgebra::DMatrix;
use shimwright_edge::{Band, Noise, StepProfile, Strip, TableGrid, band_table, fit_band, fit_band_near_blur};
use shimwright_geom::GreyPicture;
use shimwright_solve::Shape;

/// Length of a piece, px: the tip of a tooth holds several.
const LENGTH: f64 = 6.0;
/// Distance between pieces, px. They overlap, so that a piece that is partly beside a tooth has a neighbour to disagree
/// with, and a narrow tip still holds a piece with two neighbours.
const STRIDE: f64 = 2.0;
/// Factor to the standard deviation of a piece, which shares each of its pixels with two others: the root of three.
const SHARED: f64 = 1.732;
/// Pixels of flat surface looked at beyond the blurred edge.
const FLAT: f64 = 2.5;
/// Blurs tried, as factors to that of the target's corners: the part stands nearer than the sheet.
const BLURS: [f64; 7] = [0.7, 0.85, 1.0, 1.2, 1.5, 2.0, 2.8];
/// Part of a piece's standard deviation that the noise does not show, px: rounding of the edge, grain.
const FLOOR: f64 = 0.08;
/// Pieces less certain than this say nothing, px.
const VAGUE: f64 = 0.6;
/// Chi-squared a degree of freedom above which a piece shows something else than an edge.
const MOST_MISFIT: f64 = 12.0;
/// A piece that fits no place well must not decide.
const MOST_COST: f64 = 8.0;
/// Width in which a face may come into view and still count as turned away, px.
const TURNED_AWAY: f64 = 0.5;
/// Distance between places at which a piece is costed, px.
const STEP_PX: f64 = 0.125;
/// Neighbours on one edge lie no further apart than this across it, px.
const STEP: f64 = 0.35;

/// How a round looks.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Look {
    /// How far from the guess an edge may lie, px.
    pub reach: f64,
    /// How far it usually lies, px.
    pub leash: f64,
    /// Whether a piece may be a little more or less blurred than its neighbours: slow, and of use only near the end.
    pub own_blur: bool,
}

/// One curve in one photo.
pub(crate) struct Sighted<'a> {
    pub picture: &'a GreyPicture,
    pub view: View,
    pub shape: Shape,
    pub edge: Edge,
    /// What is known of the chamfer's share of the face's light, stretch by stretch; empty before it was told.
    pub shares: &'a [(f64, f64)],
}

/// A located piece.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Located {
    pub piece: Piece,
    /// Where the edge lies across the guess, px.
    pub place: f64,
    /// Standard deviation, px.
    pub sigma: f64,
}

impl Sighted<'_> {
    /// The pieces with the width of their band in px, outward positive. `None` when part of the curve is behind the
    /// camera.
    fn pieces(&self) -> Option<Vec<(Piece, f64)>> {
        let (from, to) = self.edge.range;
        let see = |t: f64| self.view.see(&self.shape.point(t));
        let rough = (0..=64)
            .map(|i| see(from + (to - from) * f64::from(i) / 64.0))
            .collect::<Option<Vec<_>>>()?;
        let length: f64 = rough.windows(2).map(|w| (w[1] - w[0]).norm()).sum();
        let count = (length / STRIDE).clamp(8.0, 900.0) as usize;
        let step = (to - from) / count as f64;
        let half = step * LENGTH / STRIDE / 2.0;
        (0..count)
            .map(|i| from + step * (i as f64 + 0.5))
            .filter(|t| !self.edge.aside || !shows_face(&self.view, &self.shape, *t))
            .filter(|t| self.is_clear(*t))
            .map(|t| {
                let point = self.shape.point(t);
                let (outward, along) = self.edge.frame(&self.shape, t);
                let at = see(t)?;
                let side = self.view.see(&(point + self.edge.side(&self.shape, t)))? - at;
                let guess = guess_between(&see(t - half)?, &at, &see(t + half)?, &side);
                let (out, up) = self.edge.chamfer;
                let second = self.view.see(&(point + outward * out + along * up))?;
                Some((Piece { t, guess }, (second - at).dot(&guess.side)))
            })
            .collect()
    }

    /// Whether no sliver of wall stands beside the edge.
    fn is_clear(&self, t: f64) -> bool {
        let (outward, _) = self.edge.frame(&self.shape, t);
        let clear = |wall: Wall| wall.is_clear(&self.view, &self.shape.point(t), &outward);
        self.edge.wall().is_none_or(clear)
    }

    /// The band model of a piece.
    fn band(&self, t: f64, width: f64, blur: f64) -> Band {
        let count = self.shares.len();
        let share = (count > 0).then(|| self.shares[sector(self.edge.range, t, count)]);
        self.edge.band(width, blur, share)
    }

    /// The blur under which the pieces cost least together; one unlike that of the target's corners must explain the
    /// pieces clearly better.
    pub fn blur(&self, corners: f64) -> f64 {
        let Some(pieces) = self.pieces() else {
            return corners;
        };
        let strips: Vec<_> = pieces
            .iter()
            .step_by((pieces.len() / 60).max(1))
            .filter_map(|(piece, band)| {
                strip_of(self.picture, piece, *band, corners).map(|(s, n)| (s, n, piece.t, *band))
            })
            .collect();
        let cost = |factor: f64| -> f64 {
            let costs = strips.iter().filter_map(|(strip, noise, t, width)| {
                let band = self.band(*t, *width, corners * factor);
                let cost = fit_band(strip, noise, &band, 2.0, 0.25)?;
                Some((cost.cost[cost.best()] / cost.freedom).min(MOST_MISFIT))
            });
            costs.sum::<f64>() / strips.len().max(1) as f64 + 0.3 * (factor.ln() / 0.25).powi(2)
        };
        let costs = BLURS.iter().map(|factor| (factor, cost(*factor)));
        costs
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map_or(corners, |(factor, _)| factor * corners)
    }

    /// Locates the pieces; those that show no edge, or whose neighbours lie elsewhere, are `None`.
    pub fn locate(&self, blur: f64, look: Look) -> Vec<Option<Located>> {
        let pieces = self.pieces().unwrap_or_default();
        let found: Vec<_> = pieces
            .iter()
            .map(|(piece, width)| locate_one(self.picture, piece, &self.band(piece.t, *width, blur), look))
            .collect();
        let closed = self.edge.is_closed(&self.shape);
        (0..found.len())
            .map(|i| found[i].filter(|one| agrees(&found, i, one, closed)))
            .collect()
    }

    /// What each piece costs wherever the edge may lie within `reach` px, and how it moves with the curve: for telling
    /// apart the two lines of a chamfer, which single pieces often cannot. Every third piece: they overlap.
    pub fn movable(&self, blur: f64, reach: f64, sectors: usize) -> Vec<Movable> {
        let pieces = self.pieces().unwrap_or_default();
        let apart = pieces.iter().step_by((LENGTH / STRIDE) as usize);
        apart
            .filter_map(|(piece, width)| self.movable_one((piece, *width), blur, reach, sectors))
            .collect()
    }

    fn movable_one(
        &self,
        (piece, width): (&Piece, f64),
        blur: f64,
        reach: f64,
        sectors: usize,
    ) -> Option<Movable> {
        let (strip, noise) = strip_of(self.picture, piece, width, blur)?;
        let reach = (reach / STEP_PX).ceil() * STEP_PX;
        let (costs, freedom) = if let Some(wall) = self.edge.wall() {
            let grid = TableGrid {
                reach,
                step: STEP_PX,
                shares: SHARES,
                share_step: SHARE_STEP,
                of_beyond: wall == Wall::Inward,
            };
            let table = band_table(&strip, &noise, width, &[blur], &grid)?;
            (table.cost.iter().map(|c| f64::from(*c)).collect(), table.freedom)
        } else {
            let cost = fit_band(&strip, &noise, &self.band(piece.t, width, blur), reach, STEP_PX)?;
            (cost.cost, cost.freedom)
        };
        let least = costs.iter().copied().fold(f64::INFINITY, f64::min);
        let scale = (least / freedom).max(1.0);
        let by_step = (0..self.shape.parameters())
            .map(|k| {
                let mut step = vec![0.0; self.shape.parameters()];
                step[k] = 1e-3;
                let moved = self.view.see(&self.shape.moved(&step).point(piece.t))?;
                Some((moved - piece.guess.at).dot(&piece.guess.side) / 1e-3)
            })
            .collect::<Option<_>>()?;
        Some(Movable {
            sector: sector(self.edge.range, piece.t, sectors),
            first: -reach,
            shares: self.edge.wall().map_or(1, |_| SHARES),
            cost: costs
                .iter()
                .map(|c| ((c - least) / scale).min(MOST_COST))
                .collect(),
            by_step,
        })
    }

    /// Mean chi-squared a degree of freedom of the pieces at the curve itself, among those given by `which`.
    pub fn misfit(&self, blur: f64, which: &[bool]) -> Option<f64> {
        let pieces = self.pieces()?;
        let costs: Vec<f64> = pieces
            .iter()
            .zip(which)
            .filter(|(_, wanted)| **wanted)
            .filter_map(|((piece, width), _)| {
                let (strip, noise) = strip_of(self.picture, piece, *width, blur)?;
                let band = self.band(piece.t, *width, blur);
                let cost = fit_band(&strip, &noise, &band, 0.25, 0.125)?;
                Some((cost.near(0.0) / cost.freedom).min(MOST_MISFIT))
            })
            .collect();
        (!costs.is_empty()).then(|| costs.iter().sum::<f64>() / costs.len() as f64)
    }
}

/// A piece whose place follows the curve's parameters.
pub(crate) struct Movable {
    /// Stretch of the edge that it lies in.
    pub sector: usize,
    first: f64,
    /// Number of shares of light under which it is costed.
    shares: usize,
    /// Costs, share by share within place by place.
    cost: Vec<f64>,
    by_step: Vec<f64>,
}

impl Movable {
    /// Adds the square of how far each step moves it, px^2.
    pub fn weigh(&self, metric: &mut DMatrix<f64>) {
        let by = DMatrix::from_column_slice(self.by_step.len(), 1, &self.by_step);
        *metric += &by * by.transpose();
    }

    /// Adds its cost under each share after a step of the curve's parameters.
    pub fn add_after(&self, step: &[f64], sums: &mut [f64]) {
        let place: f64 = self.by_step.iter().zip(step).map(|(by, step)| by * step).sum();
        let at = (place - self.first) / STEP_PX;
        let last = self.cost.len() / self.shares - 1;
        if !(at >= 0.0 && at <= last as f64) {
            sums.iter_mut().for_each(|sum| *sum += MOST_COST);
            return;
        }
        let i = (at as usize).min(last - 1);
        let share = at - i as f64;
        let row = |i: usize| self.cost[i * self.shares..(i + 1) * self.shares].iter();
        for ((sum, here), next) in sums.iter_mut().zip(row(i)).zip(row(i + 1)) {
            *sum += here * (1.0 - share) + next * share;
        }
    }
}

fn strip_of(picture: &GreyPicture, piece: &Piece, band: f64, blur: f64) -> Option<(Strip, Noise)> {
    let from = band.min(0.0) - 1.8 * blur - FLAT;
    let to = band.max(0.0) + 1.8 * blur + FLAT;
    let strip = Strip::collect(picture, &piece.guess, from, to)?
        .trimmed(band.min(0.0) - 1.2 * blur, band.max(0.0) + 1.2 * blur);
    let noise = Noise::measure(&strip, FLAT)?;
    Some((strip, noise))
}

fn locate_one(picture: &GreyPicture, piece: &Piece, band: &Band, look: Look) -> Option<Located> {
    let (strip, noise) = strip_of(picture, piece, band.width, band.blur)?;
    let fit = if look.own_blur {
        fit_band_near_blur
    } else {
        fit_band
    };
    let cost = fit(&strip, &noise, band, look.reach, 0.125)?;
    let misfit = cost.cost[cost.best()] / cost.freedom;
    let scale = misfit.max(1.0);
    let (place, curvature) = cost.minimum(0.0, look.leash, scale)?;
    let sigma = SHARED * (2.0 * scale / curvature + FLOOR * FLOOR).sqrt();
    (sigma < VAGUE && misfit < MOST_MISFIT).then_some(Located {
        piece: *piece,
        place,
        sigma,
    })
}

/// Whether both neighbours show the same edge.
fn agrees(found: &[Option<Located>], i: usize, one: &Located, closed: bool) -> bool {
    let count = found.len();
    let beside = |step: isize| {
        let j = i as isize + step;
        let inside = (0..count as isize).contains(&j);
        // At the end of an open curve there is nothing to ask.
        (inside || closed).then(|| found[j.rem_euclid(count as isize) as usize])
    };
    [-1, 1].into_iter().all(|step| match beside(step) {
        None => true,
        Some(None) => false,
        Some(Some(other)) => (other.place - one.place).abs() < STEP + 2.0 * other.sigma.hypot(one.sigma),
    })
}

/// Whether a rim's face, which its normal points out of, is in view beyond a place of the rim. Rim, chamfer and face are then
/// three neighbours of one metal and any two of them may look alike; with the face turned away the chamfer is followed by
/// whatever lies behind.
pub(crate) fn shows_face(view: &View, shape: &Shape, t: f64) -> bool {
    let Shape::Circle(circle) = shape else {
        return false;
    };
    let towards = view.place() - shape.point(t);
    let (distance, towards) = (towards.norm(), towards.normalize());
    let across = 2.0 * circle.radius * towards.dot(&circle.radial(t)).max(0.0);
    across * towards.dot(&circle.normal) * view.focal_px() / distance > TURNED_AWAY
}

/// Guesses along a curve, evenly in its parameter, for a first look.
pub(crate) fn around(view: &View, shape: &Shape, edge: &Edge, count: usize) -> Option<Vec<Piece>> {
    let beside = |t: f64| shape.point(t) + edge.side(shape, t);
    view.pieces(edge.range, count, |t| shape.point(t), beside)
}

/// How much the light steps across a guess, more than beside it, at offsets half a pixel apart.
pub(crate) struct Ridges {
    reach: f64,
    heights: Vec<f64>,
}

/// A single glaring place must not carry the rest.
const MOST_RIDGE: f64 = 0.15;
/// How far beside an edge the light should step less, px.
const BESIDE: f64 = 3.5;

impl Ridges {
    /// Measures within `reach` px of a guess. `None` when that leaves the picture.
    pub fn measure(picture: &GreyPicture, piece: &Piece, reach: f64) -> Option<Self> {
        let profile = StepProfile::measure(picture, &piece.guess, reach + BESIDE)?;
        let size = |offset: f64| profile.at(offset).map_or(0.0, f64::abs);
        let count = (4.0 * reach) as i32;
        let heights = (0..=count)
            .map(|i| {
                let offset = f64::from(i) / 2.0 - reach;
                let beside = (size(offset - BESIDE) + size(offset + BESIDE)) / 2.0;
                (size(offset) - beside).clamp(0.0, MOST_RIDGE)
            })
            .collect();
        Some(Self { reach, heights })
    }

    /// The height at an offset; nothing out of reach.
    pub fn at(&self, offset: f64) -> f64 {
        let i = (2.0 * (offset + self.reach)).round();
        if i >= 0.0 {
            self.heights.get(i as usize).copied().unwrap_or(0.0)
        } else {
            0.0
        }
    }
}
