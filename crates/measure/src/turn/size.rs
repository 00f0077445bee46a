//! How large the rim is, when it is open which line of its chamfer was seen.
//!
//! A face whose chamfer is as bright as itself and one whose chamfer is as dark as what lies behind show the same edge, a
//! chamfer's leg apart. Eccentricity and run-out do not mind: the whole rim is larger or smaller. Its diameter does. When all
//! else is solved, smaller and larger rims are weighed against each other over all pieces of all photos, each with the blur
//! and with the light that suit it best: that light is the same in all photos, sector by sector about the axis.

use super::rim::{SECTORS, StripPiece, sector_of};
use crate::chamfer_light::{SHARE_STEP, SHARES, USUAL, unusual, weighed};
use shimwright_edge::{TableGrid, band_table};

/// How far a rim's chamfer is from as bright as usual in the mean over its sectors (standard deviation of the share).
const USUAL_MEAN_SPREAD: f64 = 0.3;
/// Blurs tried, as factors to that of the ring's corners, and the standard deviation of the logarithm of that factor.
const BLURS: [f64; 5] = [0.9, 0.95, 1.0, 1.05, 1.1];
const BLUR_SPREAD: f64 = 0.05;
/// How far a piece's own edge may lie from where the rim is taken to be, px.
const LEASH: f64 = 0.2;
/// Distance between places in a piece's table, px.
const STEP: f64 = 0.125;
/// A piece that fits no share well must not decide.
const MOST_COST: f64 = 8.0;
/// Sizes that are tried: so many steps of a part of the chamfer's leg smaller and larger.
const STEPS: i32 = 8;
const STEPS_A_LEG: f64 = 6.0;
/// One of so many pieces is asked.
const ONE_OF: usize = 3;
/// Neighbouring pieces share grain, so their costs are not independent: half of it is believed.
const BELIEVED: f64 = 0.5;
/// Difference of the pixels' logarithmic likelihood that makes one size e times as likely as another. Far more than chance
/// alone would ask for: a lens that blurs not quite like a Gaussian shifts it by about as much.
const DOUBT: f64 = 20.0;

/// How the radius that was solved for is mended, mm.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Size {
    /// How much larger it is.
    pub grown: f64,
    /// What stays open of that (standard deviation).
    pub open: f64,
}

impl Size {
    /// Weighs sizes of the rim; the pieces lie about the solved one.
    pub(super) fn weighed(pieces: &[StripPiece], leg: f64) -> Self {
        let sizes: Vec<f64> = (-STEPS..=STEPS)
            .map(|i| leg * f64::from(i) / STEPS_A_LEG)
            .collect();
        let count = sizes.len();
        // Every blur with every size.
        let mut costs = vec![[[0.0f64; SHARES]; SECTORS]; BLURS.len() * count];
        for piece in pieces.iter().step_by(ONE_OF) {
            // A piece whose levels its pixels leave open says nothing of the size.
            let Some(told) = costs_of(piece, &sizes) else {
                continue;
            };
            for (sum, own) in costs.iter_mut().zip(told) {
                let slot = &mut sum[sector_of(piece.around)];
                slot.iter_mut().zip(own).for_each(|(sum, cost)| *sum += cost);
            }
        }
        let told: Vec<(f64, f64)> = costs.iter().map(likely).collect();
        let weights = weights(&told, count);
        let mean = |of: &dyn Fn(f64) -> f64| -> f64 {
            let each = weights.iter().enumerate().map(|(i, w)| w * of(sizes[i % count]));
            each.sum()
        };
        let grown = mean(&|size| size);
        let open = mean(&|size| (size - grown).powi(2)).sqrt();
        Self { grown, open }
    }
}

/// How likely each blur and size is, of `count` sizes to a blur.
fn weights(told: &[(f64, f64)], count: usize) -> Vec<f64> {
    let likely = |(i, (pixels, share)): (usize, &(f64, f64))| {
        let off = [
            (share - USUAL) / USUAL_MEAN_SPREAD,
            BLURS[i / count].ln() / BLUR_SPREAD,
        ];
        pixels / DOUBT - 0.5 * off.iter().map(|off| off * off).sum::<f64>()
    };
    let likely: Vec<f64> = told.iter().enumerate().map(likely).collect();
    let most = likely.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = likely.iter().map(|l| (l - most).exp()).collect();
    let total: f64 = weights.iter().sum();
    weights.iter().map(|w| w / total).collect()
}

/// Costs of each share in one piece under each size of the rim, above the least.
fn costs_of(piece: &StripPiece, sizes: &[f64]) -> Option<Vec<[f64; SHARES]>> {
    let most = sizes.iter().fold(0.0f64, |most, size| most.max(size.abs()));
    let grid = TableGrid {
        reach: ((most * piece.per_mm.abs() + 2.0 * LEASH) / STEP).ceil() * STEP,
        step: STEP,
        shares: SHARES,
        share_step: SHARE_STEP,
        of_beyond: false,
    };
    let blurs = BLURS.map(|factor| factor * piece.band.blur);
    let table = band_table(&piece.strip, &piece.noise, piece.band.width, &blurs, &grid)?;
    let least = table.cost.iter().copied().fold(f32::INFINITY, f32::min);
    let scale = (f64::from(least) / table.freedom).max(1.0);
    let of = |(blur, size): (usize, &f64)| -> [f64; SHARES] {
        std::array::from_fn(|share| {
            let each = (0..grid.places()).map(|k| {
                let away = (STEP * k as f64 - grid.reach - size * piece.per_mm) / LEASH;
                f64::from(table.cost[(blur * grid.places() + k) * SHARES + share] - least) / scale
                    + away * away
            });
            each.fold(MOST_COST, f64::min)
        })
    };
    let all = (0..BLURS.len()).flat_map(|blur| sizes.iter().map(move |size| (blur, size)));
    Some(all.map(of).collect())
}

/// How likely the costs of all sectors are (logarithm), and the mean share.
fn likely(costs: &[[f64; SHARES]; SECTORS]) -> (f64, f64) {
    let told = |i: usize| {
        let beside = [(i + SECTORS - 1) % SECTORS, (i + 1) % SECTORS];
        // A sector and, half as much, those beside it: each counts once in all of them together.
        let cost = |k: usize| {
            let pixels = 0.5 * costs[i][k] + 0.25 * (costs[beside[0]][k] + costs[beside[1]][k]);
            BELIEVED * pixels + unusual(k)
        };
        let share = weighed(&std::array::from_fn::<f64, SHARES, _>(cost));
        (-0.5 * share.cost, share.mean)
    };
    let sum = |(pixels, share): (f64, f64), i: usize| {
        let (p, s) = told(i);
        (pixels + p, share + s / SECTORS as f64)
    };
    (0..SECTORS).fold((0.0, 0.0), sum)
}
