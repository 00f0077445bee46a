//! Made-up play jobs: a wheel of `synth` pushed and pulled along, across and askew, as photos in memory.

use crate::coverage::Outcome;
use crate::made::{self, Made};
use shimwright_geom::{Pose, Vec3};
use shimwright_record::{CheckKind, Job, JobPhoto, PrintScale};
use shimwright_synth::{Play, TurnLimits, TurnPhoto, TurnScene, render};
use std::collections::BTreeMap;

/// Width of the pictures that phones give, px.
pub const WIDTH: u32 = 2816;

/// Play as a worn bearing has, and a crushed one has not: tenths of a millimetre; in pictures of some width, px.
fn limits(seed: u64, width: u32) -> TurnLimits {
    let worn = [0.02, 0.1, 0.3][seed as usize % 3];
    TurnLimits {
        width,
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

/// Measures the play of a seed's scene, with the camera's profile for every other one; what became of each value, with its truth.
pub fn outcomes(seed: u64, width: u32) -> Vec<(&'static str, f64, Outcome)> {
    let scene = made::turn_scene(seed, &limits(seed, width));
    let profile = made::profile(&scene.camera, seed);
    let result = job(photos(&scene, seed)).measure(seed.is_multiple_of(2).then_some(&profile));
    let of = |(name, truth)| (name, truth, made::outcome(seed, result.clone(), name, truth));
    truths(&scene).into_iter().map(of).collect()
}

/// The photos of a scene as a phone would store them.
fn photos(scene: &TurnScene, seed: u64) -> Vec<Vec<u8>> {
    let one = |(k, photo): (usize, &TurnPhoto)| {
        made::jpeg(&render(&photo.scene, &photo.shot, seed * 43 + k as u64))
    };
    scene.photos.iter().enumerate().map(one).collect()
}

/// The play job of some photos; nothing is marked.
fn job(photos: Vec<Vec<u8>>) -> Made {
    let listed = (0..photos.len()).map(|k| JobPhoto {
        file: format!("{k}.jpg"),
        marks: BTreeMap::new(),
    });
    let job = Job {
        photos: listed.collect(),
        print_scale: Some(PrintScale {
            x: 1.0,
            y: 1.0,
            u95: 0.001,
        }),
        ..Job::of(CheckKind::Play)
    };
    Made { job, photos }
}

/// How the wheel moved between the photos of a scene: values with their truth, mm and degrees.
fn truths(scene: &TurnScene) -> [(&'static str, f64); 3] {
    let [from, to] = [0, 1].map(|k| scene.photos[k].world_from_ring);
    movement(&from, &to)
}

/// How the ring's middle moved across and along the ring's own normal, mm, and by how much that leans, degrees.
fn movement(from: &Pose, to: &Pose) -> [(&'static str, f64); 3] {
    let (a, b) = (from.direction(&Vec3::z()), to.direction(&Vec3::z()));
    let moved = to.translation() - from.translation();
    let along = moved.dot(&a);
    [
        ("radial_play", (moved - a * along).norm()),
        ("axial_play", along.abs()),
        ("tilt_play", a.cross(&b).norm().atan2(a.dot(&b)).to_degrees()),
    ]
}
