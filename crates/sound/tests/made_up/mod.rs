//! Made-up recordings of plucked spans, from a seed: a stiff damped string, room noise, mains hum and a second string.
#![allow(dead_code)]

use shimwright_sound::{Limits, Recording};
use std::f64::consts::{PI, TAU};

/// A seeded generator (xorshift64*, Vigna 2016).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// Uniform in a range.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        let bits = self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11;
        low + (high - low) * bits as f64 / (1u64 << 53) as f64
    }

    /// Uniform in the logarithm.
    pub fn log_between(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    pub fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[(self.between(0.0, from.len() as f64) as usize).min(from.len() - 1)]
    }

    /// Nearly normal with unit variance: the sum of twelve uniform numbers.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.between(0.0, 1.0)).sum::<f64>() - 6.0
    }
}

/// A string: partials at n f0 sqrt(1 + B n^2), each dying away.
#[derive(Clone, Copy, Debug)]
pub struct Strung {
    /// Frequency of its fundamental when it hardly moves any more, Hz.
    pub fundamental_hz: f64,
    pub stiffness: f64,
    /// pi f / decay of the fundamental.
    pub quality: f64,
    /// Where it is plucked, as a share of its length.
    pub place: f64,
    /// Rise of the pitch at the start of a pluck, as a share.
    pub glide: f64,
}

impl Strung {
    pub fn any(dice: &mut Dice, fundamental_hz: f64) -> Self {
        Self {
            fundamental_hz,
            stiffness: dice.log_between(1e-5, 4e-3),
            // Rubber is no bell: a belt span has died away to 1/e within 0.4 s, however low.
            quality: dice.log_between(15.0, 80.0).min(PI * fundamental_hz * 0.4),
            place: dice.between(0.2, 0.5),
            glide: dice.between(0.0, 0.003),
        }
    }

    /// Adds a pluck of amplitude 1 from sample `start`.
    pub fn pluck(&self, samples: &mut [f64], start: usize, rate: f64, amplitude: f64, dice: &mut Dice) {
        let ideal = self.fundamental_hz / (1.0 + self.stiffness).sqrt();
        let decay = PI * self.fundamental_hz / self.quality;
        for n in 1..=14 {
            let n = f64::from(n);
            let hz = n * ideal * (1.0 + self.stiffness * n * n).sqrt();
            if hz > 0.45 * rate || hz > 4_000.0 {
                break;
            }
            let strength = amplitude * (PI * n * self.place).sin() / n;
            // Higher partials die away faster.
            let own_decay = decay * (1.0 + 0.2 * (n - 1.0));
            let mut phase = dice.between(0.0, TAU);
            for (k, sample) in samples[start..].iter_mut().enumerate() {
                let t = k as f64 / rate;
                if own_decay * t > 12.0 {
                    break;
                }
                let attack = (t / 0.002).min(1.0);
                *sample += strength * attack * (-own_decay * t).exp() * phase.sin();
                phase += TAU * hz * (1.0 + self.glide * (-2.0 * decay * t).exp()) / rate;
            }
        }
    }
}

/// A made-up recording and what is true of it.
pub struct Scene {
    pub recording: Recording,
    pub truth_hz: f64,
    pub snr_db: f64,
    pub told: String,
}

fn power(samples: &[f64]) -> f64 {
    samples.iter().map(|s| s * s).sum::<f64>() / samples.len() as f64
}

/// White or pink noise of unit power.
pub fn noise(length: usize, rate: f64, pink: bool, dice: &mut Dice) -> Vec<f64> {
    let mut made: Vec<f64> = (0..length).map(|_| dice.normal()).collect();
    if pink {
        // A sum of first-order low-passes an octave apart is close to 1/f from 20 Hz up.
        let corners: Vec<f64> = (0..9).map(|k| 20.0 * f64::from(2u32.pow(k))).collect();
        let mut states = vec![0.0; corners.len()];
        for sample in &mut made {
            let white = *sample;
            *sample = 0.0;
            for (state, corner) in states.iter_mut().zip(&corners) {
                let keep = (-TAU * corner / rate).exp();
                *state = keep * *state + (1.0 - keep) * white;
                *sample += *state / (corner / 20.0).sqrt() * (0.5 * (rate / corner)).sqrt();
            }
        }
    }
    let scale = power(&made).sqrt().recip();
    made.iter().map(|s| s * scale).collect()
}

/// Any scene: 20 to 400 Hz, 20 to 6 dB over the noise, hum of 50 or 60 Hz with harmonics, a second string.
pub fn scene(seed: u64) -> Scene {
    let mut dice = Dice::new(seed);
    let rate = dice.pick(&[8_000.0, 16_000.0, 22_050.0, 44_100.0, 48_000.0]);
    let fundamental = dice.log_between(20.0, 400.0);
    let string = Strung::any(&mut dice, fundamental);
    let other = loop {
        let hz = dice.log_between(20.0, 600.0);
        if (hz / fundamental).ln().abs() > 0.06 {
            break Strung::any(&mut dice, hz);
        }
    };
    let other_level = dice.between(0.1, 0.5);
    let plucks = dice.pick(&[1, 2, 3, 4]);
    let gap = dice.between(0.7, 1.3);
    let before = dice.between(0.6, 1.2);
    let length = ((before + gap * f64::from(plucks)) * rate) as usize;
    let mut samples = vec![0.0; length];
    for k in 0..plucks {
        let start = ((before + gap * f64::from(k)) * rate) as usize;
        let this = Strung {
            fundamental_hz: fundamental * (1.0 + 0.002 * dice.normal()),
            place: string.place * dice.between(0.9, 1.0),
            ..string
        };
        let loud = dice.between(0.7, 1.0);
        this.pluck(&mut samples, start, rate, loud, &mut dice);
        other.pluck(&mut samples, start, rate, loud * other_level, &mut dice);
    }
    let start = (before * rate) as usize;
    let rings = power(&samples[start..start + (0.25 * rate) as usize]);
    let snr_db = dice.between(6.0, 20.0);
    let pink = dice.pick(&[true, false]);
    let noise_level = (rings / 10f64.powf(snr_db / 10.0)).sqrt();
    let hum_db = dice.between(-12.0, 3.0);
    let mains = dice.pick(&[50.0, 60.0]) + dice.between(-0.05, 0.05);
    for (sample, noise) in samples.iter_mut().zip(noise(length, rate, pink, &mut dice)) {
        *sample += noise_level * noise;
    }
    let hum = hum(length, rate, mains, &mut dice);
    let hum_level = (rings * 10f64.powf(hum_db / 10.0)).sqrt();
    for (sample, hum) in samples.iter_mut().zip(hum) {
        *sample = 0.05 * (*sample + hum_level * hum);
    }
    Scene {
        recording: Recording::new(samples, rate, &Limits::default()).unwrap(),
        truth_hz: fundamental,
        snr_db,
        told: format!(
            "{fundamental:.2} Hz B {:.5} Q {:.0} place {:.2}, other {:.1} Hz x {other_level:.2}, {plucks} plucks, {snr_db:.0} dB {}, \
             hum {mains:.2} Hz {hum_db:.0} dB, {rate} Hz",
            string.stiffness,
            string.quality,
            string.place,
            other.fundamental_hz,
            if pink { "pink" } else { "white" },
        ),
    }
}

/// Hum with eight harmonics, unit power.
fn hum(length: usize, rate: f64, mains: f64, dice: &mut Dice) -> Vec<f64> {
    let parts: Vec<(f64, f64, f64)> = (1..=8)
        .map(|n| {
            (
                f64::from(n) * mains,
                dice.between(0.2, 1.0) / f64::from(n),
                dice.between(0.0, TAU),
            )
        })
        .collect();
    let made: Vec<f64> = (0..length)
        .map(|k| {
            let t = k as f64 / rate;
            parts
                .iter()
                .map(|(hz, level, phase)| level * (TAU * hz * t + phase).sin())
                .sum()
        })
        .collect();
    let scale = power(&made).sqrt().recip();
    made.iter().map(|s| s * scale).collect()
}
