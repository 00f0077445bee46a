//! How bright a chamfer is, shared between the photos.
//!
//! Where the band between an edge's two lines is as narrow as the blur, one photo cannot tell a dark chamfer from a
//! bright one, and the edge could lie at either line. But the chamfer at one place of the edge is the same in every
//! photo: its light against that of the surface beside it (the mount's top, the rim's outer face) is pooled over the
//! photos, place by place, before the edges are measured.

use super::pieces::StripPiece;
use shimwright_edge::{BandCost, Shade, fit_band_shades};
use shimwright_solve::FeatureId;

/// Places along the edge that are pooled on their own.
const BINS: usize = 12;
/// Shares of the neighbour's light that are tried: 0 to 1.5.
const SHARES: usize = 16;
const SHARE_STEP: f64 = 0.1;
/// Standard deviation of a photo's own share about the pooled one: surfaces are not quite matt.
const OWN: f64 = 0.12;
/// How far an edge may lie from where the round before left it, px.
const LEASH: f64 = 0.35;
/// A piece that fits no share well must not decide.
const MOST_COST: f64 = 8.0;

/// Sets the expected shade of every piece of a feature.
pub(crate) fn pool(pieces: &mut [StripPiece], feature: FeatureId, range: (f64, f64)) {
    let bin_of = |t: f64| (((t - range.0) / (range.1 - range.0) * BINS as f64) as usize).min(BINS - 1);
    let mut costs = vec![[0.0f64; SHARES]; BINS];
    for piece in pieces.iter().filter(|p| p.feature == feature) {
        if let Some(own) = costs_of(piece) {
            let slot = &mut costs[bin_of(piece.piece.t)];
            slot.iter_mut().zip(own).for_each(|(sum, cost)| *sum += cost);
        }
    }
    let shares = smooth(&costs);
    for piece in pieces.iter_mut().filter(|p| p.feature == feature) {
        let (share, spread) = shares[bin_of(piece.piece.t)];
        let sigma = spread.hypot(OWN);
        piece.band.shade = Some(Shade {
            of_beyond: of_beyond(feature),
            share,
            sigma,
        });
    }
}

/// The mount's top lies before its edge along the axis, the rim's outer face beyond.
fn of_beyond(feature: FeatureId) -> bool {
    feature == FeatureId::Circle
}

/// Cost of each share in one piece, above its least.
fn costs_of(piece: &StripPiece) -> Option<[f64; SHARES]> {
    let shades: [Option<Shade>; SHARES] = std::array::from_fn(|i| {
        Some(Shade {
            of_beyond: of_beyond(piece.feature),
            share: SHARE_STEP * i as f64,
            sigma: 0.3 * SHARE_STEP,
        })
    });
    let by_share = fit_band_shades(&piece.strip, &piece.noise, &piece.band, &shades, 0.875, 0.125)?;
    let pulled = |cost: &BandCost| {
        let at = |k: usize| (cost.first + cost.step * k as f64) / LEASH;
        cost.cost
            .iter()
            .enumerate()
            .map(|(k, c)| c + at(k).powi(2))
            .fold(f64::INFINITY, f64::min)
    };
    let mut costs = [0.0; SHARES];
    costs
        .iter_mut()
        .zip(&by_share)
        .for_each(|(slot, cost)| *slot = pulled(cost));
    let least = costs.iter().copied().fold(f64::INFINITY, f64::min);
    let scale = (least / by_share.first()?.freedom).max(1.0);
    costs
        .iter_mut()
        .for_each(|c| *c = ((*c - least) / scale).min(MOST_COST));
    Some(costs)
}

/// Mean and standard deviation of the share at each place, from the costs there and, half as much, beside it.
fn smooth(costs: &[[f64; SHARES]]) -> Vec<(f64, f64)> {
    (0..costs.len())
        .map(|i| {
            let beside = [i.checked_sub(1), Some(i + 1).filter(|&j| j < costs.len())];
            let weight = |k: usize| {
                let more: f64 = beside.iter().flatten().map(|&j| costs[j][k]).sum();
                // Neighbouring pieces share grain, so their costs are not independent: half of it is believed.
                (-0.25 * (costs[i][k] + 0.5 * more)).exp()
            };
            let share = |k: usize| SHARE_STEP * k as f64;
            let total: f64 = (0..SHARES).map(weight).sum();
            let mean = (0..SHARES).map(|k| weight(k) * share(k)).sum::<f64>() / total;
            let spread = (0..SHARES)
                .map(|k| weight(k) * (share(k) - mean).powi(2))
                .sum::<f64>()
                / total;
            (mean, spread.sqrt())
        })
        .collect()
}
