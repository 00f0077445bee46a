//! Steady tones (mains hum, a fan, a motor at constant speed): found where nothing else sounds, and subtracted.
//!
//! A pluck is heard through hum of its own strength only if the hum is taken off with its phase: a filter at the
//! hum's frequency would take the span's partial with it.

use crate::fourier::{Transform, quantile};
use crate::track::Track;
use rustfft::num_complex::Complex64;
use std::f64::consts::TAU;

/// Tones are taken for steady over this long, s: mains frequency wanders.
const PIECE_S: f64 = 6.0;
/// Length of the steps in which quiet is looked for, s.
const STEP_S: f64 = 0.05;
/// Steps are quiet whose power is at most this many times that of a step among the quietest.
const QUIET_POWER: f64 = 2.0;
const QUIET_SHARE: f64 = 0.12;
/// Least quiet time to judge by, s.
const LEAST_QUIET_S: f64 = 0.2;
/// The band looked at, Hz.
const BAND_HZ: [f64; 2] = [14.0, 1_500.0];
/// A tone stands this many times over the median of its neighbourhood.
const LEAST_RATIO: f64 = 30.0;
/// What lies this near makes the neighbourhood, Hz: wider than the skirts of a line in a short quiet.
const NEIGHBOURS_HZ: f64 = 20.0;
/// Most tones taken in a round, and rounds.
const A_ROUND: usize = 6;
const ROUNDS: usize = 7;
/// Mains frequencies of the world, how far they wander, how many harmonics are taken, and where hum is not, Hz.
const MAINS_HZ: [f64; 2] = [50.0, 60.0];
const MAINS_WANDER_HZ: f64 = 0.25;
const MAINS_HARMONICS: u32 = 12;
const MAINS_BESIDE_HZ: f64 = 7.0;
/// The spectrum in which hum is looked for is this many times as fine as the recording is long: a line between two of
/// its bins is a fiftieth too low at most.
const HUM_PADDING: usize = 8;
/// A tone whose three thirds differ by more than this share of their mean is not steady.
const STEADY: f64 = 0.25;

/// Subtracts steady tones.
pub(crate) fn without_steady_tones(track: &Track) -> Track {
    let pieces = (track.samples.len() as f64 / (PIECE_S * track.rate_hz))
        .ceil()
        .max(1.0) as usize;
    let length = track.samples.len().div_ceil(pieces);
    let samples = track
        .samples
        .chunks(length)
        .flat_map(|piece| Piece::of(piece, track.rate_hz).cleaned())
        .collect();
    Track {
        samples,
        rate_hz: track.rate_hz,
    }
}

struct Piece {
    samples: Vec<f64>,
    rate_hz: f64,
    /// Places of quiet samples, in order.
    quiet: Vec<usize>,
}

impl Piece {
    fn of(samples: &[f64], rate_hz: f64) -> Self {
        let step = ((STEP_S * rate_hz) as usize).max(1);
        let powers: Vec<f64> = samples
            .chunks(step)
            .map(|part| part.iter().map(|s| s * s).sum::<f64>() / part.len() as f64)
            .collect();
        let limit = QUIET_POWER * quantile(powers.iter().copied(), QUIET_SHARE);
        let quiet = (0..samples.len()).filter(|k| powers[k / step] <= limit).collect();
        Self {
            samples: samples.to_vec(),
            rate_hz,
            quiet,
        }
    }

    fn cleaned(mut self) -> Vec<f64> {
        if (self.quiet.len() as f64) < LEAST_QUIET_S * self.rate_hz {
            return self.samples;
        }
        for mains_hz in MAINS_HZ {
            self.without_hum(mains_hz);
        }
        // Hum drowned what is quiet and what is not: look again.
        self = Self::of(&self.samples, self.rate_hz);
        let transform = Transform::of_at_least(2 * self.samples.len());
        let mut refused: Vec<f64> = Vec::new();
        for _ in 0..ROUNDS {
            let found = self.candidates(&transform, &refused);
            if found.is_empty() {
                break;
            }
            for guess in found {
                let frequency = self.sharpened(guess);
                if self.is_steady(frequency) {
                    let amplitude = self.amplitude(frequency, &self.quiet);
                    self.subtract(frequency, amplitude);
                } else {
                    refused.push(guess);
                }
            }
        }
        self.samples
    }

    /// Subtracts mains hum: its harmonics share one frequency, which they tell together far better than one line does,
    /// and that carries the subtraction from a short quiet to the plucks.
    fn without_hum(&mut self, mains_hz: f64) {
        let transform = Transform::of_at_least(HUM_PADDING * self.samples.len());
        let [power, _] = transform.powers(self.masked(), std::iter::empty());
        let bin_hz = self.rate_hz / transform.length() as f64;
        let together = |hz: f64| -> f64 {
            (1..=MAINS_HARMONICS)
                .map(|n| (f64::from(n) * hz / bin_hz).round() as usize)
                .filter_map(|bin| power.get(bin))
                .sum()
        };
        // One bin at the highest harmonic.
        let step = bin_hz / f64::from(MAINS_HARMONICS);
        let steps = (MAINS_WANDER_HZ / step) as i32;
        let best = (-steps..=steps)
            .map(|k| mains_hz + f64::from(k) * step)
            .map(|hz| (together(hz), hz))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let beside = (together(mains_hz - MAINS_BESIDE_HZ) + together(mains_hz + MAINS_BESIDE_HZ)) / 2.0;
        let Some((height, hz)) = best else { return };
        if height < LEAST_RATIO * beside {
            return;
        }
        // Twice, because the harmonics are not quite orthogonal over a broken quiet.
        for n in (1..=MAINS_HARMONICS).chain(1..=MAINS_HARMONICS).map(f64::from) {
            if self.is_steady(n * hz) {
                let amplitude = self.amplitude(n * hz, &self.quiet);
                self.subtract(n * hz, amplitude);
            }
        }
    }

    /// The samples with silence in place of what is not quiet.
    fn masked(&self) -> impl Iterator<Item = f64> {
        let mut masked = vec![0.0; self.samples.len()];
        for &k in &self.quiet {
            masked[k] = self.samples[k];
        }
        masked.into_iter()
    }

    /// Frequencies of the highest lines in the quiet parts.
    fn candidates(&self, transform: &Transform, refused: &[f64]) -> Vec<f64> {
        let [power, _] = transform.powers(self.masked(), std::iter::empty());
        let bin_hz = self.rate_hz / transform.length() as f64;
        let first = (BAND_HZ[0] / bin_hz).ceil() as usize;
        let last = ((BAND_HZ[1] / bin_hz) as usize).min(power.len() - 2);
        let beside = (NEIGHBOURS_HZ / bin_hz) as usize;
        let apart_hz = 2.0 * self.rate_hz / self.samples.len() as f64;
        let mut lines: Vec<(f64, f64)> = (first.max(1)..=last)
            .filter(|&k| power[k] >= power[k - 1] && power[k] > power[k + 1])
            .map(|k| (power[k], k))
            .filter(|(height, k)| {
                // The median costs the most: look at high local maxima only.
                let around = &power[k.saturating_sub(beside)..(k + beside).min(power.len())];
                let mean = around.iter().sum::<f64>() / around.len() as f64;
                *height > 3.0 * mean && *height > LEAST_RATIO * quantile(around.iter().copied(), 0.5)
            })
            .map(|(height, k)| (height, k as f64 * bin_hz))
            .filter(|(_, f)| refused.iter().all(|other| (other - f).abs() > apart_hz))
            .collect();
        lines.sort_by(|a, b| b.0.total_cmp(&a.0));
        let highest = lines.first().map_or(0.0, |line| line.0);
        // Lower ones may be skirts of the highest until that is taken off.
        lines.retain(|line| line.0 > 0.03 * highest);
        lines.truncate(A_ROUND);
        lines.into_iter().map(|(_, frequency)| frequency).collect()
    }

    /// The frequency at which the quiet parts hold most, near a guess.
    fn sharpened(&self, guess: f64) -> f64 {
        let mut at = guess;
        let mut step = 0.3 * self.rate_hz / self.samples.len() as f64;
        for _ in 0..3 {
            let height = |f: f64| self.turned(f, &self.quiet).norm_sqr();
            let (low, middle, high) = (height(at - step), height(at), height(at + step));
            let bend = low - 2.0 * middle + high;
            at += if bend < 0.0 {
                (0.5 * (low - high) / bend).clamp(-1.0, 1.0) * step
            } else {
                (high - low).signum() * step
            };
            step *= 0.3;
        }
        at
    }

    fn turned(&self, frequency_hz: f64, places: &[usize]) -> Complex64 {
        let omega = TAU * frequency_hz / self.rate_hz;
        // Quiet places come in runs: a turn by multiplication, begun afresh at each run.
        let step = Complex64::from_polar(1.0, -omega);
        let mut turn = Complex64::default();
        let mut before = usize::MAX - 1;
        let mut sum = Complex64::default();
        for &k in places {
            turn = if k == before + 1 {
                turn * step
            } else {
                Complex64::from_polar(1.0, -omega * k as f64)
            };
            sum += turn * self.samples[k];
            before = k;
        }
        sum
    }

    /// Complex amplitude: the tone is its real part times exp(i w t).
    fn amplitude(&self, frequency_hz: f64, places: &[usize]) -> Complex64 {
        2.0 * self.turned(frequency_hz, places) / places.len() as f64
    }

    fn is_steady(&self, frequency_hz: f64) -> bool {
        let third = self.quiet.len().div_ceil(3);
        let whole = self.amplitude(frequency_hz, &self.quiet);
        self.quiet
            .chunks(third)
            .all(|part| (self.amplitude(frequency_hz, part) - whole).norm() < STEADY * whole.norm())
    }

    fn subtract(&mut self, frequency_hz: f64, amplitude: Complex64) {
        let step = Complex64::from_polar(1.0, TAU * frequency_hz / self.rate_hz);
        let mut turn = amplitude;
        for sample in &mut self.samples {
            *sample -= turn.re;
            turn *= step;
        }
    }
}
