//! A recording: samples of one channel at a rate.

use crate::Error;

/// How large a recording may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Most bytes in a file.
    pub max_bytes: usize,
    /// Shortest recording, s.
    pub min_seconds: f64,
    /// Longest recording, s.
    pub max_seconds: f64,
    /// Lowest sampling rate, 1/s.
    pub min_rate_hz: f64,
    /// Highest sampling rate, 1/s.
    pub max_rate_hz: f64,
}

impl Default for Limits {
    /// 100 MB, which is more than a minute of stereo at 192 kHz and 32 bit; 0.4 to 60 s; 8 to 192 kHz.
    fn default() -> Self {
        Self {
            max_bytes: 100_000_000,
            min_seconds: 0.4,
            max_seconds: 60.0,
            min_rate_hz: 8_000.0,
            max_rate_hz: 192_000.0,
        }
    }
}

/// One channel of sound; full scale is 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Recording {
    samples: Vec<f64>,
    rate_hz: f64,
}

/// From here on a sample counts as clipped, as a share of full scale.
const FULL: f64 = 0.999;
/// Samples in a row at full scale that no undistorted sound makes.
const CLIPPED_RUN: usize = 3;

impl Recording {
    /// Takes samples (full scale 1) at `rate_hz` samples a second.
    ///
    /// # Errors
    /// A rate or length outside the limits, or a sample that is no number.
    pub fn new(samples: Vec<f64>, rate_hz: f64, limits: &Limits) -> Result<Self, Error> {
        if !(rate_hz >= limits.min_rate_hz && rate_hz <= limits.max_rate_hz) {
            return Err(Error::Rate {
                rate_hz,
                least: limits.min_rate_hz,
                most: limits.max_rate_hz,
            });
        }
        let seconds = samples.len() as f64 / rate_hz;
        if seconds < limits.min_seconds {
            return Err(Error::TooShort {
                seconds,
                least: limits.min_seconds,
            });
        }
        if seconds > limits.max_seconds {
            return Err(Error::TooLong {
                seconds,
                most: limits.max_seconds,
            });
        }
        if let Some(index) = samples.iter().position(|sample| !sample.is_finite()) {
            return Err(Error::NotANumber { index });
        }
        Ok(Self { samples, rate_hz })
    }

    /// The samples.
    pub fn samples(&self) -> &[f64] {
        &self.samples
    }

    /// Samples a second.
    pub fn rate_hz(&self) -> f64 {
        self.rate_hz
    }

    /// Length, s.
    pub fn seconds(&self) -> f64 {
        self.samples.len() as f64 / self.rate_hz
    }

    /// Whether the sound was louder than the recording could hold. Clipping adds harmonics and moves none.
    pub fn is_clipped(&self) -> bool {
        self.samples.windows(CLIPPED_RUN).any(|run| {
            run.iter()
                .all(|s| s.abs() >= FULL && s.signum() == run[0].signum())
        })
    }
}
