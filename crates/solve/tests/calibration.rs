//! Calibration on made-up corners, and on published ones where they are at hand.

use serde_json::Value;
use shimwright_camera::Camera;
use shimwright_geom::{Pose, Vec2, Vec3};
use shimwright_solve::{
    CalibrationPriors, CalibrationProblem, Error, PlanePoint, WorstPlace, field_difference,
};

const TRUTH: Camera = Camera {
    width: 2816,
    height: 2112,
    intrinsics: [2291.7, 2289.9, 1418.3, 1049.6, 0.04, -0.07, 0.0005, -0.0003, 0.0],
};

/// A small generator of even and normal numbers: the same on every machine.
struct Random(u64);

impl Random {
    fn even(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        // Box and Muller.
        (-2.0 * (1.0 - self.even()).ln()).sqrt() * (std::f64::consts::TAU * self.even()).cos()
    }
}

/// Views of a board of 10 x 7 corners, 24 mm apart, tilted by up to 40 degrees; noise in px.
fn views(count: usize, noise: f64, seed: u64) -> Vec<Vec<PlanePoint>> {
    let mut random = Random(seed * 7919 + 1);
    (0..count)
        .map(|k| {
            let around = 2.4 * k as f64;
            let tilt = 0.7 * (0.3 + 0.7 * random.even());
            let turn = Pose::from_rotation_vector(
                Vec3::new(tilt * around.cos(), tilt * around.sin(), 0.0),
                Vec3::new(20.0 * random.normal(), 15.0 * random.normal(), 290.0),
            ) * Pose::from_rotation_vector(Vec3::z() * (0.8 * random.normal()), Vec3::zeros());
            let mut view = Vec::new();
            for i in 0..70 {
                let place = Vec2::new(24.0 * f64::from(i % 10), 24.0 * f64::from(i / 10));
                let middle = Vec2::new(108.0, 72.0);
                let p = turn.point(&Vec3::new(place.x - middle.x, place.y - middle.y, 0.0));
                let at = TRUTH.project(&p).expect("a point before the camera")
                    + noise * Vec2::new(random.normal(), random.normal());
                if at.x > 5.0 && at.y > 5.0 && at.x < 2810.0 && at.y < 2106.0 {
                    view.push(PlanePoint {
                        place,
                        at,
                        sigma_px: noise.max(0.01),
                    });
                }
            }
            view
        })
        .collect()
}

fn problem(views: &[Vec<PlanePoint>]) -> CalibrationProblem<'_> {
    CalibrationProblem {
        width: TRUTH.width,
        height: TRUTH.height,
        views,
        focal_px: None,
        priors: CalibrationPriors::default(),
    }
}

#[test]
fn exact_corners_give_the_exact_camera() {
    let views = views(10, 0.0, 3);
    let found = problem(&views).solve().unwrap();
    assert!(
        field_difference(&TRUTH, &found.camera) < 1e-3,
        "{:?}",
        found.camera
    );
    for k in 0..4 {
        let miss = found.camera.intrinsics[k] - TRUTH.intrinsics[k];
        assert!(miss.abs() < 2e-3, "{k}: {miss}");
    }
    assert_eq!(found.dispersion, 1.0);
}

#[test]
fn a_stretched_print_is_told_apart_from_the_lens() {
    let mut views = views(14, 0.0, 5);
    // A print that is 0.3 % longer along x than along y.
    for point in views.iter_mut().flatten() {
        point.place.x /= 1.003;
    }
    let mut problem = problem(&views);
    problem.priors.scale_sigma = 0.01;
    let found = problem.solve().unwrap();
    let miss = field_difference(&TRUTH, &found.camera);
    assert!(miss < 0.02, "{miss} px");
    problem.priors.scale_sigma = 0.0;
    let wrong = problem.solve().unwrap();
    assert!(wrong.dispersion > 5.0, "{}", wrong.dispersion);
}

/// The stated standard deviations must be those of the scatter over seeded runs, also when the corners scatter
/// twice as much as they claim.
#[test]
fn stated_deviations_are_right() {
    const RUNS: u64 = 60;
    for claimed in [1.0, 0.5] {
        let mut squares = [0.0; 8];
        let mut field = 0.0;
        for seed in 0..RUNS {
            let mut views = views(8, 0.08, seed + 11);
            views.iter_mut().flatten().for_each(|p| p.sigma_px *= claimed);
            let found = problem(&views).solve().unwrap();
            let sigma = found.sigma();
            for k in 0..8 {
                squares[k] += ((found.camera.intrinsics[k] - TRUTH.intrinsics[k]) / sigma[k]).powi(2);
            }
            let worst = field_difference(&TRUTH, &found.camera);
            field += worst / WorstPlace::of(&found.camera, &found.covariance).sigma / RUNS as f64;
        }
        for (k, square) in squares.iter().enumerate() {
            let ratio = (square / RUNS as f64).sqrt();
            // 60 runs know a ratio to 9 %: three of them either way.
            assert!(
                (0.72..1.28).contains(&ratio),
                "claimed {claimed}, intrinsic {k}: {ratio}"
            );
        }
        // The worst of many places is a little above the deviation at the worst one.
        assert!((0.6..1.8).contains(&field), "{field}");
    }
}

#[test]
fn one_view_is_too_few() {
    let views = views(1, 0.0, 1);
    assert_eq!(
        problem(&views).solve().unwrap_err(),
        Error::TooFew { need: 2, got: 1 }
    );
}

fn reference(name: &str) -> Option<String> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../shared/data/reference/");
    let text = std::fs::read_to_string(format!("{path}{name}"));
    if text.is_err() {
        println!("skipped: {name} is not at ../shared/data/reference");
    }
    text.ok()
}

/// Priors that hold nothing but what the reference fits hold.
fn free(tangential: f64) -> CalibrationPriors {
    CalibrationPriors {
        focal: 10.0,
        aspect: 10.0,
        centre: 10.0,
        distortion: 10.0,
        tangential,
        ..CalibrationPriors::default()
    }
}

fn close(found: f64, want: f64, within: f64, what: &str) {
    assert!((found - want).abs() <= within, "{what}: {found}, wanted {want}");
}

/// Corners of OpenCV's 13 chessboard photographs, squares of length 1; `None` when they are not at hand.
fn chessboard_views() -> Option<Vec<Vec<PlanePoint>>> {
    let text = reference("opencv_left_corners.json")?;
    let data: Value = serde_json::from_str(&text).expect("the reference is as described");
    let number = |v: &Value| v.as_f64().expect("the reference is as described");
    let views = data["views"]
        .as_object()
        .expect("the reference is as described")
        .values()
        .map(|corners| {
            let corners = corners
                .as_array()
                .expect("the reference is as described")
                .iter()
                .enumerate();
            corners
                .map(|(i, c)| PlanePoint {
                    place: Vec2::new((i % 9) as f64, (i / 9) as f64),
                    at: Vec2::new(number(&c[0]), number(&c[1])),
                    // So wide that the robust loss is plain squares.
                    sigma_px: 5.0,
                })
                .collect()
        })
        .collect();
    Some(views)
}

/// Zhang's five views; `None` when they are not at hand.
fn zhangs_views() -> Option<Vec<Vec<PlanePoint>>> {
    let model = reference("zhang/Model.txt")?;
    let numbers = |text: &str| -> Vec<f64> {
        text.split_whitespace()
            .map(|v| v.parse().expect("the reference is as described"))
            .collect()
    };
    let model = numbers(&model);
    let views = (1..=5)
        .map(|i| numbers(&reference(&format!("zhang/data{i}.txt")).expect("the reference is as described")))
        .map(|seen| {
            assert_eq!(seen.len(), model.len());
            seen.chunks(2)
                .zip(model.chunks(2))
                .map(|(at, place)| PlanePoint {
                    // His plane has y upwards.
                    place: Vec2::new(place[0], -place[1]),
                    at: Vec2::new(at[0], at[1]),
                    sigma_px: 5.0,
                })
                .collect()
        })
        .collect();
    Some(views)
}

/// OpenCV's 13 chessboard photographs (left01 to left14 of its samples), corners by cv2.findChessboardCorners, and
/// cv2.calibrateCamera's fit of k1 and k2 alone to them, as kept beside the corners: rms 0.204956 px, fx 533.0601,
/// fy 533.4165, cx 342.4329, cy 233.2599, k1 -0.291353, k2 0.108344, standard deviations 0.433, 0.454, 0.483, 0.531,
/// 0.0023, 0.0079.
#[test]
fn opencv_chessboard_photographs() {
    let Some(views) = chessboard_views() else { return };
    assert_eq!(views.len(), 13);
    let problem = CalibrationProblem {
        width: 640,
        height: 480,
        views: &views,
        focal_px: None,
        priors: free(0.0),
    };
    let found = problem.solve().expect("the reference is as described");
    close(found.rms_px(&problem), 0.204956, 1e-5, "rms");
    let want = [533.0601, 533.4165, 342.4329, 233.2599, -0.291353, 0.108344];
    let within = [0.02, 0.02, 0.02, 0.02, 2e-4, 1e-3];
    for k in 0..6 {
        close(found.camera.intrinsics[k], want[k], within[k], "intrinsic");
    }
    // Their deviations are scaled by the scatter of the residuals, ours come from the stated 5 px: rms per axis
    // over 5 px is the factor between them.
    let sigma = found.sigma();
    for (k, want) in [0.4331, 0.4543, 0.4827, 0.5311, 0.00232, 0.00793]
        .into_iter()
        .enumerate()
    {
        close(
            sigma[k] * 0.2050 / 2f64.sqrt() / 5.0 / want,
            1.0,
            0.05,
            "deviation",
        );
    }
}

/// Zhang's five views (MSR-TR-98-71). OpenCV's model on his data, zero skew and k1, k2 alone, refitted with
/// cv2.calibrateCamera: rms 0.33689 px; fx 832.2069, fy 832.2425, cx 304.0683, cy 206.3724, k1 -0.228531,
/// k2 0.191011. With his skew: alpha 832.5, beta 832.53, u0 303.959, v0 206.585 with deviations 1.41, 1.38, 0.71, 0.66.
#[test]
fn zhangs_five_views() {
    let Some(views) = zhangs_views() else { return };
    let problem = CalibrationProblem {
        width: 640,
        height: 480,
        views: &views,
        focal_px: None,
        priors: free(0.0),
    };
    let found = problem.solve().unwrap();
    close(found.rms_px(&problem), 0.33689, 2e-5, "rms");
    let want = [832.2069, 832.2425, 304.0683, 206.3724, -0.228531, 0.191011];
    let within = [0.05, 0.05, 0.05, 0.05, 2e-4, 1e-3];
    for k in 0..6 {
        close(found.camera.intrinsics[k], want[k], within[k], "intrinsic");
    }
}

/// Distortions that agree, px: about twice the residual of a single corner in either set of photographs.
const APART: f64 = 0.3;

/// Largest difference between two distortions where corners were seen, px of a lens of the first one's focal length and
/// centre.
fn distortions_apart(a: &Camera, b: &Camera, views: &[Vec<PlanePoint>]) -> f64 {
    let mut b = *b;
    b.intrinsics[..4].copy_from_slice(&a.intrinsics[..4]);
    let apart = views
        .iter()
        .flatten()
        .map(|p| (b.distort(&a.undistort(&p.at)) - p.at).norm());
    apart.fold(0.0, f64::max)
}

/// The values that OpenCV's own test holds its calibration to on these photographs (opencv/opencv,
/// modules/calib3d/misc/python/test/test_calibration.py): rms 0.196334638 px, fx 532.80992189, fy 532.93346422,
/// cx 342.4952186, cy 233.8879292, k1 -0.281325576, k2 0.0291130406, p1 0.0012123433, p2 -0.000140825372,
/// k3 0.154865844. Standard deviations by cv2.calibrateCamera on these corners: fx 0.440, fy 0.461, cx 0.464, cy 0.512.
/// Our lens has no k3, and k2 and k3 go together too strongly to be compared: the lenses are, in pixels, as far out as the
/// corners reach.
#[test]
fn opencvs_published_calibration() {
    let Some(views) = chessboard_views() else { return };
    let problem = CalibrationProblem {
        width: 640,
        height: 480,
        views: &views,
        focal_px: None,
        priors: free(10.0),
    };
    let found = problem.solve().unwrap();
    let published = Camera {
        width: 640,
        height: 480,
        intrinsics: [
            532.80992189,
            532.93346422,
            342.4952186,
            233.8879292,
            -0.281325576,
            0.0291130406,
            0.0012123433,
            -0.000140825372,
            0.154865844,
        ],
    };
    for (k, sd) in [0.440, 0.461, 0.464, 0.512].into_iter().enumerate() {
        close(
            found.camera.intrinsics[k],
            published.intrinsics[k],
            sd,
            "intrinsic",
        );
    }
    let apart = distortions_apart(&published, &found.camera, &views);
    let rms = found.rms_px(&problem);
    println!("{apart:.3} px apart, rms {rms:.6} px");
    assert!(apart < APART, "{apart}");
    assert!((rms - 0.196334638).abs() < 0.01, "{rms}");
}

/// Zhang's published values (MSR-TR-98-71): alpha 832.5, beta 832.53, u0 303.959, v0 206.585, k1 -0.228601, k2 0.190353,
/// with standard deviations 1.41, 1.38, 0.71, 0.66 (from memory) and 0.0041, 0.025 (refitted). His skew is 0.2 px.
#[test]
fn zhangs_published_calibration() {
    let Some(views) = zhangs_views() else { return };
    let problem = CalibrationProblem {
        width: 640,
        height: 480,
        views: &views,
        focal_px: None,
        priors: free(0.0),
    };
    let found = problem.solve().unwrap();
    let mut published = Camera::ideal(640, 480, 832.5);
    published.intrinsics[..6].copy_from_slice(&[832.5, 832.53, 303.959, 206.585, -0.228601, 0.190353]);
    for (k, sd) in [1.41, 1.38, 0.71, 0.66, 0.0041, 0.025].into_iter().enumerate() {
        close(
            found.camera.intrinsics[k],
            published.intrinsics[k],
            sd,
            "intrinsic",
        );
    }
    let apart = distortions_apart(&published, &found.camera, &views);
    println!("{apart:.3} px apart");
    assert!(apart < APART, "{apart}");
}
