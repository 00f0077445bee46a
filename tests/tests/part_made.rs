//! Whole part jobs on made-up pictures of a ring and a block, whose truth is exact.
//!
//! `PART_JOBS=40` measures so many scenes; the default is one, for time. `PART_FIRST=101` begins with another.

use shimwright_synth::PartLimits;
use shimwright_tests::coverage::{Coverage, Outcome};
use shimwright_tests::made;
use shimwright_tests::parts::{self, PartAsked};

fn number(name: &str, usual: u64) -> u64 {
    std::env::var(name)
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(usual)
}

/// With a profile and without, the chamfer stated: what is told is what is there, within what is stated. A view in which a
/// sliver of the part's own wall stands beside an edge shows another edge, at the wall's foot: it must not be taken for it.
#[test]
fn sizes_are_those_of_the_parts() {
    let jobs = number("PART_JOBS", 1);
    let first = number("PART_FIRST", 3);
    let mut coverage: [Coverage; 5] = Default::default();
    let mut refused = 0;
    for seed in first..first + jobs {
        let scene = made::part_scene(seed, &PartLimits::default());
        let photos = parts::photos(&scene, seed);
        let profile = made::profile(&scene.camera, seed);
        let profile = (seed % 2 == 1).then_some(&profile);
        let asked = PartAsked {
            chamfer: true,
            mark_sigma: 3.0,
        };
        let ring = parts::ring_job(&scene, &photos, &asked, seed).measure(profile);
        // The block costs as much again and is less often seen from where its edges stand out.
        let block = (jobs > 1).then(|| parts::block_job(&scene, &photos, &asked, seed).measure(profile));
        for result in [Some(ring), block].into_iter().flatten() {
            if let Err(error) = &result {
                println!("seed {seed} refused: {error}");
                refused += 1;
                continue;
            }
            for ((name, truth), coverage) in parts::truths(&scene).into_iter().zip(&mut coverage) {
                if result.as_ref().is_ok_and(|r| r.quantity(name).is_some()) {
                    let outcome = made::outcome(seed, result.clone(), name, truth);
                    println!("seed {seed} {name} truth {truth:.3}: {outcome:?}");
                    coverage.outcomes.push(outcome);
                }
            }
        }
    }
    for (name, coverage) in parts::VALUES.into_iter().zip(&coverage) {
        println!("{name} (mm):\n{coverage}");
        let missed = (coverage.count() - coverage.covered()) as u64;
        assert!(missed <= jobs / 10, "{name}: {coverage}");
    }
    let ring: &[Outcome] = &coverage[0].outcomes;
    assert!(ring.len() as u64 >= jobs - jobs / 5, "{refused} refused");
    assert!(coverage[0].error_at_95() <= 0.05, "{}", coverage[0]);
}
