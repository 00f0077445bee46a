//! Run-out without a hub ring, on made-up pictures taken from a stand, whose truth is exact.
//!
//! `STAND_JOBS=40` measures so many series; the default is one, for time.

use shimwright_measure::Kind;
use shimwright_record::CheckResult;
use shimwright_synth::TurnLimits;
use shimwright_tests::coverage::Coverage;
use shimwright_tests::made;
use shimwright_tests::stand::{LIMITS, job};

fn vector(result: &CheckResult) -> ([f64; 2], f64) {
    let size = result.quantity("eccentricity").expect("a size");
    let direction = result.quantity("eccentricity_direction").expect("a direction");
    let (sin, cos) = direction.value.to_radians().sin_cos();
    ([size.value * cos, size.value * sin], size.u95)
}

/// The eccentricity with its direction, and the axial run-out, are those of the wheel; the result says that nothing measured the
/// angles.
#[test]
fn the_first_harmonic_is_the_eccentricity() {
    let jobs: u64 = std::env::var("STAND_JOBS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(1);
    let (mut radial, mut axial) = (Coverage::default(), Coverage::default());
    for seed in 1..=jobs {
        let scene = made::turn_scene(seed, &LIMITS);
        let profile = made::profile(&scene.camera, seed);
        let result = job(&scene, seed).measure((seed % 2 == 0).then_some(&profile));
        let truth = &scene.truth;
        if let Ok(result) = &result {
            assert!(
                result
                    .warnings
                    .iter()
                    .any(|w| w.contains("assumed and not measured: 8 equal steps")),
                "{:?}",
                result.warnings
            );
            let away = truth
                .card
                .world_from_sheet
                .inverse()
                .direction(&scene.photos[0].world_from_rim.translation());
            let (found, u95) = vector(result);
            // Seen from the printed side y points up in directions that are told counter-clockwise.
            let off = (found[0] - away.x).hypot(found[1] + away.y);
            println!(
                "seed {seed} eccentricity {:.3} mm, vector off by {off:.4} mm, u95 {u95:.4}",
                truth.eccentricity.norm()
            );
            assert!(off < 0.05, "seed {seed}: {off:.3} mm");
        }
        let outcome = made::outcome(seed, result.clone(), "eccentricity", truth.eccentricity.norm());
        println!("seed {seed} {outcome:?}");
        radial.outcomes.push(outcome);
        let outcome = made::outcome(seed, result, "axial_runout", truth.axial_runout);
        println!("seed {seed} axial run-out {:.3} {outcome:?}", truth.axial_runout);
        axial.outcomes.push(outcome);
    }
    for coverage in [&radial, &axial] {
        let missed = (coverage.count() - coverage.covered()) as u64;
        assert!(missed <= jobs / 10 && coverage.refused() == 0, "{coverage}");
    }
    assert!(radial.error_at_95() <= 0.03, "{radial}");
}

/// Photos in another order are no equal steps of one turn.
#[test]
fn photos_out_of_order_are_refused() {
    let scene = made::turn_scene(
        3,
        &TurnLimits {
            eccentricity: (0.3, 0.5),
            ..LIMITS
        },
    );
    let mut made = job(&scene, 3);
    made.photos.swap(1, 5);
    made.photos.swap(2, 7);
    let error = made.measure(None).expect_err("the order is no turn");
    println!("{error}");
    assert_eq!(error.kind, Kind::NotMeasurable);
    assert!(error.message.contains("equal steps of one turn"), "{error}");
}
