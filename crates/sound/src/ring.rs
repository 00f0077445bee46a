//! What rings after a pluck: partials that die away, each with its frequency, decay and strength.
//!
//! A damped sinusoid exp(-g t) cos(w t + p) in coloured noise is found where the matched filter's output stands
//! highest over the floor (generalised likelihood ratio); found ones are subtracted and fitted again in turn, so that
//! the skirts of a strong partial do not stand for others (RELAX, Li and Stoica 1996; from memory).

use crate::floor::Floor;
use crate::fourier::Transform;
use rustfft::num_complex::Complex64;
use std::f64::consts::{PI, TAU};

/// Decay times to try, s: even numbers of them, because two share a transform.
const DECAY_TIMES_S: [f64; 8] = [0.008, 0.015, 0.03, 0.06, 0.12, 0.24, 0.5, 1.2];
/// Least strength of a partial. Noise alone rarely reaches 12 in all that is searched; one partial that it makes is no string.
pub(crate) const LEAST_STRENGTH: f64 = 14.0;
/// Most partials in a pluck.
const MOST_PARTIALS: usize = 16;
/// What rings for fewer periods than this is a thump.
const LEAST_QUALITY: f64 = 3.0;
/// A weak partial this near a strong one (share of the frequency, beside their widths) only mends its shape.
const TWIN_SHARE: f64 = 0.006;
/// Weak means less than this share of the strong one's amplitude.
const TWIN_AMPLITUDE: f64 = 0.6;
/// Two partials nearer than this many of their widths are one, however loud each is.
const ONE_WIDTHS: f64 = 0.5;
/// What rings within this share of a frequency rings at it.
pub(crate) const SAME_PLACE: f64 = 0.015;
/// Partials nearer than this many widths are fitted again together.
const NEAR_WIDTHS: f64 = 8.0;
/// A partial is followed until exp(-this).
const FOLLOWED: f64 = 5.0;

/// A partial. `strength` is its energy over the noise at its frequency: noise alone gives 1 on average.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Partial {
    pub frequency_hz: f64,
    /// 1/s.
    pub decay: f64,
    pub strength: f64,
    /// At the start, full scale 1.
    pub amplitude: f64,
    /// Standard deviation of the frequency, Hz (Cramér-Rao).
    pub sigma_hz: f64,
    cosine: f64,
    sine: f64,
}

impl Partial {
    /// How many times pi periods it rings before it has fallen to 1/e.
    pub fn quality(&self) -> f64 {
        PI * self.frequency_hz / self.decay
    }
}

/// A piece of a track that begins with a pluck.
pub(crate) struct Ring<'a> {
    pub samples: &'a [f64],
    pub rate_hz: f64,
    pub floor: &'a Floor,
    pub band_hz: [f64; 2],
    pub transform: &'a Transform,
}

impl Ring<'_> {
    /// Strength of the strongest partial, from the coarse search alone.
    pub fn strongest(&self) -> f64 {
        self.search(self.samples).map_or(0.0, |(strength, ..)| strength)
    }

    /// The partials and what is left of the samples without them.
    pub fn partials(&self) -> (Vec<Partial>, Vec<f64>) {
        let mut residual = self.samples.to_vec();
        let mut found: Vec<Partial> = Vec::new();
        while found.len() < MOST_PARTIALS {
            let Some((strength, frequency, decay)) = self.search(&residual) else {
                break;
            };
            if strength < LEAST_STRENGTH {
                break;
            }
            found.push(self.fit(&residual, frequency, decay));
            let newest = found.len() - 1;
            self.take(&mut residual, &found[newest], -1.0);
            let near = |other: &Partial| {
                let widths = (other.decay + found[newest].decay) / TAU;
                (other.frequency_hz - found[newest].frequency_hz).abs() < NEAR_WIDTHS * widths
            };
            let again: Vec<usize> = (0..=newest).filter(|&k| near(&found[k])).collect();
            self.sweep(&mut residual, &mut found, &again);
        }
        let all: Vec<usize> = (0..found.len()).collect();
        self.sweep(&mut residual, &mut found, &all);
        self.sweep(&mut residual, &mut found, &all);
        found.retain(|partial| partial.strength >= LEAST_STRENGTH && partial.quality() >= LEAST_QUALITY);
        (without_twins(found), residual)
    }

    /// What rings at a frequency in what the partials leave: one place asks for less than a search of all, and what rings there
    /// may lie under partials enough of other sounds.
    pub fn rings_at(&self, residual: &[f64], frequency_hz: f64, decay: f64) -> Option<Partial> {
        let partial = self.fit(residual, frequency_hz, decay);
        let near = (partial.frequency_hz / frequency_hz - 1.0).abs() < SAME_PLACE;
        (near && partial.strength >= LEAST_STRENGTH && partial.quality() >= LEAST_QUALITY).then_some(partial)
    }

    /// Fits some of the partials again, one after the other, on what the others leave.
    fn sweep(&self, residual: &mut [f64], found: &mut [Partial], which: &[usize]) {
        for &k in which {
            self.take(residual, &found[k], 1.0);
            found[k] = self.fit(residual, found[k].frequency_hz, found[k].decay);
            self.take(residual, &found[k], -1.0);
        }
    }

    /// The highest strength on a grid: (strength, frequency, decay).
    fn search(&self, samples: &[f64]) -> Option<(f64, f64, f64)> {
        let bin_hz = self.rate_hz / self.transform.length() as f64;
        let bins = (self.band_hz[0] / bin_hz).ceil() as usize..=(self.band_hz[1] / bin_hz) as usize;
        let floor: Vec<f64> = bins
            .clone()
            .map(|bin| self.floor.at(bin as f64 * bin_hz))
            .collect();
        let mut best: Option<(f64, f64, f64)> = None;
        for pair in DECAY_TIMES_S.chunks_exact(2) {
            let decays = [1.0 / pair[0], 1.0 / pair[1]];
            let faded = |decay: f64| {
                let step = (-decay / self.rate_hz).exp();
                samples.iter().scan(1.0, move |fade, sample| {
                    let value = sample * *fade;
                    *fade *= step;
                    Some(value)
                })
            };
            let powers = self.transform.powers(faded(decays[0]), faded(decays[1]));
            for (power, decay) in powers.iter().zip(decays) {
                let weight = 1.0 / self.sum_of_squares(decay, samples.len());
                for (bin, floor) in bins.clone().zip(&floor) {
                    let strength = power[bin] * weight / floor;
                    if best.is_none_or(|(most, ..)| strength > most) {
                        best = Some((strength, bin as f64 * bin_hz, decay));
                    }
                }
            }
        }
        best
    }

    fn sum_of_squares(&self, decay: f64, length: usize) -> f64 {
        let ratio = (-2.0 * decay / self.rate_hz).exp();
        (1.0 - ratio.powi(length as i32)) / (1.0 - ratio)
    }

    /// The best partial near a guess: frequency and decay in turn by parabolas, in steps that shrink.
    fn fit(&self, samples: &[f64], frequency_hz: f64, decay: f64) -> Partial {
        let slowest = 1.0 / (2.0 * DECAY_TIMES_S[DECAY_TIMES_S.len() - 1]);
        let fastest = 2.0 / DECAY_TIMES_S[0];
        let (mut at, mut log_decay) = (frequency_hz, decay.ln());
        let (mut step_hz, mut step_decay) = (0.35 * decay.max(2.0) / TAU, 0.5);
        for _ in 0..4 {
            at = climb(at, step_hz, |f| self.projected(samples, f, log_decay.exp()).0)
                .clamp(self.band_hz[0], self.band_hz[1]);
            log_decay = climb(log_decay, step_decay, |d| self.projected(samples, at, d.exp()).0)
                .clamp(slowest.ln(), fastest.ln());
            step_hz *= 0.45;
            step_decay *= 0.5;
        }
        let decay = log_decay.exp();
        let (energy, cosine, sine) = self.projected(samples, at, decay);
        let strength = energy / (2.0 * self.floor.at(at));
        Partial {
            frequency_hz: at,
            decay,
            strength,
            amplitude: cosine.hypot(sine),
            sigma_hz: self.sigma_hz(decay, strength, samples.len()),
            cosine,
            sine,
        }
    }

    /// Energy that the best amplitude and phase explain, and their cosine and sine parts.
    fn projected(&self, samples: &[f64], frequency_hz: f64, decay: f64) -> (f64, f64, f64) {
        let length = self.followed(decay, samples.len());
        let omega = TAU * frequency_hz / self.rate_hz;
        let fade = decay / self.rate_hz;
        let step = Complex64::from_polar((-fade).exp(), omega);
        let sum = samples[..length]
            .iter()
            .rev()
            .fold(Complex64::default(), |sum, &sample| sum * step + sample);
        let geometric = |ratio: Complex64| (1.0 - ratio.powu(length as u32)) / (1.0 - ratio);
        let plain = geometric(Complex64::new((-2.0 * fade).exp(), 0.0)).re;
        let turning = geometric(step * step);
        let (cc, ss, cs) = (
            0.5 * (plain + turning.re),
            0.5 * (plain - turning.re),
            0.5 * turning.im,
        );
        let determinant = cc * ss - cs * cs;
        if determinant <= 1e-12 * plain * plain {
            return (0.0, 0.0, 0.0);
        }
        let cosine = (ss * sum.re - cs * sum.im) / determinant;
        let sine = (cc * sum.im - cs * sum.re) / determinant;
        (cosine * sum.re + sine * sum.im, cosine, sine)
    }

    fn followed(&self, decay: f64, length: usize) -> usize {
        ((FOLLOWED / decay * self.rate_hz) as usize)
            .clamp(16, length.max(16))
            .min(length)
    }

    /// Adds a partial (sign 1) or subtracts it (sign -1).
    fn take(&self, samples: &mut [f64], partial: &Partial, sign: f64) {
        let step = Complex64::from_polar(
            (-partial.decay / self.rate_hz).exp(),
            TAU * partial.frequency_hz / self.rate_hz,
        );
        let mut turn = Complex64::new(sign, 0.0);
        for sample in samples {
            *sample += partial.cosine * turn.re + partial.sine * turn.im;
            turn *= step;
        }
    }

    /// Cramér-Rao: var(w) = 1 / (2 E var(t)), the variance of time weighted with exp(-2 g t).
    fn sigma_hz(&self, decay: f64, strength: f64, length: usize) -> f64 {
        let ratio = (-2.0 * decay / self.rate_hz).exp();
        let (mut weight, mut sums) = (1.0, [0.0; 3]);
        for k in 0..length {
            let t = k as f64 / self.rate_hz;
            sums[0] += weight;
            sums[1] += weight * t;
            sums[2] += weight * t * t;
            weight *= ratio;
        }
        let mean = sums[1] / sums[0];
        let variance = sums[2] / sums[0] - mean * mean;
        1.0 / (TAU * (2.0 * strength.max(1.0) * variance).sqrt())
    }
}

/// The partials in order of frequency, without those that only mend the shape of a stronger one beside them: a pitch
/// that falls as the swing gets smaller is no pure damped sinusoid, and neither are two strings nearly in tune.
///
/// Whichever it is, the strong one may be pulled from its own place by as much as the weak one weighs beside it.
fn without_twins(mut found: Vec<Partial>) -> Vec<Partial> {
    found.sort_by(|a, b| b.strength.total_cmp(&a.strength));
    let mut kept: Vec<Partial> = Vec::new();
    for partial in found {
        match kept.iter_mut().find(|strong| mends(&partial, strong)) {
            None => kept.push(partial),
            Some(strong) => {
                let apart_hz = (strong.frequency_hz - partial.frequency_hz).abs();
                let pull_hz = apart_hz * partial.amplitude / (partial.amplitude + strong.amplitude);
                strong.sigma_hz = strong.sigma_hz.hypot(pull_hz);
            }
        }
    }
    kept.sort_by(|a, b| a.frequency_hz.total_cmp(&b.frequency_hz));
    kept
}

/// Whether a partial mends the shape of a stronger one: it is weak beside it, or lies where the two cannot be told apart.
fn mends(partial: &Partial, strong: &Partial) -> bool {
    let apart_hz = (strong.frequency_hz - partial.frequency_hz).abs();
    let widths = (strong.decay + partial.decay) / TAU;
    let weak = partial.amplitude < TWIN_AMPLITUDE * strong.amplitude;
    (weak && apart_hz < TWIN_SHARE * strong.frequency_hz + widths) || apart_hz < ONE_WIDTHS * widths
}

/// One parabola step towards a maximum, at most one step wide.
fn climb(at: f64, step: f64, value: impl Fn(f64) -> f64) -> f64 {
    let (low, middle, high) = (value(at - step), value(at), value(at + step));
    let bend = low - 2.0 * middle + high;
    if bend < 0.0 {
        at + (0.5 * (low - high) / bend).clamp(-1.5, 1.5) * step
    } else if high > low {
        at + step
    } else {
        at - step
    }
}
