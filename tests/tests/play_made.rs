//! The play check on made-up pictures, whose truth is exact: a wheel pushed and pulled along, across and askew.
//!
//! `PLAY_JOBS=200` measures so many; the default is four, for time.

use shimwright_geom::Pose;
use shimwright_record::{CheckKind, Job, JobPhoto, PrintScale};
use shimwright_synth::{Play, TurnLimits, TurnScene, render};
use shimwright_tests::coverage::Coverage;
use shimwright_tests::made::{self, Made};
use std::collections::BTreeMap;

/// Play as a worn bearing has, and a crushed one has not: tenths of a millimetre.
fn limits(seed: u64) -> TurnLimits {
    let worn = [0.02, 0.1, 0.3][seed as usize % 3];
    TurnLimits {
        photos: 2,
        eccentricity: (0.0, 0.5),
        play: Play {
            across: worn,
            along: worn,
            lean: worn / 50.0,
        },
        held: true,
        ..TurnLimits::default()
    }
}

fn job(scene: &TurnScene, seed: u64) -> Made {
    let photos = scene.photos.iter().enumerate();
    Made {
        photos: photos
            .map(|(k, photo)| made::jpeg(&render(&photo.scene, &photo.shot, seed * 43 + k as u64)))
            .collect(),
        job: Job {
            photos: (0..scene.photos.len())
                .map(|k| JobPhoto {
                    file: format!("{k}.jpg"),
                    marks: BTreeMap::new(),
                })
                .collect(),
            print_scale: Some(PrintScale {
                x: 1.0,
                y: 1.0,
                u95: 0.001,
            }),
            ..Job::of(CheckKind::Play)
        },
    }
}

/// How the ring's middle moved across and along the ring's own normal, mm, and by how much that leans, degrees.
fn movement(from: &Pose, to: &Pose) -> [(&'static str, f64); 3] {
    let (a, b) = (
        from.direction(&shimwright_geom::Vec3::z()),
        to.direction(&shimwright_geom::Vec3::z()),
    );
    let moved = to.translation() - from.translation();
    let along = moved.dot(&a);
    [
        ("radial_play", (moved - a * along).norm()),
        ("axial_play", along.abs()),
        ("tilt_play", a.cross(&b).norm().atan2(a.dot(&b)).to_degrees()),
    ]
}

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
        let scene = made::turn_scene(seed, &limits(seed));
        let profile = made::profile(&scene.camera, seed);
        let result = job(&scene, seed).measure((seed % 2 == 0).then_some(&profile));
        let [from, to] = [0, 1].map(|k| scene.photos[k].world_from_ring);
        for (name, truth) in movement(&from, &to) {
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
