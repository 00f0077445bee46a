//! The noise floor: power density of the room when nothing rings.

use crate::fourier::{Frames, quantile};
use crate::track::Track;

/// Length of a frame, s.
const FRAME_S: f64 = 0.19;
/// Share of the frames that are taken for quiet.
const QUIET_SHARE: f64 = 0.15;
/// The mean over the quietest frames is a little below the noise's own mean.
const QUIET_BIAS: f64 = 1.3;
/// Bands in which frames are compared, Hz.
const BANDS_HZ: [f64; 11] = [
    15.0, 25.0, 40.0, 65.0, 100.0, 160.0, 260.0, 420.0, 700.0, 1_200.0, 2_000.0,
];
/// The floor never lies further than this below the loudest density: no microphone hears more.
const DEEPEST: f64 = 1e-8;

/// Power density over frequency.
#[derive(Clone, Debug)]
pub(crate) struct Floor {
    density: Vec<f64>,
    bin_hz: f64,
}

impl Floor {
    /// The floor of a track, from its quietest frames.
    pub fn of(track: &Track) -> Self {
        let length = ((FRAME_S * track.rate_hz) as usize).next_power_of_two() / 2 * 2;
        let length = length.min(previous_power_of_two(track.samples.len()));
        let frames = Frames::of(&track.samples, track.rate_hz, length, (length / 4).max(1));
        let quiet = quietest(&frames);
        let bins = frames.powers[0].len();
        let mut density: Vec<f64> = (0..bins)
            .map(|bin| {
                QUIET_BIAS * quiet.iter().map(|&frame| frames.powers[frame][bin]).sum::<f64>()
                    / quiet.len() as f64
            })
            .collect();
        let loudest = frames.powers.iter().flatten().copied().fold(0.0, f64::max);
        let smooth: Vec<f64> = (0..bins)
            .map(|bin| {
                let around = &density[bin.saturating_sub(1)..(bin + 2).min(bins)];
                around.iter().sum::<f64>() / around.len() as f64
            })
            .collect();
        for (value, smooth) in density.iter_mut().zip(smooth) {
            *value = smooth.max(DEEPEST * loudest).max(f64::MIN_POSITIVE);
        }
        Self {
            density,
            bin_hz: frames.bin_hz,
        }
    }

    /// The density at a frequency, between bins by straight line.
    pub fn at(&self, frequency_hz: f64) -> f64 {
        let place = (frequency_hz / self.bin_hz).max(0.0);
        let last = self.density.len() - 1;
        let low = (place as usize).min(last);
        let share = place - low as f64;
        let high = (low + 1).min(last);
        self.density[low] + share.min(1.0) * (self.density[high] - self.density[low])
    }
}

/// The frames with the least sound, judged in decibels over bands so that neither one loud band nor chance in many bins decides.
/// What is typical of a band is taken from as few frames: a low string may ring through most of a recording.
fn quietest(frames: &Frames) -> Vec<usize> {
    let count = frames.powers.len();
    let mut loudness = vec![0.0; count];
    for band in BANDS_HZ.windows(2) {
        let bins = frames.bins([band[0], band[1]]);
        let levels: Vec<f64> = frames
            .powers
            .iter()
            .map(|frame| frame[bins.clone()].iter().sum())
            .collect();
        let typical = quantile(levels.iter().copied(), QUIET_SHARE).max(f64::MIN_POSITIVE);
        for (sum, level) in loudness.iter_mut().zip(&levels) {
            *sum += (1.0 + level / typical).ln();
        }
    }
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|&a, &b| loudness[a].total_cmp(&loudness[b]));
    let kept = ((count as f64 * QUIET_SHARE).ceil() as usize).clamp(1, count);
    order.truncate(kept);
    order
}

fn previous_power_of_two(n: usize) -> usize {
    (n + 1).next_power_of_two() / 2
}
