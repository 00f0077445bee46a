//! What the pixels of every piece of edge say, tabled once: then the edges can be moved, and their chamfers' light
//! weighed, without a look at a picture.

use super::pieces::StripPiece;
use super::refine::Ranges;
use shimwright_edge::{BandTable, EdgeGuess, TableGrid, band_table};
use shimwright_solve::{EdgeSight, FeatureId};

/// How far from the guess an edge may lie, px.
const REACH: f64 = 4.0;
/// Distance between places, px.
const STEP: f64 = 0.125;
/// Shares of the neighbour's light that a chamfer may throw back: 0 to 1.5.
pub(crate) const SHARES: usize = 16;
pub(crate) const SHARE_STEP: f64 = 0.1;
/// Blurs, as factors to the expected one.
const BLURS: [f64; 7] = [0.7, 0.82, 0.94, 1.08, 1.25, 1.5, 1.9];
/// Spread of the logarithm of a piece's blur about that of its edge in the photo.
const BLUR_SPREAD: f64 = 0.12;
/// Standard deviation of the logarithm of an edge's blur against that of the card's corners.
const BLUR_PRIOR: f64 = 0.25;
/// Standard deviation of a photo's own share about the common one: surfaces are not quite matt.
const OWN: f64 = 0.12;
/// Part of a piece's standard deviation that the noise does not show: rounding of the edge, grain, px.
const FLOOR: f64 = 0.08;
/// A piece that fits nowhere near the others pulls no harder than this (chi-squared).
const MOST_COST: f64 = 25.0;
/// Least chi-squared a degree of freedom that is believed.
const LEAST_MISFIT: f64 = 0.2;
/// Pieces less certain than this say nothing, px.
const VAGUE: f64 = 1.5;
/// A piece whose cost falls by this much towards the end of its table surely lies beyond it.
const BEYOND: f64 = 9.0;
/// Neighbouring pieces share grain and JPEG blocks: so much of what they say is believed.
const BELIEVED: f64 = 0.5;

/// One piece's costs by place and share, blur weighed out.
pub(crate) struct Table {
    pub photo: usize,
    pub feature: FeatureId,
    pub guess: EdgeGuess,
    /// Curve parameter at the piece's middle.
    pub t: f64,
    /// Its place in the marked range, -1 to 1.
    pub along: f64,
    /// Width of the band between the edge's two lines, px, signed.
    pub band: f64,
    /// Weight by its place in the marked range.
    pub weight: f64,
    /// Share of its say that is believed; it is part of the weight.
    pub believed: f64,
    /// Costs, share by share within place by place; never above [`MOST_COST`].
    cost: Vec<f64>,
}

/// Costs of all shares at a place: value, first and second derivative by the place (px).
pub(crate) type Row = [[f64; SHARES]; 3];

impl Table {
    fn places() -> usize {
        grid(FeatureId::Line).places()
    }

    /// The piece as a point of its edge at a place across it, px, with a standard deviation, px.
    pub fn sight(&self, place: f64, sigma_px: f64) -> EdgeSight {
        EdgeSight {
            photo: self.photo,
            feature: self.feature,
            at: self.guess.at + self.guess.side * place,
            side: self.guess.side,
            t: self.t,
            along: self.along,
            sigma_px,
        }
    }

    /// Costs at a place, by cubic interpolation; beyond the table the cost stays what it is at its end.
    pub fn at(&self, place: f64) -> Row {
        let last = Self::places() - 1;
        let x = ((place + REACH) / STEP).clamp(1.0, last as f64 - 1.0 - 1e-9);
        let i = x as usize;
        let u = x - i as f64;
        let mut row = [[0.0; SHARES]; 3];
        let costs = |k: usize| &self.cost[k * SHARES..(k + 1) * SHARES];
        let beside = costs(i - 1).iter().zip(costs(i)).zip(costs(i + 1));
        let [value, slope, curvature] = &mut row;
        let out = value.iter_mut().zip(slope).zip(curvature);
        let around = beside.zip(costs((i + 2).min(last))).zip(out);
        for ((((a, b), d), e), ((value, slope), curvature)) in around {
            // Catmull-Rom.
            let (p, q, r) = (
                0.5 * (d - a),
                a - 2.5 * b + 2.0 * d - 0.5 * e,
                -0.5 * a + 1.5 * b - 1.5 * d + 0.5 * e,
            );
            *value = b + u * (p + u * (q + u * r));
            *slope = (p + u * (2.0 * q + 3.0 * u * r)) / STEP;
            *curvature = (2.0 * q + 6.0 * u * r) / (STEP * STEP);
        }
        row
    }

    /// Where the piece would lie on its own under weights of the shares. `solved` is where all together put it, px.
    pub fn own_place(&self, shares: &[f64; SHARES], solved: f64) -> OwnPlace {
        let cost = |i: usize| -> f64 { (0..SHARES).map(|s| shares[s] * self.cost[i * SHARES + s]).sum() };
        let count = Self::places();
        let (best, least) = (0..count)
            .map(|i| (i, cost(i)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or((0, 0.0));
        if best == 0 || best + 1 == count {
            let at = ((solved + REACH) / STEP).clamp(0.0, count as f64 - 1.0);
            let beyond = cost(at.round() as usize) - least > BEYOND;
            return if beyond { OwnPlace::Beyond } else { OwnPlace::Vague };
        }
        let (a, b, c) = (cost(best - 1), least, cost(best + 1));
        let curvature = (a - 2.0 * b + c) / (STEP * STEP);
        let sigma = (2.0 / curvature.max(1e-9)).sqrt();
        let place = STEP * best as f64 - REACH - 0.5 * STEP * (c - a) / (a - 2.0 * b + c).max(1e-9);
        if sigma < VAGUE {
            OwnPlace::At(place, sigma)
        } else {
            OwnPlace::Vague
        }
    }
}

/// Where a piece lies on its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum OwnPlace {
    /// At a place in the table, px, with its standard deviation.
    At(f64, f64),
    /// Surely beyond the table's end.
    Beyond,
    /// The piece shows too little to say.
    Vague,
}

fn grid(feature: FeatureId) -> TableGrid {
    TableGrid {
        reach: REACH,
        step: STEP,
        shares: SHARES,
        share_step: SHARE_STEP,
        // The mount's top lies before its edge along the axis, the rim's outer face beyond.
        of_beyond: feature == FeatureId::Circle,
    }
}

/// Tables of the pieces of one edge in one photo, which share a blur.
pub(crate) fn of_edge(pieces: &[StripPiece], corner_blur: f64, ranges: &Ranges) -> Vec<Table> {
    let blurs = BLURS.map(|f| f * corner_blur);
    let raw: Vec<(&StripPiece, BandTable)> = pieces
        .iter()
        .filter_map(|p| {
            let table = band_table(&p.strip, &p.noise, p.band.width, &blurs, &grid(p.feature))?;
            Some((p, table))
        })
        .collect();
    let blur = common_blur(&raw);
    let usual = usual_misfit(&raw);
    raw.iter()
        .map(|(piece, table)| Table {
            photo: piece.photo,
            feature: piece.feature,
            guess: piece.piece.guess,
            t: piece.piece.t,
            along: ranges.along(piece.feature, piece.piece.t),
            band: piece.band.width,
            weight: piece.believed * ranges.weight(piece.feature, piece.piece.t),
            believed: piece.believed,
            cost: weighed(table, blur, usual),
        })
        .collect()
}

fn least(costs: &[f32]) -> f64 {
    f64::from(costs.iter().copied().fold(f32::INFINITY, f32::min))
}

/// Chi-squared a degree of freedom that an edge's pieces usually reach. The noise of a strip counts the grain of the
/// surface and what a model may be wrong by, and is often too wide: how well the pieces fit tells.
fn usual_misfit(raw: &[(&StripPiece, BandTable)]) -> f64 {
    let mut all: Vec<f64> = raw.iter().map(|(_, t)| least(&t.cost) / t.freedom).collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or(1.0).max(LEAST_MISFIT)
}

/// Logarithm of the factor by which an edge is more blurred than the card's corners: mean over what its pieces say.
fn common_blur(raw: &[(&StripPiece, BandTable)]) -> f64 {
    let count = raw.len().max(1) as f64;
    let size = Table::places() * SHARES;
    let cost = |b: usize| -> f64 {
        let pieces: f64 = raw
            .iter()
            .map(|(_, table)| {
                let least = least(&table.cost[b * size..(b + 1) * size]);
                // A piece that no blur explains must not decide.
                (least / table.freedom).min(20.0)
            })
            .sum();
        // A blur unlike that of the corners must explain the pieces clearly better: a wide step and a chamfer
        // between two lines look much alike.
        4.0 * (pieces / count + 0.3 * (BLURS[b].ln() / BLUR_PRIOR).powi(2))
    };
    let costs: Vec<f64> = (0..BLURS.len()).map(cost).collect();
    let least = costs.iter().copied().fold(f64::INFINITY, f64::min);
    let weights: Vec<f64> = costs.iter().map(|c| (0.5 * (least - c)).exp()).collect();
    let total: f64 = weights.iter().sum();
    weights.iter().zip(BLURS).map(|(w, b)| w * b.ln()).sum::<f64>() / total
}

/// Costs by place and share with the blur weighed out, softened by what the noise does not show, and bounded.
fn weighed(table: &BandTable, blur: f64, usual: f64) -> Vec<f64> {
    let places = Table::places();
    let size = places * SHARES;
    let least = least(&table.cost);
    // What the model does not explain widens the piece's say.
    let scale = (least / table.freedom).max(usual);
    let prior = BLURS.map(|f| (-0.5 * ((f.ln() - blur) / BLUR_SPREAD).powi(2)).exp());
    let total: f64 = prior.iter().sum();
    let mut likelihood = vec![0.0; size];
    for (b, weight) in prior.iter().enumerate() {
        if *weight < 1e-4 * total {
            continue;
        }
        for (slot, cost) in likelihood.iter_mut().zip(&table.cost[b * size..(b + 1) * size]) {
            *slot += weight / total * (-0.5 * (f64::from(*cost) - least) / scale).exp();
        }
    }
    let softened = blurred_by_share(&blurred_by_place(&likelihood));
    let costs: Vec<f64> = softened.iter().map(|l| -2.0 * l.max(1e-300).ln()).collect();
    let least = costs.iter().copied().fold(f64::INFINITY, f64::min);
    costs
        .iter()
        .map(|c| {
            let above = BELIEVED * (c - least);
            above / (1.0 + above / MOST_COST)
        })
        .collect()
}

fn kernel(sigma: f64, reach: usize) -> Vec<f64> {
    (0..=reach)
        .map(|k| (-0.5 * (k as f64 / sigma).powi(2)).exp())
        .collect()
}

fn blurred_by_place(values: &[f64]) -> Vec<f64> {
    smoothed(values, Table::places(), SHARES, &kernel(FLOOR / STEP, 2))
}

fn blurred_by_share(values: &[f64]) -> Vec<f64> {
    let places = Table::places();
    let own = kernel(OWN / SHARE_STEP, 4);
    (0..places)
        .flat_map(|i| smoothed(&values[i * SHARES..(i + 1) * SHARES], SHARES, 1, &own))
        .collect()
}

/// Convolves along an axis of `count` entries `stride` apart; at the ends the kernel's rest is left out.
fn smoothed(values: &[f64], count: usize, stride: usize, kernel: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; values.len()];
    for i in 0..count {
        for rest in 0..stride {
            let (mut sum, mut total) = (0.0, 0.0);
            let reach = kernel.len() - 1;
            for j in i.saturating_sub(reach)..=(i + reach).min(count - 1) {
                let weight = kernel[i.abs_diff(j)];
                sum += weight * values[j * stride + rest];
                total += weight;
            }
            out[i * stride + rest] = sum / total;
        }
    }
    out
}
