//! Writes the photos of a made-up alignment job, and tells on a line of JSON its marks, what would be stated, and what is true.
//!
//! `pulleys FOLDER SEED`: mm, degrees and px.

// A program of the tests may end where it cannot go on.
#![allow(clippy::expect_used)]

use serde_json::json;
use shimwright_synth::AlignmentLimits;
use shimwright_tests::pulleys::{AlignmentAsked, alignment_job, alignment_scene};
use std::path::PathBuf;

/// Width of the photos, px: fine enough, and drawn in a few seconds.
const WIDTH: u32 = 1600;
/// A finger's standard deviation, px in a picture 2816 px wide.
const MARK_SIGMA: f64 = 3.0;

fn main() {
    let mut arguments = std::env::args().skip(1);
    let folder = PathBuf::from(arguments.next().expect("a folder"));
    let seed: u64 = arguments.next().and_then(|s| s.parse().ok()).expect("a seed");
    let limits = AlignmentLimits {
        width: WIDTH,
        ..AlignmentLimits::default()
    };
    let scene = alignment_scene(seed, &limits);
    let asked = AlignmentAsked {
        chamfer: true,
        driven_outer: true,
        mark_sigma: MARK_SIGMA,
    };
    let made = alignment_job(&scene, &asked, seed);
    let photos: Vec<_> = made
        .job
        .photos
        .iter()
        .zip(&made.photos)
        .enumerate()
        .map(|(k, (listed, bytes))| {
            let file = folder.join(format!("pulleys-{}.jpg", k + 1));
            std::fs::write(&file, bytes).expect("room on the disk");
            json!({ "file": file, "marks": listed.marks })
        })
        .collect();
    let truth = &scene.truth;
    let told = json!({
        "photos": photos,
        "rim_diameter": 2.0 * truth.driven.radius,
        "motor_diameter": 2.0 * truth.motor.radius,
        "rim_chamfer": truth.driven.chamfer,
        "truth": {
            "belt_offset": truth.offset,
            "axis_spread": truth.spread.to_degrees(),
            "axis_twist": truth.twist.to_degrees(),
        },
    });
    println!("{told}");
}
