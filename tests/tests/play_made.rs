//! The play check on made-up pictures, whose truth is exact: a wheel pushed and pulled along, across and askew.
//!
//! `PLAY_JOBS=200` measures so many; the default is four, for time.

use shimwright_tests::coverage::Coverage;
use shimwright_tests::{made, plays};
use std::collections::BTreeMap;

/// Each interval holds how the wheel moved, in 93 of 100 jobs or more, and radial play comes out to a tenth of a millimetre, the limit that
/// the verdict uses; with or without a camera profile.
#[test]
fn the_movement_is_that_of_the_wheel() {
    let jobs: u64 = std::env::var("PLAY_JOBS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(4);
    let mut told: BTreeMap<&str, Coverage> = BTreeMap::new();
    for seed in 1..=jobs {
        let scene = made::turn_scene(seed, &plays::limits(seed));
        let profile = made::profile(&scene.camera, seed);
        let result = plays::job(plays::photos(&scene, seed)).measure((seed % 2 == 0).then_some(&profile));
        for (name, truth) in plays::truths(&scene) {
            let outcome = made::outcome(seed, result.clone(), name, truth);
            println!("seed {seed} {name} {truth:.3}: {outcome:?}");
            told.entry(name).or_default().outcomes.push(outcome);
        }
    }
    for (name, coverage) in &told {
        println!("{name}: {coverage}");
        let missed = (coverage.count() - coverage.covered()) as u64;
        assert!(
            100 * missed <= 7 * jobs && coverage.refused() == 0,
            "{name}: {coverage}"
        );
    }
    assert!(
        told["radial_play"].error_at_95() <= 0.05,
        "{}",
        told["radial_play"]
    );
}
