//! Fourier transforms of real signals, and short-time power.

use rustfft::num_complex::Complex64;
use rustfft::{Fft, FftPlanner};
use std::f64::consts::PI;
use std::sync::Arc;

/// A transform of fixed length.
pub(crate) struct Transform {
    plan: Arc<dyn Fft<f64>>,
    length: usize,
}

impl Transform {
    /// A transform whose length is the next power of two.
    pub fn of_at_least(length: usize) -> Self {
        let length = length.next_power_of_two();
        Self {
            plan: FftPlanner::new().plan_fft_forward(length),
            length,
        }
    }

    /// Its length.
    pub fn length(&self) -> usize {
        self.length
    }

    /// Power |X|^2 of two real signals, bins 0 to half the length: two for the price of one complex transform.
    pub fn powers(&self, a: impl Iterator<Item = f64>, b: impl Iterator<Item = f64>) -> [Vec<f64>; 2] {
        let mut work = vec![Complex64::default(); self.length];
        for (slot, value) in work.iter_mut().zip(a) {
            slot.re = value;
        }
        for (slot, value) in work.iter_mut().zip(b) {
            slot.im = value;
        }
        self.plan.process(&mut work);
        let half = self.length / 2;
        let mut powers = [vec![0.0; half + 1], vec![0.0; half + 1]];
        for k in 0..=half {
            let (x, mirrored) = (work[k], work[(self.length - k) % self.length].conj());
            powers[0][k] = 0.25 * (x + mirrored).norm_sqr();
            powers[1][k] = 0.25 * (x - mirrored).norm_sqr();
        }
        powers
    }
}

/// Power densities of overlapping frames (Hann window); white noise of variance 1 has density 1.
pub(crate) struct Frames {
    /// A frame's densities, bins 0 to half.
    pub powers: Vec<Vec<f64>>,
    /// Hz a bin.
    pub bin_hz: f64,
}

impl Frames {
    /// Cuts a signal into frames of `length` samples, a power of two.
    pub fn of(samples: &[f64], rate_hz: f64, length: usize, hop: usize) -> Self {
        let window: Vec<f64> = (0..length)
            .map(|k| 0.5 - 0.5 * (2.0 * PI * (k as f64 + 0.5) / length as f64).cos())
            .collect();
        let scale = 1.0 / window.iter().map(|w| w * w).sum::<f64>();
        let transform = Transform::of_at_least(length);
        let starts: Vec<usize> = (0..samples.len().saturating_sub(length - 1))
            .step_by(hop)
            .collect();
        let mut powers = Vec::with_capacity(starts.len());
        let frame = |start: usize| {
            samples[start..start + length]
                .iter()
                .zip(&window)
                .map(|(sample, weight)| sample * weight)
        };
        for pair in starts.chunks(2) {
            let [a, b] = transform.powers(frame(pair[0]), frame(pair[pair.len() - 1]));
            powers.push(a.iter().map(|p| p * scale).collect());
            if pair.len() == 2 {
                powers.push(b.iter().map(|p| p * scale).collect());
            }
        }
        Self {
            powers,
            bin_hz: rate_hz / transform.length() as f64,
        }
    }

    /// Bins whose frequency lies in a band.
    pub fn bins(&self, band_hz: [f64; 2]) -> std::ops::Range<usize> {
        let first = (band_hz[0] / self.bin_hz).ceil().max(1.0) as usize;
        let last = (band_hz[1] / self.bin_hz).floor() as usize;
        let most = self.powers.first().map_or(0, Vec::len);
        first.min(most)..(last + 1).min(most)
    }
}

/// The value below which a share of the values lies.
pub(crate) fn quantile(values: impl Iterator<Item = f64>, share: f64) -> f64 {
    let mut sorted: Vec<f64> = values.collect();
    if sorted.is_empty() {
        return 0.0;
    }
    sorted.sort_by(f64::total_cmp);
    sorted[((sorted.len() - 1) as f64 * share).round() as usize]
}
