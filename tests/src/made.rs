//! Made-up jobs: random scenes of `synth` as photos in memory, with marks and the job that goes with them.

use crate::coverage::Outcome;
use crate::measured::measured;
use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder};
use shimwright_camera::{Camera, CameraProfile};
use shimwright_geom::{GreyPicture, Random, Vec3};
use shimwright_measure::Error;
use shimwright_record::{CheckKind, CheckResult, Job, JobDrive, JobPhoto, PrintScale};
use shimwright_synth::{GapLimits, GapScene, PartLimits, PartScene, TurnLimits, TurnScene, render};
use shimwright_target::TargetSet;
use std::collections::BTreeMap;

/// Quality of the photos' JPEG: what phones write.
const QUALITY: u8 = 90;

/// A job with its photos in memory.
#[derive(Clone)]
pub struct Made {
    /// The job.
    pub job: Job,
    /// The photos' bytes, in the job's order.
    pub photos: Vec<Vec<u8>>,
}

/// How a made-up gap job is asked.
#[derive(Clone, Copy, Debug)]
pub struct GapAsked {
    /// Whether the job states both chamfers.
    pub chamfers: bool,
    /// Whether every photo is marked, and not the first only.
    pub all_marked: bool,
    /// Standard deviation of the marks, px in a picture 2816 px wide.
    pub mark_sigma: f64,
}

/// A picture as a phone would store it.
pub fn jpeg(picture: &GreyPicture) -> Vec<u8> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, QUALITY)
        .write_image(
            picture.data(),
            picture.width() as u32,
            picture.height() as u32,
            ExtendedColorType::L8,
        )
        .expect("a picture becomes a JPEG file in memory");
    bytes
}

/// A picture without loss.
pub fn png(picture: &GreyPicture) -> Vec<u8> {
    let mut bytes = Vec::new();
    PngEncoder::new(&mut bytes)
        .write_image(
            picture.data(),
            picture.width() as u32,
            picture.height() as u32,
            ExtendedColorType::L8,
        )
        .expect("a picture becomes a PNG file in memory");
    bytes
}

/// The profile of a camera as a careful calibration leaves it: each number off by a random part of the standard
/// deviation that the profile states.
pub fn profile(camera: &Camera, seed: u64) -> CameraProfile {
    let mut random = Random::new(seed ^ 0x7072_6f66);
    let sigma = [1.0, 1.0, 1.0, 1.0, 0.002, 0.005, 2e-4, 2e-4, 0.0];
    let mut camera = *camera;
    for (value, sigma) in camera.intrinsics.iter_mut().zip(sigma) {
        *value += sigma * random.normal();
    }
    CameraProfile {
        camera,
        sigma,
        make: String::new(),
        model: String::new(),
        lens: None,
        focal_mm: None,
    }
}

/// The made-up gap scene of a seed.
pub fn gap_scene(seed: u64, limits: &GapLimits) -> GapScene {
    let targets = TargetSet::built_in();
    let card = targets.by_name("mount-card").expect("the card is built in");
    GapScene::random(card, limits, seed)
}

/// The made-up turn series of a seed.
pub fn turn_scene(seed: u64, limits: &TurnLimits) -> TurnScene {
    let targets = TargetSet::built_in();
    let target = |name| targets.by_name(name).expect("card and ring are built in");
    TurnScene::random(target("mount-card"), target("hub-ring"), limits, seed)
}

/// The made-up part scene of a seed.
pub fn part_scene(seed: u64, limits: &PartLimits) -> PartScene {
    let targets = TargetSet::built_in();
    let sheet = targets.by_name("bench-sheet").expect("the sheet is built in");
    PartScene::random(sheet, limits, seed)
}

/// The gap job of a scene: photos, rough marks, and what a rider would state.
pub fn gap_job(made: &GapScene, asked: &GapAsked, seed: u64) -> Made {
    let mut random = Random::new(seed ^ 0x6d61_726b);
    let mut photos = Vec::new();
    let mut listed = Vec::new();
    for (k, shot) in made.shots.iter().enumerate() {
        photos.push(jpeg(&render(&made.scene, shot, seed.wrapping_mul(31) + k as u64)));
        let mut marks = BTreeMap::new();
        if k == 0 || asked.all_marked {
            let sigma = asked.mark_sigma * f64::from(shot.camera.width) / 2816.0;
            let mut rough = |points: Vec<Vec3>| -> Vec<[f64; 2]> {
                points
                    .iter()
                    .filter_map(|p| shot.project(p))
                    .map(|p| [p.x + sigma * random.normal(), p.y + sigma * random.normal()])
                    .collect()
            };
            let mount = rough(made.mount_points((4.0, 60.0), 2));
            let rim = rough(made.rim_points((0.95, 2.1), 3));
            marks.insert("mount_edge".to_owned(), mount);
            marks.insert("rim_edge".to_owned(), rim);
        }
        listed.push(JobPhoto {
            file: format!("{k}.jpg"),
            marks,
        });
    }
    let truth = &made.truth;
    let job = Job {
        photos: listed,
        print_scale: Some(PrintScale {
            x: 1.0,
            y: 1.0,
            u95: 0.001,
        }),
        drive: Some(JobDrive {
            rim_diameter: Some(truth.rim_diameter),
            mount_chamfer: asked.chamfers.then_some(truth.mount_chamfer),
            rim_chamfer: asked.chamfers.then_some(truth.rim_chamfer),
            ..JobDrive::default()
        }),
        ..Job::of(CheckKind::Gap)
    };
    Made { job, photos }
}

/// The turn job of a series: photos, rough marks of the rim in the first one, and the rim's chamfer.
pub fn turn_job(made: &TurnScene, mark_sigma: f64, seed: u64) -> Made {
    let mut random = Random::new(seed ^ 0x7269_6d73);
    let mut photos = Vec::new();
    let mut listed = Vec::new();
    for (k, photo) in made.photos.iter().enumerate() {
        let shot = &photo.shot;
        photos.push(jpeg(&render(
            &photo.scene,
            shot,
            seed.wrapping_mul(57) + k as u64,
        )));
        let mut marks = BTreeMap::new();
        if k == 0 {
            let sigma = mark_sigma * f64::from(shot.camera.width) / 2816.0;
            let rim = photo.rim_points(random.between(0.0, 2.0), 3);
            let rough = rim.iter().filter_map(|p| shot.project(p));
            let rough = rough.map(|p| [p.x + sigma * random.normal(), p.y + sigma * random.normal()]);
            marks.insert("rim_edge".to_owned(), rough.collect());
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
            rim_chamfer: Some(made.truth.rim_chamfer),
            ..JobDrive::default()
        }),
        ..Job::of(CheckKind::Turn)
    };
    Made { job, photos }
}

impl Made {
    /// Measures the job, with or without the profile of the camera that took its photos.
    ///
    /// # Errors
    /// The engine's own.
    pub fn measure(&self, profile: Option<&CameraProfile>) -> Result<CheckResult, Error> {
        measured(&self.job, &self.photos, profile)
    }
}

/// What became of a quantity of a measured job.
pub fn outcome(seed: u64, result: Result<CheckResult, Error>, name: &str, truth: f64) -> Outcome {
    match result {
        Ok(result) => {
            let found = result.quantity(name).expect("the result has the quantity");
            Outcome::Measured {
                seed,
                error: found.value - truth,
                u95: found.u95,
            }
        }
        Err(error) => Outcome::Refused {
            seed,
            why: error.message.into(),
        },
    }
}
