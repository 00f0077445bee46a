//! How bright the rim's chamfer is around the axis, shared between the photos.
//!
//! Seen face-on a chamfer is narrower than the blur: one piece cannot tell a dark chamfer seen here from a bright one seen
//! a little further out, and says little of where its edge lies. But light comes from the same side in all photos, so the
//! chamfer's light against that of the face beside it depends on the direction from the axis in the fixed frame. It is
//! pooled over all photos, sector by sector, and then expected of every piece. An error of it moves the rim alike in all
//! photos and turns against the wheel, so it does not pass for eccentricity.

use super::rim::{SECTORS, StripPiece, sector_of};
use crate::chamfer_light::{SHARE_STEP, SHARES, Weighed, unusual, weighed};
use nalgebra::{SMatrix, SVector};
use shimwright_edge::{BandCost, Shade, fit_band_shades};
use std::f64::consts::TAU;

/// Standard deviation of a piece's own share about the pooled one: surfaces are not quite matt.
const OWN: f64 = 0.12;
/// How far an edge may lie from where the round before left it, px.
const LEASH: f64 = 0.35;
/// A piece that fits no share well must not decide.
const MOST_COST: f64 = 8.0;

/// Sets the expected shade of every piece.
pub(super) fn pool(pieces: &mut [StripPiece]) {
    let mut costs = vec![[0.0f64; SHARES]; SECTORS];
    for piece in pieces.iter() {
        if let Some(own) = costs_of(piece) {
            let slot = &mut costs[sector_of(piece.around)];
            slot.iter_mut().zip(own).for_each(|(sum, cost)| *sum += cost);
        }
    }
    let shares: Vec<Weighed> = (0..SECTORS).map(|i| share_in(&costs, i)).collect();
    let Some(smooth) = smooth(&shares) else { return };
    for piece in pieces {
        let spread = shares[sector_of(piece.around)].spread;
        let share = harmonics(piece.around)
            .dot(&smooth)
            .clamp(0.0, SHARE_STEP * SHARES as f64);
        piece.band.shade = Some(Shade {
            of_beyond: false,
            share,
            sigma: spread.hypot(OWN),
        });
    }
}

/// Cost of each share in one piece, above its least.
fn costs_of(piece: &StripPiece) -> Option<[f64; SHARES]> {
    let shades: [Option<Shade>; SHARES] = std::array::from_fn(|i| {
        Some(Shade {
            of_beyond: false,
            share: SHARE_STEP * i as f64,
            sigma: 0.3 * SHARE_STEP,
        })
    });
    let by_share = fit_band_shades(&piece.strip, &piece.noise, &piece.band, &shades, 0.75, 0.25)?;
    let pulled = |cost: &BandCost| {
        let away = |k: usize| (cost.first + cost.step * k as f64) / LEASH;
        let each = cost.cost.iter().enumerate().map(|(k, c)| c + away(k).powi(2));
        each.fold(f64::INFINITY, f64::min)
    };
    let costs: [f64; SHARES] = std::array::from_fn(|i| pulled(&by_share[i]));
    let least = costs.iter().copied().fold(f64::INFINITY, f64::min);
    let scale = (least / by_share.first()?.freedom).max(1.0);
    Some(costs.map(|c| ((c - least) / scale).min(MOST_COST)))
}

/// The share in a sector, from the costs there and, half as much, beside it.
fn share_in(costs: &[[f64; SHARES]], i: usize) -> Weighed {
    let count = costs.len();
    let beside = [(i + count - 1) % count, (i + 1) % count];
    // Neighbouring pieces share grain, so their costs are not independent: half of it is believed. What is usual is known
    // once, however many pieces there are.
    let cost =
        |k: usize| 0.5 * (costs[i][k] + 0.5 * (costs[beside[0]][k] + costs[beside[1]][k])) + unusual(k);
    weighed(&std::array::from_fn::<f64, SHARES, _>(cost))
}

/// Number of numbers that tell the share around the axis: constant, and two harmonics.
const SMOOTH: usize = 5;

fn harmonics(angle: f64) -> SVector<f64, SMOOTH> {
    let ((sin, cos), (sin2, cos2)) = (angle.sin_cos(), (2.0 * angle).sin_cos());
    SVector::from([1.0, cos, sin, cos2, sin2])
}

/// The share as a smooth function of the angle: jumps between sectors would show as edges that jump.
fn smooth(shares: &[Weighed]) -> Option<SVector<f64, SMOOTH>> {
    let mut normal = SMatrix::<f64, SMOOTH, SMOOTH>::identity() * 1e-3;
    let mut right = SVector::<f64, SMOOTH>::zeros();
    for (i, share) in shares.iter().enumerate() {
        let row = harmonics(TAU * (i as f64 + 0.5) / shares.len() as f64);
        let weight = 1.0 / (share.spread * share.spread + OWN * OWN);
        normal += row * row.transpose() * weight;
        right += row * (weight * share.mean);
    }
    Some(normal.cholesky()?.solve(&right))
}
