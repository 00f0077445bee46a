//! Made-up alignment jobs: two pulleys of `synth` as photos in memory, with marks and the job that goes with them.

use crate::made::{Made, jpeg};
use shimwright_geom::{Pose, Random, Vec3};
use shimwright_record::{CheckKind, Job, JobDrive, JobPhoto, PrintScale, StatedLength};
use shimwright_synth::{AlignmentLimits, AlignmentScene, render};
use shimwright_target::TargetSet;
use std::collections::BTreeMap;

/// How a made-up alignment job is asked.
#[derive(Clone, Copy, Debug)]
pub struct AlignmentAsked {
    /// Whether the job states the chamfer.
    pub chamfer: bool,
    /// Whether the wheel pulley's outer edge is marked, too; its width is stated otherwise.
    pub driven_outer: bool,
    /// Standard deviation of the marks, px in a picture 2816 px wide.
    pub mark_sigma: f64,
}

/// Angles between which all views show the edges, rad, from the direction towards the motor upward.
const DRIVEN_ARC: (f64, f64) = (0.35, 1.85);
const MOTOR_ARC: (f64, f64) = (0.25, 1.75);

/// The made-up pulleys of a seed.
pub fn alignment_scene(seed: u64, limits: &AlignmentLimits) -> AlignmentScene {
    let targets = TargetSet::built_in();
    let card = targets.by_name("mount-card").expect("the card is built in");
    AlignmentScene::random(card, limits, seed)
}

/// A photo of a scene as a phone would store it.
pub fn photo(made: &AlignmentScene, k: usize, seed: u64) -> Vec<u8> {
    jpeg(&render(
        &made.scene,
        &made.shots[k],
        seed.wrapping_mul(37) + k as u64,
    ))
}

/// Moves the motor's pulley along its axis, mm, and nothing else.
pub fn shift_motor(made: &mut AlignmentScene, by: f64) {
    let axis = made.truth.motor.world_from_pulley.direction(&Vec3::z());
    let motion = Pose::from_rotation_vector(Vec3::zeros(), axis * by);
    for index in made.motor_surfaces.clone() {
        let surface = &mut made.scene.surfaces[index];
        surface.form = surface.form.moved(&motion);
    }
}

/// The alignment job of a scene: photos, rough marks, and what a technician would state.
pub fn alignment_job(made: &AlignmentScene, asked: &AlignmentAsked, seed: u64) -> Made {
    let mut random = Random::new(seed ^ 0x6d61_726b);
    let truth = &made.truth;
    let mut photos = Vec::new();
    let mut listed = Vec::new();
    for (k, shot) in made.shots.iter().enumerate() {
        photos.push(photo(made, k, seed));
        let sigma = asked.mark_sigma * f64::from(shot.camera.width) / 2816.0;
        let mut rough = |points: Vec<Vec3>| -> Vec<[f64; 2]> {
            points
                .iter()
                .filter_map(|p| shot.project(p))
                .map(|p| [p.x + sigma * random.normal(), p.y + sigma * random.normal()])
                .collect()
        };
        let mut marks = BTreeMap::from([
            (
                "driven_inner".to_owned(),
                rough(truth.driven.edge_points(false, DRIVEN_ARC, 5)),
            ),
            (
                "motor_inner".to_owned(),
                rough(truth.motor.edge_points(false, MOTOR_ARC, 5)),
            ),
            (
                "motor_outer".to_owned(),
                rough(truth.motor.edge_points(true, MOTOR_ARC, 5)),
            ),
        ]);
        if asked.driven_outer {
            marks.insert(
                "driven_outer".to_owned(),
                rough(truth.driven.edge_points(true, DRIVEN_ARC, 5)),
            );
        }
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
        drive: Some(JobDrive {
            rim_diameter: Some(2.0 * truth.driven.radius),
            motor_diameter: Some(2.0 * truth.motor.radius),
            rim_chamfer: asked.chamfer.then_some(truth.driven.chamfer),
            driven_width: (!asked.driven_outer).then_some(StatedLength {
                value: truth.driven.width,
                u95: 0.05,
            }),
            ..JobDrive::default()
        }),
        ..Job::of(CheckKind::Alignment)
    };
    Made { job, photos }
}

/// What is true of a scene: values with their truth, mm and degrees.
pub fn truths(scene: &AlignmentScene) -> [(&'static str, f64); 6] {
    let truth = &scene.truth;
    let from = truth.driven.world_from_pulley.inverse();
    let distance = from
        .point(&truth.motor.world_from_pulley.translation())
        .xy()
        .norm();
    [
        ("belt_offset", truth.offset),
        ("axis_spread", truth.spread.to_degrees()),
        ("axis_twist", truth.twist.to_degrees()),
        ("driven_width", truth.driven.width),
        ("motor_width", truth.motor.width),
        (
            "misalignment",
            (truth.offset.abs() / distance).atan().to_degrees()
                + truth.spread.hypot(truth.twist).to_degrees(),
        ),
    ]
}
