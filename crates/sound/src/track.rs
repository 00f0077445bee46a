//! The recording at a lower rate: a span's partials of interest lie below 2 kHz.

use crate::Recording;
use std::f64::consts::PI;

/// Lowest rate to work at, 1/s.
const LEAST_RATE_HZ: f64 = 5_500.0;
/// Edge of the low-pass, as a share of the new rate.
const PASS: f64 = 0.42;
/// Half length of the low-pass, in samples of the new rate.
const HALF_LENGTH: usize = 12;

/// One channel at the working rate, its mean taken off.
#[derive(Clone, Debug)]
pub(crate) struct Track {
    pub samples: Vec<f64>,
    pub rate_hz: f64,
}

impl Track {
    /// Lowers the rate by a whole number, after a low-pass (windowed sinc, Hann).
    pub fn of(recording: &Recording) -> Self {
        let every = ((recording.rate_hz() / LEAST_RATE_HZ).floor() as usize).max(1);
        let rate_hz = recording.rate_hz() / every as f64;
        let samples = recording.samples();
        let mean = samples.iter().sum::<f64>() / samples.len() as f64;
        let taps = low_pass(every);
        let half = taps.len() / 2;
        let lowered = (0..samples.len() / every).map(|out| {
            let centre = out * every;
            let first = centre.saturating_sub(half);
            let last = (centre + half).min(samples.len() - 1);
            let skipped = first + half - centre;
            samples[first..=last]
                .iter()
                .zip(&taps[skipped..])
                .map(|(sample, tap)| (sample - mean) * tap)
                .sum::<f64>()
        });
        Self {
            samples: lowered.collect(),
            rate_hz,
        }
    }

    /// Highest frequency that the low-pass leaves whole, Hz.
    pub fn highest_hz(&self) -> f64 {
        0.36 * self.rate_hz
    }

    /// A time in samples.
    pub fn index(&self, seconds: f64) -> usize {
        (seconds.max(0.0) * self.rate_hz).round() as usize
    }
}

fn low_pass(every: usize) -> Vec<f64> {
    if every == 1 {
        return vec![1.0];
    }
    let half = (HALF_LENGTH * every) as i64;
    let cut = PASS / every as f64;
    let taps: Vec<f64> = (-half..=half)
        .map(|k| {
            let x = 2.0 * PI * cut * k as f64;
            let sinc = if k == 0 { 1.0 } else { x.sin() / x };
            sinc * (0.5 + 0.5 * (PI * k as f64 / (half + 1) as f64).cos())
        })
        .collect();
    let sum: f64 = taps.iter().sum();
    taps.into_iter().map(|tap| tap / sum).collect()
}
