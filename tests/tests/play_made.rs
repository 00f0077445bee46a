//! The play check on made-up pictures, whose truth is exact: a wheel pushed and pulled along, across and askew.
//!
//! `PLAY_JOBS=200` measures so many of full size; the default is three, for time. `./dev study play` prints more of them.

use shimwright_tests::coverage::{Coverage, Outcome};
use shimwright_tests::plays::{self, WIDTH};
use std::collections::BTreeMap;

/// Coverage of each value, and the root mean square of errors over stated uncertainties, of the jobs of some seeds.
fn measured(seeds: std::ops::RangeInclusive<u64>, width: u32) -> BTreeMap<&'static str, (Coverage, f64)> {
    let seeds: Vec<u64> = seeds.collect();
    let of = |seeds: &[u64]| -> Vec<_> {
        seeds
            .iter()
            .flat_map(|&seed| plays::outcomes(seed, width))
            .collect()
    };
    let (first, second) = seeds.split_at(seeds.len() / 2);
    let both = std::thread::scope(|scope| {
        let second = scope.spawn(|| of(second));
        let mut all = of(first);
        all.extend(second.join().expect("the other half was measured"));
        all
    });
    let mut told: BTreeMap<&str, (Coverage, f64)> = BTreeMap::new();
    for (name, truth, outcome) in both {
        println!("{name} {truth:.3}: {outcome:?}");
        let (coverage, squares) = told.entry(name).or_default();
        if let Outcome::Measured { error, u95, .. } = &outcome {
            *squares += (error / u95).powi(2);
        }
        coverage.outcomes.push(outcome);
    }
    for (coverage, squares) in told.values_mut() {
        *squares = (*squares / coverage.count().max(1) as f64).sqrt();
    }
    told
}

/// Pictures of full size, with or without a camera profile: each interval holds how the wheel moved, in 93 of 100 jobs or more,
/// and radial play comes out to a tenth of a millimetre, the limit that the verdict uses.
#[test]
fn the_movement_is_that_of_the_wheel() {
    let jobs: u64 = std::env::var("PLAY_JOBS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(3);
    let told = measured(1..=jobs, WIDTH);
    for (name, (coverage, _)) in &told {
        println!("{name}: {coverage}");
        let missed = (coverage.count() - coverage.covered()) as u64;
        assert!(
            100 * missed <= 7 * jobs && coverage.refused() == 0,
            "{name}: {coverage}"
        );
    }
    let (radial, _) = &told["radial_play"];
    assert!(radial.error_at_95() <= 0.05, "{radial}");
}

/// Forty jobs in small pictures, for time: the intervals hold, and are not far wider than the errors. An error is half
/// its 95 % interval in the root mean square; so few jobs tell that to a tenth.
#[test]
fn intervals_are_as_wide_as_they_have_to_be() {
    for (name, (coverage, share)) in &measured(201..=240, WIDTH * 2 / 5) {
        println!("{name}: errors are {share:.2} times the intervals; {coverage}");
        assert!(
            coverage.covered() >= 36 && coverage.refused() == 0,
            "{name}: {coverage}"
        );
        assert!((0.33..0.67).contains(share), "{name}: {share:.2}");
    }
}
