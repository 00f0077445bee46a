//! Whole alignment jobs on made-up pictures of two pulleys, whose truth is exact.
//!
//! `ALIGNMENT_JOBS=40` measures so many scenes; the default holds a few.

use shimwright_measure::Kind;
use shimwright_record::{CheckResult, Conformity};
use shimwright_synth::{AlignmentLimits, AlignmentScene};
use shimwright_tests::coverage::Coverage;
use shimwright_tests::made::{self, Made};
use shimwright_tests::pulleys::{self, AlignmentAsked};
use std::sync::OnceLock;

const USUAL: AlignmentAsked = AlignmentAsked {
    chamfer: true,
    driven_outer: true,
    mark_sigma: 3.0,
};

/// The largest error that a few jobs may show, of each value in the order of [`pulleys::truths`].
const MOST: [f64; 6] = [0.12, 0.2, 0.25, 0.1, 0.1, 0.4];

fn jobs() -> u64 {
    std::env::var("ALIGNMENT_JOBS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(1)
}

/// One scene for the tests that need no more.
fn shared() -> &'static (AlignmentScene, Made) {
    static SHARED: OnceLock<(AlignmentScene, Made)> = OnceLock::new();
    SHARED.get_or_init(|| made(2, &USUAL))
}

fn made(seed: u64, asked: &AlignmentAsked) -> (AlignmentScene, Made) {
    let scene = pulleys::alignment_scene(seed, &AlignmentLimits::default());
    let job = pulleys::alignment_job(&scene, asked, seed);
    (scene, job)
}

/// With the camera's profile and without, with both edges of the wheel's pulley and with one and its width: what is told is
/// what is there, within what is stated, and the stated is small enough to be of use.
#[test]
fn offset_and_angles_are_those_of_the_pulleys() {
    let mut coverage: [Coverage; 6] = Default::default();
    for seed in 1..=jobs() {
        let asked = AlignmentAsked {
            driven_outer: seed % 2 == 0,
            ..USUAL
        };
        let (scene, job) = made(seed, &asked);
        let profile = made::profile(&scene.camera, seed);
        let result = job.measure((seed % 4 < 2).then_some(&profile));
        for (((name, truth), most), coverage) in
            pulleys::truths(&scene).into_iter().zip(MOST).zip(&mut coverage)
        {
            if let Ok(result) = &result
                && result.quantity(name).is_none()
            {
                continue;
            }
            let outcome = made::outcome(seed, result.clone(), name, truth);
            println!("seed {seed} {name} truth {truth:+.3}: {outcome:?}");
            coverage.outcomes.push(outcome);
            assert!(coverage.error_at_95() <= most, "{name}");
        }
    }
    for coverage in &coverage {
        let missed = coverage.count() - coverage.covered();
        assert!(missed as u64 <= jobs() / 10, "{coverage}");
        assert!(coverage.refused() as u64 <= jobs() / 8, "{coverage}");
    }
}

/// A limit far above what is there is kept and one far below is not; the budget adds up to what is stated, and each photo tells
/// what it gave.
#[test]
fn an_alignment_is_judged_and_told() {
    let (_, made) = shared();
    let judged = |limit: f64| -> CheckResult {
        let mut made = made.clone();
        if let Some(drive) = &mut made.job.drive {
            drive.alignment_limit = Some(limit);
        }
        made.measure(None).unwrap_or_else(|error| panic!("{error}"))
    };
    let kept = judged(4.0);
    assert_eq!(kept.verdict.state, Conformity::Within, "{}", kept.verdict.text);
    let exceeded = judged(0.01);
    assert_ne!(
        exceeded.verdict.state,
        Conformity::Within,
        "{}",
        exceeded.verdict.text
    );
    let (name, main) = kept.main_value().expect("the misalignment");
    let u = kept.budget.iter().map(|line| line.u * line.u).sum::<f64>().sqrt();
    assert_eq!((name, main.unit.as_str()), ("misalignment", "deg"));
    assert!((1.96 * u - main.u95).abs() < 1e-9, "{u} {}", main.u95);
    assert!(kept.photos.iter().all(|photo| photo.used && photo.corners > 10));
    println!("{}\n{}", kept.verdict.text, exceeded.verdict.text);
}

/// The motor is knocked between the photos: refused, with a photo named, and never measured.
#[test]
fn a_motor_that_moved_is_noticed() {
    let (scene, mut job) = shared().clone();
    let mut moved = scene.clone();
    pulleys::shift_motor(&mut moved, 0.8);
    job.photos[3] = pulleys::photo(&moved, 3, 2);
    let error = job
        .measure(None)
        .expect_err("the motor stood elsewhere in the last photo");
    println!("{error}");
    assert_eq!(error.kind, Kind::NotMeasurable);
    assert!(
        error.message.contains("where the other photos put it") || error.message.contains("from a mark"),
        "{error}"
    );
}
