//! Run-out without a hub ring, on made-up pictures taken from a stand, whose truth is exact.
//!
//! `STAND_JOBS=40` measures so many series; the default is one, for time.

use shimwright_geom::Random;
use shimwright_measure::Kind;
use shimwright_record::{
    CheckKind, CheckResult, Height, Job, JobDrive, JobPhoto, PrintScale, StatedLength, TurnedWay,
};
use shimwright_synth::{Play, TurnLimits, TurnScene, render};
use shimwright_tests::coverage::Coverage;
use shimwright_tests::made::{self, Made};
use std::collections::BTreeMap;

/// Half the size that phones give: the pictures are quickly made, and a rim needs no more.
const LIMITS: TurnLimits = TurnLimits {
    width: 1408,
    photos: 8,
    eccentricity: (0.1, 0.5),
    tilt: 0.004,
    chamfer: (0.05, 0.25),
    scale_sigma: 0.0005,
    play: Play {
        across: 0.0,
        along: 0.0,
        lean: 0.0,
    },
    held: false,
    distance: (255.0, 310.0),
    stand: true,
};

fn job(scene: &TurnScene, seed: u64) -> Made {
    let mut random = Random::new(seed ^ 0x6d61_726b);
    let first = &scene.photos[0];
    let marks: Vec<[f64; 2]> = first
        .rim_points(0.4, 5)
        .iter()
        .filter_map(|p| first.shot.project(p))
        .map(|p| [p.x + 1.5 * random.normal(), p.y + 1.5 * random.normal()])
        .collect();
    let mut listed: Vec<JobPhoto> = (0..scene.photos.len())
        .map(|k| JobPhoto {
            file: format!("{k}.jpg"),
            marks: BTreeMap::new(),
        })
        .collect();
    listed[0].marks.insert("rim_edge".to_owned(), marks);
    // What somebody with a rule reads.
    let sheet = scene.truth.card.world_from_sheet.inverse();
    let height = -sheet.point(&first.world_from_rim.translation()).z + 0.2 * random.normal();
    let photos = scene.photos.iter().enumerate();
    Made {
        photos: photos
            .map(|(k, photo)| made::jpeg(&render(&photo.scene, &photo.shot, seed * 41 + k as u64)))
            .collect(),
        job: Job {
            photos: listed,
            print_scale: Some(PrintScale {
                x: 1.0,
                y: 1.0,
                u95: 0.001,
            }),
            drive: Some(JobDrive {
                rim_diameter: Some(scene.truth.rim_diameter),
                rim_chamfer: Some(scene.truth.rim_chamfer),
                equal_steps: Some(TurnedWay::Clockwise),
                ..JobDrive::default()
            }),
            height: Some(Height::All(StatedLength {
                value: height,
                u95: 0.5,
            })),
            ..Job::of(CheckKind::Turn)
        },
    }
}

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
