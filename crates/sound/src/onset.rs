//! Where something was struck: sudden rises over the noise floor.

use crate::fourier::{Frames, quantile};
use crate::track::Track;

/// A way to look: short frames time a pluck well, long ones tell a low hum of a span from rumble.
struct Look {
    /// Length of a frame, s.
    frame_s: f64,
    /// Band, Hz.
    band_hz: [f64; 2],
}
const LOOKS: [Look; 2] = [
    Look {
        frame_s: 0.046,
        band_hz: [15.0, 1_500.0],
    },
    Look {
        frame_s: 0.15,
        band_hz: [15.0, 400.0],
    },
];
/// Between frames, s.
const HOP_S: f64 = 0.008;
/// A rise counts from this many standard deviations of what noise alone does.
const SIGMAS: f64 = 6.0;
/// What is kept before the middle of a frame, s: half a short frame.
const SHORT_HALF_S: f64 = 0.023;
/// Least time between two plucks, s.
const APART_S: f64 = 0.15;
/// Two looks place one pluck this far apart at most, s: a low string seen late by the long one is no second pluck.
const LOOKS_APART_S: f64 = 0.35;
/// The 30 % quantile of an exponential distribution of mean 1.
const QUANTILE_30: f64 = 0.357;

/// Samples shortly before which or at which something was struck, in order of time.
pub(crate) fn onsets(track: &Track) -> Vec<usize> {
    let apart = track.index(LOOKS_APART_S);
    let mut kept: Vec<usize> = Vec::new();
    for look in &LOOKS {
        let seen = look.onsets(track);
        kept.extend(
            seen.into_iter()
                .filter(|start| kept.iter().all(|other| other.abs_diff(*start) >= apart))
                .collect::<Vec<_>>(),
        );
    }
    kept.sort_unstable();
    kept
}

impl Look {
    fn onsets(&self, track: &Track) -> Vec<usize> {
        let length = ((self.frame_s * track.rate_hz) as usize).next_power_of_two();
        let hop = track.index(HOP_S).max(1);
        let frames = Frames::of(&track.samples, track.rate_hz, length, hop);
        if frames.powers.len() < 8 {
            return Vec::new();
        }
        let bins = frames.bins(self.band_hz);
        let loudest = frames.powers.iter().flatten().copied().fold(0.0, f64::max);
        let floor: Vec<f64> = bins
            .clone()
            .map(|bin| {
                let quiet = quantile(frames.powers.iter().map(|frame| frame[bin]), 0.3) / QUANTILE_30;
                quiet.max(1e-9 * loudest).max(f64::MIN_POSITIVE)
            })
            .collect();
        let level: Vec<f64> = frames
            .powers
            .iter()
            .map(|frame| {
                bins.clone()
                    .zip(&floor)
                    .map(|(bin, floor)| (1.0 + frame[bin] / floor).ln())
                    .sum()
            })
            .collect();
        // ln(1 + x) of exponential noise has a standard deviation of 0.44; the Hann window ties neighbouring bins.
        let noise = 0.44 * (1.5 * bins.len() as f64).sqrt();
        let rises = rises(&level, (length / hop).max(2));
        peaks(&rises, SIGMAS * noise, (APART_S / HOP_S) as usize)
            .into_iter()
            // A rise is steepest when the onset is near the middle of the frame.
            .map(|frame| {
                frame * hop + length / 2 - (SHORT_HALF_S * track.rate_hz).min(length as f64 / 2.0) as usize
            })
            .collect()
    }
}

/// How far each frame stands above the mean of the frames before it that it does not overlap.
fn rises(level: &[f64], overlap: usize) -> Vec<f64> {
    (0..level.len())
        .map(|frame| {
            let until = frame.saturating_sub(overlap);
            let from = until.saturating_sub(6);
            if from == until {
                return 0.0;
            }
            level[frame] - level[from..until].iter().sum::<f64>() / (until - from) as f64
        })
        .collect()
}

/// Largest values over a threshold, none nearer to a larger one than `apart`.
fn peaks(values: &[f64], least: f64, apart: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..values.len()).filter(|&k| values[k] > least).collect();
    order.sort_by(|&a, &b| values[b].total_cmp(&values[a]).then(a.cmp(&b)));
    let mut kept: Vec<usize> = Vec::new();
    for k in order {
        if kept.iter().all(|&other| other.abs_diff(k) >= apart) {
            kept.push(k);
        }
    }
    kept.sort_unstable();
    kept
}
