//! Made-up part jobs: a ring and a block of `synth` on the bench sheet as photos in memory, with marks and the jobs that
//! go with them.

use crate::made::{Made, jpeg};
use shimwright_geom::{Random, Vec3};
use shimwright_record::{CheckKind, Job, JobDrive, JobPhoto, PrintScale};
use shimwright_synth::{PartScene, render};
use std::collections::BTreeMap;

/// How a made-up part job is asked.
#[derive(Clone, Copy, Debug)]
pub struct PartAsked {
    /// Whether the job states the chamfer.
    pub chamfer: bool,
    /// Standard deviation of the marks, px in a picture 2816 px wide.
    pub mark_sigma: f64,
}

/// Names of what is told of a ring or a block.
pub const VALUES: [&str; 5] = [
    "outer_diameter",
    "inner_diameter",
    "centre_offset",
    "height",
    "width",
];

/// What is true of a scene: each of [`VALUES`] with its truth, mm.
pub fn truths(made: &PartScene) -> [(&'static str, f64); 5] {
    let truth = &made.truth;
    let own = [
        truth.outer_diameter,
        truth.inner_diameter,
        truth.centre_offset.norm(),
        truth.height,
        truth.width,
    ];
    std::array::from_fn(|k| (VALUES[k], own[k]))
}

/// The photos of a scene as a phone would store them.
pub fn photos(made: &PartScene, seed: u64) -> Vec<Vec<u8>> {
    let one = |(k, shot)| jpeg(&render(&made.scene, shot, seed.wrapping_mul(41) + k as u64));
    made.shots.iter().enumerate().map(one).collect()
}

/// The job that measures the ring: marked around both its rims in the first photo.
pub fn ring_job(made: &PartScene, photos: &[Vec<u8>], asked: &PartAsked, seed: u64) -> Made {
    let mut random = Random::new(seed ^ 0x7269_6e67);
    let from = random.between(0.0, 1.5);
    let curves = [
        ("outer", made.outer_points(from, 4)),
        ("inner", made.inner_points(from, 4)),
    ];
    job(made, photos, asked, (&curves, 1), &mut random)
}

/// The job that measures the block's width: both its long sides marked in the first two photos.
pub fn block_job(made: &PartScene, photos: &[Vec<u8>], asked: &PartAsked, seed: u64) -> Made {
    let mut random = Random::new(seed ^ 0x626c_6f63);
    let [a, b] = made.side_points(0.85);
    let curves = [("edge_a", a.to_vec()), ("edge_b", b.to_vec())];
    job(made, photos, asked, (&curves, 2), &mut random)
}

fn job(
    made: &PartScene,
    photos: &[Vec<u8>],
    asked: &PartAsked,
    (curves, marked): (&[(&str, Vec<Vec3>)], usize),
    random: &mut Random,
) -> Made {
    let mut listed = Vec::new();
    for (k, shot) in made.shots.iter().enumerate() {
        let sigma = asked.mark_sigma * f64::from(shot.camera.width) / 2816.0;
        let mut rough = |points: &[Vec3]| -> Vec<[f64; 2]> {
            let seen = points.iter().filter_map(|p| shot.project(p));
            seen.map(|p| [p.x + sigma * random.normal(), p.y + sigma * random.normal()])
                .collect()
        };
        let marks = match k < marked {
            true => curves
                .iter()
                .map(|(name, points)| ((*name).to_owned(), rough(points)))
                .collect(),
            false => BTreeMap::new(),
        };
        listed.push(JobPhoto {
            file: format!("{k}.jpg"),
            marks,
        });
    }
    let job = Job {
        photos: listed,
        print_scale: Some(PrintScale {
            x: 1.0,
            y: 1.0,
            u95: 0.001,
        }),
        drive: asked.chamfer.then(|| JobDrive {
            rim_chamfer: Some(made.truth.chamfer),
            ..JobDrive::default()
        }),
        ..Job::of(CheckKind::Part)
    };
    Made {
        job,
        photos: photos.to_vec(),
    }
}
