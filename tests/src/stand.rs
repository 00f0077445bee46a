//! Made-up turn jobs without a hub ring: series of `synth` from a stand as photos in memory.

use crate::made::{self, Made};
use shimwright_geom::Random;
use shimwright_record::{CheckKind, Height, Job, JobDrive, JobPhoto, PrintScale, StatedLength, TurnedWay};
use shimwright_synth::{Play, TurnLimits, TurnScene, render};
use std::collections::BTreeMap;

/// Half the size that phones give: the pictures are quickly made, and a rim needs no more.
pub const LIMITS: TurnLimits = TurnLimits {
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

/// The turn job of a series: rough marks of the rim in the first photo, and what somebody with a rule would state.
pub fn job(scene: &TurnScene, seed: u64) -> Made {
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
