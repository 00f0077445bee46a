//! WAV files: bytes to a recording.

use crate::{Error, Limits, Recording};
use hound::{SampleFormat, WavReader};
use std::io::{Cursor, ErrorKind};

/// Heads of other sound files, at their place, with their name: what phones and browsers record.
const OTHERS: [(usize, &[u8], &str); 8] = [
    (4, b"ftyp", "an MP4 or M4A recording"),
    (0, b"OggS", "an Ogg or Opus recording"),
    (0, b"fLaC", "a FLAC recording"),
    (0, b"ID3", "an MP3 recording"),
    (0, b"\xff\xfb", "an MP3 recording"),
    (0, b"#!AMR", "an AMR recording"),
    (0, b"FORM", "an AIFF recording"),
    (0, b"\x1a\x45\xdf\xa3", "a WebM recording"),
];
/// A sum of two channels this much weaker than the louder one means that they cancel each other.
const CANCELLED: f64 = 0.1;

impl Recording {
    /// Reads a WAV file: 8, 16, 24 or 32 bit whole numbers or 32 bit floats, mono or stereo. The channels of a stereo
    /// file are averaged, unless they cancel; then the louder one counts.
    ///
    /// # Errors
    /// [`Error`] says what is wrong with the file; a file that is cut short is refused and never read in part.
    pub fn from_wav(bytes: &[u8], limits: &Limits) -> Result<Self, Error> {
        check_kind(bytes, limits)?;
        let whole = |error| from_hound(error, bytes.len());
        let mut reader = WavReader::new(Cursor::new(bytes)).map_err(whole)?;
        let spec = reader.spec();
        if !(1..=2).contains(&spec.channels) {
            return Err(Error::TooManyChannels {
                channels: spec.channels,
            });
        }
        let samples = match (spec.sample_format, spec.bits_per_sample) {
            (SampleFormat::Float, 32) => reader
                .samples::<f32>()
                .map(|sample| sample.map(f64::from).map_err(whole))
                .collect::<Result<Vec<f64>, Error>>()?,
            (SampleFormat::Int, bits @ (8 | 16 | 24 | 32)) => {
                let full = f64::from(bits - 1).exp2();
                reader
                    .samples::<i32>()
                    .map(|sample| sample.map(|value| f64::from(value) / full).map_err(whole))
                    .collect::<Result<Vec<f64>, Error>>()?
            }
            (_, bits) => {
                return Err(Error::Unsupported {
                    what: format!("samples of {bits} bit"),
                });
            }
        };
        let mono = match spec.channels {
            1 => samples,
            _ => one_channel(&samples),
        };
        Self::new(mono, f64::from(spec.sample_rate), limits)
    }
}

fn check_kind(bytes: &[u8], limits: &Limits) -> Result<(), Error> {
    if bytes.is_empty() {
        return Err(Error::Empty);
    }
    if bytes.len() > limits.max_bytes {
        return Err(Error::TooManyBytes {
            bytes: bytes.len(),
            limit: limits.max_bytes,
        });
    }
    for (at, head, name) in OTHERS {
        if bytes.get(at..at + head.len()) == Some(head) {
            return Err(Error::OtherFormat { name });
        }
    }
    // A file cut within these bytes is still told as cut.
    let head = &bytes[..bytes.len().min(4)];
    if !b"RIFF".starts_with(head) || bytes.get(8..12).is_some_and(|kind| kind != b"WAVE") {
        return Err(Error::NotAWav);
    }
    Ok(())
}

fn from_hound(error: hound::Error, bytes: usize) -> Error {
    match error {
        hound::Error::IoError(io) if io.kind() == ErrorKind::UnexpectedEof => Error::Truncated { bytes },
        // The decoder has a message of its own for an end within a sample or a head.
        hound::Error::IoError(io) if io.to_string().contains("enough bytes") => Error::Truncated { bytes },
        hound::Error::FormatError(reason) if reason.contains("enough") => Error::Truncated { bytes },
        hound::Error::Unsupported => Error::Unsupported {
            what: "a coding other than plain samples".into(),
        },
        other => Error::Damaged {
            reason: other.to_string(),
        },
    }
}

/// Two interleaved channels as one.
fn one_channel(samples: &[f64]) -> Vec<f64> {
    let power = |of: fn(&[f64]) -> f64| samples.chunks_exact(2).map(|pair| of(pair).powi(2)).sum::<f64>();
    let (left, right) = (power(|pair| pair[0]), power(|pair| pair[1]));
    let both = power(|pair| 0.5 * (pair[0] + pair[1]));
    let choose: fn(&[f64]) -> f64 = if both >= CANCELLED * left.max(right) {
        |pair| 0.5 * (pair[0] + pair[1])
    } else if left >= right {
        |pair| pair[0]
    } else {
        |pair| pair[1]
    };
    samples.chunks_exact(2).map(choose).collect()
}
