//! The joint solve of a turn on made-up geometry: derivatives, exact truth, stated standard deviations.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use nalgebra::{DMatrix, DVector};
use shimwright_camera::Camera;
use shimwright_geom::{Pose, Vec2, Vec3};
use shimwright_solve::{
    Circle, CornerSight, EdgeSight, FeatureId, Loose, Model, Options, Print, Standing, Steadiness, TurnPhoto,
    TurnPriors, TurnProblem, TurnState, Wobble, steadiness,
};

struct Random(u64);

impl Random {
    fn uniform(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn signed(&mut self) -> f64 {
        2.0 * self.uniform() - 1.0
    }

    /// Standard normal, by Box and Muller.
    fn normal(&mut self) -> f64 {
        let r = (-2.0 * self.uniform().max(1e-300).ln()).sqrt();
        r * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

const CARD: Print = Print {
    middle: Vec2::new(32.0, 12.0),
    half: Vec2::new(32.0, 12.0),
};
const RING: Print = Print {
    middle: Vec2::new(0.0, 0.0),
    half: Vec2::new(27.0, 27.0),
};

struct Scene {
    state: TurnState,
    priors: TurnPriors,
    fixed: Vec<CornerSight>,
    turning: Vec<CornerSight>,
    rim: Vec<EdgeSight>,
}

const CORNER_SIGMA: f64 = 0.025;
const RIM_SIGMA: f64 = 0.12;

/// Twelve handheld views of a wheel whose hub ring sits 1.1 mm off the axis and 0.6 degrees askew to it, rim
/// 0.18 mm eccentric and tilted.
fn truth(photos: usize, seed: u64) -> TurnState {
    let mut random = Random(seed | 1);
    let camera = Camera {
        width: 2816,
        height: 2112,
        intrinsics: [2291.7, 2289.9, 1418.3, 1049.6, 0.04, -0.07, 0.0005, -0.0003, 0.0],
    };
    let photos = (0..photos)
        .map(|i| {
            let turn = Vec3::new(
                0.15 * random.signed(),
                0.15 * random.signed(),
                0.05 * random.signed(),
            );
            let shift = Vec3::new(
                -32.0 + 5.0 * random.signed(),
                35.0 + 5.0 * random.signed(),
                285.0 + 20.0 * random.signed(),
            );
            TurnPhoto {
                camera_from_fixed: Pose::from_rotation_vector(turn, shift),
                focal: 1.0,
                camera: 0,
                rim_shift: 0.0,
                angle: std::f64::consts::TAU * (i as f64 + 0.35 * random.signed()) / photos as f64,
                wobble: Wobble::none(),
            }
        })
        .collect();
    TurnState {
        cameras: vec![camera],
        photos,
        scale: Vec2::new(1.0, 1.0),
        own_scale: Vec2::new(1.0, 1.0),
        bend: Vec2::zeros(),
        turning_bend: Vec2::zeros(),
        fixed_from_axis: Pose::from_rotation_vector(Vec3::new(0.03, -0.02, 0.0), Vec3::new(30.0, -62.0, 9.0)),
        turning_from_axis: Pose::from_rotation_vector(
            Vec3::new(0.008, 0.006, 0.0),
            Vec3::new(0.9, -0.7, 0.0),
        ),
        rim: Some(Circle {
            centre: Vec3::new(0.9 - 0.16, -0.7 - 0.08, 0.25),
            normal: Vec3::new(0.004, 0.003, 1.0).normalize(),
            radius: 49.4,
        }),
        light: [0.0; shimwright_solve::LIGHT],
    }
}

fn priors(state: &TurnState) -> TurnPriors {
    TurnPriors {
        cameras: vec![(
            state.cameras[0].intrinsics,
            [1.0, 1.0, 1.0, 1.0, 0.002, 0.005, 2e-4, 2e-4, 0.0],
        )],
        aspect_sigma: 0.001,
        focal_factor_sigma: 0.004,
        scale: Vec2::new(1.0, 1.0),
        scale_sigma: 0.0005,
        axes_sigma: Some(0.00025),
        own_scale_sigma: 0.0005,
        bend_sigma: Vec2::new(0.05, 0.02),
        turning_bend_sigma: Vec2::new(0.02, 0.02),
        radius: None,
        rim_shift_sigma: 0.1,
        light_sigma: [0.01, 0.02],
        hold_shared: false,
        hold_axis: false,
        wobble_sigma: [1.0, 1.0, 0.02],
    }
}

/// What such a state shows, with noise of the given share of the stated standard deviations.
fn scene(state: TurnState, noise: f64, seed: u64) -> Scene {
    let mut random = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let (mut fixed, mut turning, mut rim) = (vec![], vec![], vec![]);
    let priors = priors(&state);
    let circle = state.rim;
    for photo in 0..state.photos.len() {
        let camera = state.camera_of(photo);
        let card = state.photos[photo].camera_from_fixed;
        let ring = state.camera_from_turning(photo);
        let mut corner = |pose: &Pose, place: Vec2| CornerSight {
            photo,
            place,
            at: camera
                .project(&pose.point(&Vec3::new(place.x, place.y, 0.0)))
                .unwrap()
                + Vec2::new(random.normal(), random.normal()) * (noise * CORNER_SIGMA),
            sigma_px: CORNER_SIGMA,
        };
        fixed.extend((0..14).map(|i| {
            corner(
                &card,
                Vec2::new(8.0 * f64::from(1 + i % 7), 8.0 * f64::from(1 + i / 7)),
            )
        }));
        turning.extend((0..32).map(|i| {
            let around = std::f64::consts::TAU * f64::from(i) / 32.0;
            corner(
                &ring,
                Vec2::new(around.cos(), around.sin()) * (18.0 + 9.0 * f64::from(i % 2)),
            )
        }));
        for (i, circle) in (0..90).filter_map(|i| Some((i, circle?))) {
            let t = std::f64::consts::TAU * f64::from(i) / 90.0;
            let see = |radius: f64| {
                camera
                    .project(&ring.point(&(circle.centre + circle.radial(t) * radius)))
                    .unwrap()
            };
            let at = see(circle.radius);
            let side = (see(circle.radius + 1.0) - at).normalize();
            rim.push(EdgeSight {
                photo,
                feature: FeatureId::Circle,
                at: at + side * (noise * RIM_SIGMA * random.normal()),
                side,
                t,
                along: 0.0,
                sigma_px: RIM_SIGMA,
            });
        }
    }
    Scene {
        state,
        priors,
        fixed,
        turning,
        rim,
    }
}

impl Scene {
    fn problem(&self, wobbles: bool) -> TurnProblem<'_> {
        TurnProblem {
            fixed: &self.fixed,
            turning: &self.turning,
            rim: &self.rim,
            priors: &self.priors,
            fixed_print: CARD,
            turning_print: RING,
            photos: self.state.photos.len(),
            has_rim: true,
            wobbles,
        }
    }

    /// A start some way off the truth.
    fn start(&self) -> TurnState {
        let mut start = self.state.clone();
        start.fixed_from_axis = start.fixed_from_axis
            * Pose::from_rotation_vector(Vec3::new(0.02, -0.01, 0.0), Vec3::new(0.8, 0.5, -1.0));
        start.turning_from_axis = Pose::identity();
        for photo in &mut start.photos {
            photo.angle += 0.02;
            photo.camera_from_fixed = photo
                .camera_from_fixed
                .nudged(&Vec3::new(0.01, -0.01, 0.005), &Vec3::new(1.0, -1.0, 3.0));
        }
        if let Some(rim) = &mut start.rim {
            rim.centre = Vec3::zeros();
            rim.normal = Vec3::z();
            rim.radius += 0.8;
        }
        start
    }
}

/// Every derivative against differences. Exact photos cost nothing at the truth, so a small step away costs the
/// square of what the derivatives say it moves: `step' N step`, for each parameter alone and for many together.
#[test]
fn derivatives_agree_with_differences() {
    let scene = scene(truth(4, 5), 0.0, 9);
    let problem = scene.problem(true);
    let still = Options {
        iterations: 0,
        relative_fall: 0.0,
    };
    let at_truth = problem.solve(scene.state.clone(), &still).unwrap();
    assert!(at_truth.cost < 1e-12, "{}", at_truth.cost);
    let size = problem.parameters();
    let normal = at_truth
        .normal_by_group
        .iter()
        .fold(DMatrix::zeros(size, size), |sum, m| sum + m);
    let mut random = Random(77);
    let singles = (0..size).map(|k| DVector::from_fn(size, |i, _| f64::from(i == k)));
    let scales = normal.diagonal().map(|d| 1.0 / d.sqrt());
    let many: Vec<_> = (0..60)
        .map(|_| DVector::from_fn(size, |i, _| random.normal() * scales[i]))
        .collect();
    for (what, direction) in singles.chain(many).enumerate() {
        // A step that moves residuals by a hundredth of a standard deviation or so.
        let step = &direction * (0.01 / (direction.transpose() * &normal * &direction)[(0, 0)].sqrt());
        let foretold = (step.transpose() * &normal * &step)[(0, 0)];
        let cost = problem
            .solve(problem.moved(&scene.state, &step), &still)
            .unwrap()
            .cost;
        assert!(
            (cost / foretold - 1.0).abs() < 2e-3,
            "direction {what}: {cost} against {foretold}"
        );
    }
}

#[test]
fn exact_photos_give_the_exact_axis_and_rim() {
    let scene = scene(truth(12, 3), 0.0, 1);
    let found = scene
        .problem(false)
        .solve(scene.start(), &Options::default())
        .unwrap()
        .state;
    let (e, want) = (found.eccentricity().unwrap(), scene.state.eccentricity().unwrap());
    assert!((e - want).norm() < 1e-6, "{e} against {want}");
    assert!((found.rim_slope().unwrap() - scene.state.rim_slope().unwrap()).norm() < 1e-7);
    assert!((found.rim.unwrap().radius - 49.4).abs() < 1e-6);
    for (a, b) in found.photos.iter().zip(&scene.state.photos) {
        // The axis frame's own roll is free of meaning; differences of angles are not.
        let turned = (a.angle - found.photos[0].angle) - (b.angle - scene.state.photos[0].angle);
        assert!(turned.abs() < 1e-7, "{turned}");
    }
}

/// Over many seeds the errors of eccentricity, slope and radius are as large as stated, and centred on zero.
#[test]
fn stated_standard_deviations_are_right() {
    let runs = 60;
    let mut squares = [0.0; 5];
    let mut sums = [0.0; 5];
    for run in 0..runs {
        let scene = scene(truth(10, 100 + run), 1.0, 1000 + run);
        let problem = scene.problem(false);
        let found = problem.solve(scene.state.clone(), &Options::default()).unwrap();
        let covariance: DMatrix<f64> = found.covariance().unwrap();
        let values: [&dyn Fn(&TurnState) -> f64; 5] = [
            &|s| s.eccentricity().unwrap().x,
            &|s| s.eccentricity().unwrap().y,
            &|s| s.rim_slope().unwrap().x,
            &|s| s.rim_slope().unwrap().y,
            &|s| s.photos[3].angle - s.photos[0].angle,
        ];
        for (k, value) in values.iter().enumerate() {
            let variance: f64 = problem.uncertainty_of(&found, &covariance, value).iter().sum();
            let error = (value(&found.state) - value(&scene.state)) / variance.sqrt();
            squares[k] += error * error / runs as f64;
            sums[k] += error / runs as f64;
        }
    }
    // The priors on lens, print and light are not drawn anew here but met exactly, so errors may be a little smaller
    // than stated; 60 runs tell a standard deviation to 9 %.
    println!(
        "rms of errors over stated {:?}, means {sums:.2?}",
        squares.map(f64::sqrt)
    );
    for k in 0..5 {
        let rms = squares[k].sqrt();
        assert!(
            (0.6..1.25).contains(&rms),
            "value {k}: errors are {rms:.2} of what is stated"
        );
        assert!(
            sums[k].abs() < 4.0 / (runs as f64).sqrt(),
            "value {k}: mean error {:.2}",
            sums[k]
        );
    }
}

/// A wheel whose ring slipped by 0.1 mm before the eighth photo, and one whose card did.
#[test]
fn a_slip_is_named_with_its_photo() {
    for (what, loose) in [(0, Loose::Turning), (1, Loose::Fixed)] {
        let mut state = truth(12, 8);
        let still = state.clone();
        let shift = Pose::from_rotation_vector(Vec3::zeros(), Vec3::new(0.08, 0.06, 0.0));
        let mut slipped = scene(still, 1.0, 4);
        if what == 0 {
            state.turning_from_axis = shift * state.turning_from_axis;
        } else {
            state.fixed_from_axis = shift * state.fixed_from_axis;
        }
        let after = scene(state, 1.0, 4);
        slipped.turning.retain(|s| s.photo < 7);
        slipped
            .turning
            .extend(after.turning.iter().filter(|s| s.photo >= 7).copied());
        let told = steadiness_of(&slipped);
        let slip = told.slip.unwrap();
        assert_eq!((slip.from, slip.what), (7, loose), "{told:?}");
        assert!(
            (slip.shift - 0.1).abs() < 0.02 && slip.explains > 40.0,
            "{told:?}"
        );
    }
}

/// A sound wheel's misfit is what noise makes; a wheel with play of 0.05 mm is told from it.
#[test]
fn play_is_told_from_noise() {
    let mut shares = Vec::new();
    for seed in 0..10 {
        let sound = steadiness_of(&scene(truth(12, 40 + seed), 1.0, 70 + seed));
        shares.push(sound.misfit / sound.freedom);
        assert!(
            sound.across < 0.015 && sound.slip.unwrap().explains < 30.0,
            "{sound:?}"
        );
    }
    let mean = shares.iter().sum::<f64>() / shares.len() as f64;
    assert!((0.7..1.3).contains(&mean), "{shares:.2?}");
    let mut random = Random(91);
    let mut state = truth(12, 8);
    let problem_state = state.clone();
    let sound = scene(problem_state, 1.0, 4);
    let wobbles = sound.problem(true);
    let step = DVector::from_fn(wobbles.parameters(), |k, _| {
        let across =
            (0..12).any(|photo| (wobbles.wobble_at(photo)..wobbles.wobble_at(photo) + 2).contains(&k));
        if across { 0.05 * random.normal() } else { 0.0 }
    });
    state = wobbles.moved(&state, &step);
    let told = steadiness_of(&scene(state, 1.0, 4));
    assert!(
        (0.04..0.11).contains(&told.across) && !told.is_noise(),
        "{told:?}"
    );
}

fn steadiness_of(scene: &Scene) -> Steadiness {
    let problem = TurnProblem {
        rim: &[],
        has_rim: false,
        ..scene.problem(false)
    };
    let mut start = scene.state.clone();
    start.rim = None;
    let found = problem.solve(start, &Options::default()).unwrap().state;
    let standings: Vec<_> = (0..found.photos.len())
        .map(|i| Standing::of(&problem, &found, i).unwrap())
        .collect();
    steadiness(&standings).unwrap()
}

/// The wheel pushed between two photos: with the axis held, the wobbles' difference is the push, with the stated standard
/// deviations over many seeds.
#[test]
fn a_push_between_two_photos_is_recovered() {
    let runs = 60;
    let mut squares = [0.0; 5];
    for run in 0..runs {
        let mut state = truth(2, 300 + run);
        state.photos[1].angle = state.photos[0].angle;
        state.rim = None;
        draw_prints(&mut state, 500 + run);
        let push = [0.05, -0.03, 0.08, 0.001, -0.002];
        let mut sight = truth_scene(&state, &push, 900 + run);
        draw_lens(&mut sight.priors, 700 + run);
        let problem = TurnProblem {
            rim: &[],
            has_rim: false,
            ..sight.problem(true)
        };
        let found = problem.solve(sight.state.clone(), &Options::default()).unwrap();
        let covariance = found.covariance().unwrap();
        for (k, of) in push.iter().enumerate() {
            let (a, b) = (problem.wobble_at(0) + k, problem.wobble_at(1) + k);
            let variance = covariance[(a, a)] + covariance[(b, b)] - 2.0 * covariance[(a, b)];
            let wobble = |i: usize| {
                let w = &found.state.photos[i].wobble;
                [w.shift().x, w.shift().y, w.shift().z, w.lean().x, w.lean().y][k]
            };
            squares[k] += (wobble(1) - wobble(0) - of).powi(2) / variance / runs as f64;
        }
    }
    println!("rms of errors over stated {:.2?}", squares.map(f64::sqrt));
    assert!(
        squares.iter().all(|s| (0.65..1.35).contains(&s.sqrt())),
        "{squares:.2?}"
    );
}

/// Draws what the priors allow of print and focus: stated standard deviations hold over all of it, not for one truth
/// that every prior happens to be right about.
fn draw_prints(state: &mut TurnState, seed: u64) {
    let mut random = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let priors = priors(state);
    let both = priors.scale_sigma * random.normal();
    let own = priors.own_scale_sigma * random.normal();
    for k in 0..2 {
        state.scale[k] += both;
        state.own_scale[k] += own;
        state.bend[k] = priors.bend_sigma[k] * random.normal();
        state.turning_bend[k] = priors.turning_bend_sigma[k] * random.normal();
    }
    for photo in &mut state.photos {
        photo.focal = (priors.focal_factor_sigma * random.normal()).exp();
    }
}

/// Draws what the priors expect of the lens about what it is.
fn draw_lens(priors: &mut TurnPriors, seed: u64) {
    let mut random = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    for (expected, sigma) in &mut priors.cameras {
        for (value, sigma) in expected.iter_mut().zip(sigma) {
            *value += *sigma * random.normal();
        }
    }
}

/// What a state shows with its second wheel pushed; the scene starts from the wheel on its axis, and holds the axis.
fn truth_scene(state: &TurnState, push: &[f64; 5], seed: u64) -> Scene {
    let still = Scene {
        rim: vec![],
        ..scene(state.clone(), 1.0, seed)
    };
    let wobbles = still.problem(true);
    let at = wobbles.wobble_at(1);
    let step = DVector::from_fn(wobbles.parameters(), |i, _| {
        if (at..at + 5).contains(&i) {
            push[i - at]
        } else {
            0.0
        }
    });
    let mut pushed = scene(wobbles.moved(state, &step), 1.0, seed);
    pushed.state = state.clone();
    pushed.priors.hold_axis = true;
    pushed
}
