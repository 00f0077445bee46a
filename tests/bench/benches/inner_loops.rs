//! The engine's inner loops one by one, on a photo of the demo board: `cargo bench -p shimwright-bench`.

use criterion::{Criterion, criterion_group, criterion_main};
use shimwright_camera::Camera;
use shimwright_detect::{TagParams, TargetParams, find_tags, find_target};
use shimwright_geom::{GreyPicture, Pose, Vec2, Vec3};
use shimwright_photo::{Limits, Photo, decode};
use shimwright_solve::{CalibrationPriors, CalibrationProblem, PlanePoint, pose_of_plane};
use shimwright_target::TargetSet;
use std::hint::black_box;

const PHOTO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../calibration/demo/left-1.jpg");

fn bytes() -> Vec<u8> {
    std::fs::read(PHOTO).expect("the demo's photo is there")
}

fn photo() -> Photo {
    decode(&bytes(), &Limits::default()).expect("the demo's photo is sound")
}

fn decoding(c: &mut Criterion) {
    let bytes = bytes();
    c.bench_function("decode a photo to grey", |b| {
        b.iter(|| decode(black_box(&bytes), &Limits::default()));
    });
}

fn detection(c: &mut Criterion) {
    let picture = photo().grey;
    let targets = TargetSet::built_in();
    let tags = find_tags(&picture, &TagParams::default());
    c.bench_function("tags of a photo", |b| {
        b.iter(|| find_tags(black_box(&picture), &TagParams::default()));
    });
    for name in ["mount-card", "hub-ring"] {
        let target = targets.by_name(name).expect("a built-in target");
        c.bench_function(&format!("corners of the {name}"), |b| {
            b.iter(|| find_target(black_box(&picture), &tags, target, &TargetParams::default()));
        });
    }
}

fn sampling(c: &mut Criterion) {
    let picture: GreyPicture = photo().grey;
    c.bench_function("a thousand samples in linear light", |b| {
        b.iter(|| {
            let at = |k: i32| picture.linear_at(100.0 + 1.7 * f64::from(k), 200.0 + 1.1 * f64::from(k));
            (0..1000).filter_map(at).sum::<f64>()
        });
    });
}

/// A grid of corners in several views, without noise.
fn views(camera: &Camera) -> Vec<Vec<PlanePoint>> {
    let view = |k: i32| {
        let (sin, cos) = (2.4 * f64::from(k)).sin_cos();
        let tilt = 0.3 + 0.03 * f64::from(k);
        let pose = Pose::from_rotation_vector(
            Vec3::new(tilt * cos, tilt * sin, 0.3 * sin),
            Vec3::new(-100.0, -60.0, 260.0 + 5.0 * f64::from(k)),
        );
        let corner = |i: i32| {
            let place = Vec2::new(24.0 * f64::from(i % 10), 24.0 * f64::from(i / 10));
            let at = camera.project(&pose.point(&Vec3::new(place.x, place.y, 0.0)));
            at.map(|at| PlanePoint {
                place,
                at,
                sigma_px: 0.05,
            })
        };
        (0..70).filter_map(corner).collect()
    };
    (0..12).map(view).collect()
}

fn solving(c: &mut Criterion) {
    let mut camera = Camera::ideal(2816, 2112, 2300.0);
    camera.intrinsics[4] = 0.04;
    let views = views(&camera);
    c.bench_function("pose of 70 corners", |b| {
        b.iter(|| pose_of_plane(&camera, black_box(&views[0])));
    });
    let problem = CalibrationProblem {
        width: camera.width,
        height: camera.height,
        views: &views,
        focal_px: None,
        priors: CalibrationPriors::default(),
    };
    c.bench_function("calibration from 12 views of 70 corners", |b| {
        b.iter(|| black_box(&problem).solve());
    });
}

criterion_group!(inner_loops, decoding, detection, sampling, solving);
criterion_main!(inner_loops);
