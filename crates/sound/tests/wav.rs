//! WAV files of every kind that is read, and files that are refused.
// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use shimwright_sound::{Error, Limits, Recording};

/// A WAV file made by hand from the format's definition (RIFF, `fmt `, `data`), so that no library judges itself.
fn wav(coding: u16, bits: u16, channels: u16, rate: u32, data: &[u8]) -> Vec<u8> {
    let block = channels * bits / 8;
    let mut file = b"RIFF".to_vec();
    file.extend((36 + data.len() as u32).to_le_bytes());
    file.extend(b"WAVEfmt ");
    file.extend(16u32.to_le_bytes());
    file.extend(coding.to_le_bytes());
    file.extend(channels.to_le_bytes());
    file.extend(rate.to_le_bytes());
    file.extend((rate * u32::from(block)).to_le_bytes());
    file.extend(block.to_le_bytes());
    file.extend(bits.to_le_bytes());
    file.extend(b"data");
    file.extend((data.len() as u32).to_le_bytes());
    file.extend(data);
    file
}

/// Samples that every coding holds exactly: 0, 1/2, -1/2, -1/4.
const SAMPLES: [f64; 4] = [0.0, 0.5, -0.5, -0.25];

fn coded(bits: u16, float: bool) -> Vec<u8> {
    let one = |k: usize| -> Vec<u8> {
        let sample = SAMPLES[k % 4];
        match (bits, float) {
            (32, true) => (sample as f32).to_le_bytes().to_vec(),
            (8, _) => vec![(128.0 + 128.0 * sample) as u8],
            (bits, _) => {
                let whole = (sample * f64::from(bits - 1).exp2()) as i32;
                whole.to_le_bytes()[..usize::from(bits / 8)].to_vec()
            }
        }
    };
    (0..8_000).flat_map(one).collect()
}

fn read(file: &[u8]) -> Result<Recording, Error> {
    Recording::from_wav(file, &Limits::default())
}

#[test]
fn every_coding_gives_the_same_samples() {
    for (coding, bits, float) in [
        (1, 8, false),
        (1, 16, false),
        (1, 24, false),
        (1, 32, false),
        (3, 32, true),
    ] {
        let mono = read(&wav(coding, bits, 1, 16_000, &coded(bits, float))).unwrap();
        assert_eq!(mono.rate_hz(), 16_000.0);
        assert_eq!(mono.samples().len(), 8_000);
        assert_eq!(mono.samples()[..4], SAMPLES, "{bits} bit");
        let stereo = read(&wav(coding, bits, 2, 8_000, &coded(bits, float))).unwrap();
        assert_eq!(stereo.samples()[..2], [0.25, -0.375], "{bits} bit stereo");
    }
}

#[test]
fn channels_that_cancel_do_not_silence_each_other() {
    let one = |k: i32| {
        [k % 100, -(k % 100)]
            .map(|v| (v as i16 * 100).to_le_bytes())
            .concat()
    };
    let data: Vec<u8> = (0..8_000).flat_map(one).collect();
    let recording = read(&wav(1, 16, 2, 16_000, &data)).unwrap();
    assert!(recording.samples().iter().any(|s| s.abs() > 0.2));
}

#[test]
fn every_cut_is_refused_and_never_read_in_part() {
    let whole = wav(1, 16, 1, 8_000, &coded(16, false));
    assert!(read(&whole).is_ok());
    for length in (1..100)
        .chain((100..whole.len()).step_by(97))
        .chain([whole.len() - 1])
    {
        match read(&whole[..length]) {
            Err(Error::Truncated { bytes }) => assert_eq!(bytes, length),
            other => panic!("{length} bytes of {}: {other:?}", whole.len()),
        }
    }
}

#[test]
fn what_is_no_recording_is_named() {
    let data = coded(16, false);
    assert_eq!(read(&[]), Err(Error::Empty));
    assert_eq!(
        read(b"\x00\x00\x00\x20ftypM4A "),
        Err(Error::OtherFormat {
            name: "an MP4 or M4A recording"
        })
    );
    assert_eq!(
        read(b"OggS\0\0"),
        Err(Error::OtherFormat {
            name: "an Ogg or Opus recording"
        })
    );
    assert_eq!(read(b"once upon a time"), Err(Error::NotAWav));
    assert_eq!(
        read(&wav(1, 16, 6, 16_000, &data[..12_000])),
        Err(Error::TooManyChannels { channels: 6 })
    );
    assert!(matches!(
        read(&wav(1, 16, 1, 7_999, &data)),
        Err(Error::Rate { .. })
    ));
    assert!(matches!(
        read(&wav(1, 16, 1, 192_001, &data)),
        Err(Error::Rate { .. })
    ));
    assert!(matches!(
        read(&wav(1, 16, 1, 48_000, &data)),
        Err(Error::TooShort { .. })
    ));
    assert!(matches!(
        read(&wav(6, 8, 1, 8_000, &data)),
        Err(Error::Unsupported { .. })
    ));
    let nan: Vec<u8> = (0..8_000).flat_map(|_| f32::NAN.to_le_bytes()).collect();
    assert_eq!(
        read(&wav(3, 32, 1, 8_000, &nan)),
        Err(Error::NotANumber { index: 0 })
    );
}

#[test]
fn limits_have_names_and_numbers() {
    let limits = Limits {
        max_bytes: 10_000,
        ..Limits::default()
    };
    let file = wav(1, 16, 1, 8_000, &coded(16, false));
    assert_eq!(
        Recording::from_wav(&file, &limits),
        Err(Error::TooManyBytes {
            bytes: file.len(),
            limit: 10_000
        })
    );
    let long = Recording::new(vec![0.0; 8_000 * 61], 8_000.0, &Limits::default());
    assert_eq!(
        long.unwrap_err().to_string(),
        "the recording lasts 61 s and the limit is 60 s; cut it to the plucks"
    );
}

#[test]
fn clipping_is_seen() {
    let mut samples = vec![0.1; 8_000];
    let calm = Recording::new(samples.clone(), 8_000.0, &Limits::default()).unwrap();
    assert!(!calm.is_clipped());
    samples[100..104].fill(1.0);
    let clipped = Recording::new(samples, 8_000.0, &Limits::default()).unwrap();
    assert!(clipped.is_clipped());
}
