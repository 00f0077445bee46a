//! Made-up plucks with known truth: the pitch is right or said to be not clear, and its uncertainty is right.
// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made_up;

use made_up::{Dice, Strung, noise, scene};
use shimwright_sound::{Limits, NotClear, Recording, listen};
use std::f64::consts::TAU;

/// How many recordings, and the first of their seeds; `PLUCK_RECORDINGS` and `PLUCK_FIRST_SEED` ask for others. No constant
/// of the crate was chosen on these seeds. Of 500 from 78,000,000 on 497 were right, 3 not clear and none wrong; of 1,000 from
/// 79,000,000 on 989, 9 and two (79,000,383 and 481, by 1.0 and 1.3 %: another string 6 % apart). The goal is none.
const RECORDINGS: u64 = 160;
const FIRST_SEED: u64 = 8_100_000;
/// A pitch that is given must lie within this share of the truth.
const RIGHT: f64 = 0.01;

/// What came of a recording.
struct Outcome {
    told: String,
    /// Miss as a share, and in standard uncertainties; absent when the pitch was said to be not clear.
    miss: Option<(f64, f64)>,
}

/// A number from the environment.
fn asked(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).map_or(otherwise, |told| told.parse().unwrap())
}

fn outcomes() -> Vec<Outcome> {
    let (first, recordings) = (
        asked("PLUCK_FIRST_SEED", FIRST_SEED),
        asked("PLUCK_RECORDINGS", RECORDINGS),
    );
    let threads = std::thread::available_parallelism().map_or(1, usize::from) as u64;
    let part = |thread: u64| -> Vec<Outcome> {
        (first..first + recordings)
            .skip(thread as usize)
            .step_by(threads as usize)
            .map(|seed| {
                let scene = scene(seed);
                let heard = listen(&scene.recording);
                let miss = heard.as_ref().ok().map(|heard| {
                    let off = heard.frequency_hz - scene.truth_hz;
                    (off / scene.truth_hz, off / heard.sigma_hz())
                });
                let said = match heard {
                    Ok(heard) => format!("{:.2} Hz", heard.frequency_hz),
                    Err(reason) => reason.to_string(),
                };
                Outcome {
                    told: format!("seed {seed}: {}: {said}", scene.told),
                    miss,
                }
            })
            .collect()
    };
    std::thread::scope(|scope| {
        let parts: Vec<_> = (0..threads)
            .map(|thread| scope.spawn(move || part(thread)))
            .collect();
        parts.into_iter().flat_map(|part| part.join().unwrap()).collect()
    })
}

/// 20 to 400 Hz, 20 to 6 dB over white or pink noise, mains hum with harmonics, a second string ringing along.
#[test]
fn the_pitch_is_right_or_not_clear() {
    let outcomes = outcomes();
    let misses: Vec<(f64, f64)> = outcomes.iter().filter_map(|outcome| outcome.miss).collect();
    let right = misses.iter().filter(|miss| miss.0.abs() <= RIGHT).count();
    let covered = misses.iter().filter(|miss| miss.1.abs() <= 1.96).count();
    let (recordings, unclear) = (outcomes.len(), outcomes.len() - misses.len());
    println!(
        "{right} of {recordings} within {RIGHT}, {unclear} not clear, {} wrong; the interval holds the truth in {:.1} %",
        misses.len() - right,
        100.0 * covered as f64 / misses.len() as f64
    );
    for outcome in outcomes.iter().filter(|outcome| outcome.miss.is_none()) {
        println!("not clear: {}", outcome.told);
    }
    let wrong = |outcome: &&Outcome| outcome.miss.is_some_and(|(share, _)| share.abs() > RIGHT);
    let wrong: Vec<&str> = outcomes
        .iter()
        .filter(wrong)
        .map(|outcome| outcome.told.as_str())
        .collect();
    assert!(wrong.is_empty(), "told and wrong:\n{}", wrong.join("\n"));
    assert!(
        right as f64 >= 0.98 * recordings as f64,
        "{right} of {recordings} are right"
    );
    assert!(
        covered as f64 >= 0.93 * misses.len() as f64,
        "{covered} of {} intervals hold the truth",
        misses.len()
    );
}

fn recorded(samples: Vec<f64>) -> Recording {
    Recording::new(samples, 16_000.0, &Limits::default()).unwrap()
}

#[test]
fn noise_alone_has_no_pitch() {
    for seed in 0..40 {
        let mut dice = Dice::new(seed);
        let samples: Vec<f64> = noise(48_000, 16_000.0, seed % 2 == 0, &mut dice)
            .iter()
            .map(|s| 0.1 * s)
            .collect();
        let heard = listen(&recorded(samples));
        assert!(heard.is_err(), "seed {seed}: {heard:?}");
    }
    assert_eq!(listen(&recorded(vec![0.0; 16_000])), Err(NotClear::Silent));
}

/// A click rings at no pitch.
#[test]
fn a_knock_is_no_pluck() {
    for seed in 0..20 {
        let mut dice = Dice::new(seed);
        let mut samples: Vec<f64> = noise(32_000, 16_000.0, false, &mut dice)
            .iter()
            .map(|s| 0.001 * s)
            .collect();
        for k in 0..200 {
            samples[16_000 + k] += 0.5 * dice.normal() * (-(k as f64) / 40.0).exp();
        }
        let heard = listen(&recorded(samples));
        assert!(heard.is_err(), "seed {seed}: {heard:?}");
    }
}

/// Inharmonicity shifts the third partial of B = 0.004 by 1.6 %: the fundamental must not follow it, and B is found.
#[test]
fn stiffness_is_told_apart_from_pitch() {
    for (seed, stiffness) in [(1, 0.0), (2, 0.001), (3, 0.004), (4, 0.01)] {
        let mut dice = Dice::new(seed);
        let string = Strung {
            fundamental_hz: 137.0,
            stiffness,
            quality: 40.0,
            place: 0.3,
            glide: 0.0,
        };
        let mut samples: Vec<f64> = noise(32_000, 16_000.0, false, &mut dice)
            .iter()
            .map(|s| 0.003 * s)
            .collect();
        string.pluck(&mut samples, 16_000, 16_000.0, 0.5, &mut dice);
        let heard = listen(&recorded(samples)).unwrap();
        assert!(
            (heard.frequency_hz / 137.0 - 1.0).abs() < 0.002,
            "{} Hz",
            heard.frequency_hz
        );
        assert!(
            (heard.stiffness - stiffness).abs() < 3.0 * heard.stiffness_sigma,
            "B {} +- {} of {stiffness}",
            heard.stiffness,
            heard.stiffness_sigma
        );
    }
}

/// A soft finger on soft rubber leaves few partials. One is enough when three plucks are loud over the room's noise.
#[test]
fn a_clean_string_of_few_partials_is_heard() {
    for (seed, partials) in (0..24).map(|seed| (seed, 1 + seed % 3)) {
        let mut dice = Dice::new(900 + seed);
        let hz = dice.log_between(40.0, 400.0);
        let mut samples: Vec<f64> = noise(64_000, 16_000.0, seed % 2 == 0, &mut dice)
            .iter()
            .map(|s| 0.001 * s)
            .collect();
        for (k, sample) in samples[16_000..].iter_mut().enumerate() {
            let t = (k % 16_000) as f64 / 16_000.0;
            for n in (1..=partials).map(|n| n as f64) {
                *sample += 0.2 / n * (-0.06 * n * hz * t).exp() * (TAU * n * hz * t).sin();
            }
        }
        let heard = listen(&recorded(samples));
        let pitch = heard.as_ref().map(|heard| heard.frequency_hz / hz - 1.0);
        assert!(
            pitch.as_ref().is_ok_and(|miss| miss.abs() < RIGHT),
            "seed {seed}: {hz} Hz, {partials} partials: {heard:?}"
        );
    }
}

/// Two strings whose partials overlap pull at each other: the pitch is right or not clear.
#[test]
fn strings_nearly_in_tune_make_no_wrong_pitch() {
    let mut told = 0;
    for seed in 0..24 {
        let mut dice = Dice::new(300 + seed);
        let hz = dice.log_between(40.0, 300.0);
        let string = Strung::any(&mut dice, hz);
        let apart = 1.0 + dice.between(0.03, 0.1) * dice.pick(&[-1.0, 1.0]);
        let other = Strung::any(&mut dice, hz * apart);
        let mut samples: Vec<f64> = noise(64_000, 16_000.0, true, &mut dice)
            .iter()
            .map(|s| 0.003 * s)
            .collect();
        for k in 0..3 {
            let start = 14_000 + 16_000 * k;
            string.pluck(&mut samples, start, 16_000.0, 0.3, &mut dice);
            let level = 0.3 * dice.between(0.3, 0.5);
            other.pluck(&mut samples, start, 16_000.0, level, &mut dice);
        }
        if let Ok(heard) = listen(&recorded(samples)) {
            told += 1;
            let miss = heard.frequency_hz / hz - 1.0;
            assert!(
                miss.abs() < RIGHT,
                "seed {seed}: {hz} Hz beside {} Hz heard as {} Hz",
                hz * apart,
                heard.frequency_hz
            );
        }
    }
    println!("{told} of 24 told");
    assert!(told >= 8, "only {told} of 24 are told");
}

/// Two spans plucked in turn are no spread of one pitch.
#[test]
fn plucks_of_two_spans_are_told_apart() {
    let mut dice = Dice::new(5);
    let mut samples: Vec<f64> = noise(64_000, 16_000.0, false, &mut dice)
        .iter()
        .map(|s| 0.003 * s)
        .collect();
    for (k, hz) in [100.0, 140.0, 100.0, 140.0].into_iter().enumerate() {
        let string = Strung {
            fundamental_hz: hz,
            stiffness: 1e-4,
            quality: 25.0,
            place: 0.3,
            glide: 0.0,
        };
        string.pluck(&mut samples, 12_000 + 12_000 * k, 16_000.0, 0.5, &mut dice);
    }
    match listen(&recorded(samples)) {
        Err(NotClear::Differ { frequencies_hz }) => assert_eq!(frequencies_hz.len(), 4),
        other => panic!("{other:?}"),
    }
}
