//! The joint solve with curves on made-up corners and edge points.

use shimwright_camera::Camera;
use shimwright_geom::{Pose, Vec2, Vec3};
use shimwright_solve::{
    Circle, CornerSight, CurveSight, CurvesProblem, CurvesState, JointProblem, JointState, Known, Line,
    Options, PhotoState, Priors, SHIFTS, Shape,
};
use std::f64::consts::TAU;

const CAMERA: Camera = Camera {
    width: 2816,
    height: 2112,
    intrinsics: [2291.7, 2289.9, 1418.3, 1049.6, 0.04, -0.07, 0.0005, -0.0003, 0.0],
};
/// Standard deviation of corners and edge points, px.
const NOISE: f64 = 0.05;

/// A small generator of normal numbers: the same on every machine.
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
        (-2.0 * (1.0 - self.even()).ln()).sqrt() * (TAU * self.even()).cos()
    }
}

/// A ring's rim 6 mm above the sheet, and two edges 18.2 mm apart at 4 mm.
fn curves() -> Vec<Shape> {
    let line = |y: f64| {
        Shape::Line(Line {
            point: Vec3::new(150.0, y, -4.0),
            direction: Vec3::new(1.0, 0.02, 0.0).normalize(),
        })
    };
    let rim = Circle {
        centre: Vec3::new(90.0, 75.0, -6.0),
        normal: Vec3::new(0.002, -0.001, -1.0).normalize(),
        radius: 11.0,
    };
    vec![Shape::Circle(rim), line(100.0), line(118.2)]
}

fn poses(count: usize) -> Vec<Pose> {
    let turns = [
        Vec3::new(0.1, 0.05, 0.0),
        Vec3::new(0.45, 0.1, 0.1),
        Vec3::new(-0.1, -0.5, -0.1),
    ];
    turns[..count]
        .iter()
        .map(|turn| {
            let turn = Pose::from_rotation_vector(*turn, Vec3::zeros());
            let middle = turn.direction(&Vec3::new(132.0, 96.0, 0.0));
            Pose::from_matrix(&turn.rotation(), Vec3::new(0.0, 0.0, 265.0) - middle)
        })
        .collect()
}

struct Seen {
    corners: Vec<CornerSight>,
    sights: Vec<CurveSight>,
}

fn seen(poses: &[Pose], noise: f64, seed: u64) -> Seen {
    let mut random = Random(seed * 6151 + 17);
    let mut seen = Seen {
        corners: vec![],
        sights: vec![],
    };
    for (photo, pose) in poses.iter().enumerate() {
        for i in 0..70 {
            let place = Vec2::new(24.0 * f64::from(i % 10 + 1), 24.0 * f64::from(i / 10 + 1));
            let at = CAMERA
                .project(&pose.point(&Vec3::new(place.x, place.y, 0.0)))
                .expect("before the camera");
            seen.corners.push(CornerSight {
                photo,
                place,
                at: at + Vec2::new(random.normal(), random.normal()) * noise,
                sigma_px: NOISE,
            });
        }
        for (curve, shape) in curves().iter().enumerate() {
            for i in 0..60 {
                let share = f64::from(i) / 60.0;
                let t = if curve == 0 {
                    TAU * share
                } else {
                    20.0 * share - 10.0
                };
                let see = |t: f64| {
                    CAMERA
                        .project(&pose.point(&shape.point(t)))
                        .expect("before the camera")
                };
                let along = (see(t + 1e-4) - see(t - 1e-4)).normalize();
                let side = Vec2::new(-along.y, along.x);
                seen.sights.push(CurveSight {
                    photo,
                    curve,
                    at: see(t) + side * (noise * random.normal()),
                    side,
                    t,
                    sigma_px: NOISE,
                });
            }
        }
    }
    seen
}

fn priors() -> Priors {
    let sigma = [1.0, 1.0, 1.0, 1.0, 0.002, 0.005, 2e-4, 2e-4, 0.0];
    Priors {
        cameras: vec![(CAMERA.intrinsics, sigma)],
        aspect_sigma: 0.001,
        focal_factor_sigma: 0.004,
        scale: Vec2::new(1.0, 1.0),
        scale_sigma: 1e-6,
        bend_sigma: Vec2::repeat(0.05),
        radius: None,
        square_sigma: 1.0,
        lean_sigma: 1.0,
        edge_shift_sigma: [1.0; SHIFTS],
        heights: vec![],
    }
}

/// The true state with the curves moved off by up to a millimetre.
fn start(poses: &[Pose]) -> CurvesState {
    let mut curves = curves();
    for shape in &mut curves {
        let step: Vec<f64> = (0..shape.parameters())
            .map(|k| [0.6, -0.4, 1.0, 0.02, -0.01, 0.5][k])
            .collect();
        *shape = shape.moved(&step);
    }
    CurvesState {
        base: JointState {
            cameras: vec![CAMERA],
            photos: poses
                .iter()
                .map(|pose| PhotoState {
                    camera_from_fixed: *pose,
                    focal: 1.0,
                    camera: 0,
                    edge_shift: [[0.0; SHIFTS]; 2],
                })
                .collect(),
            scale: Vec2::new(1.0, 1.0),
            bend: Vec2::zeros(),
            line: None,
            circle: None,
        },
        shifts: vec![0.0; poses.len() * curves.len()],
        curves,
    }
}

/// Solves; gives radius, width and height of the rim with their standard deviations.
fn solve(seen: &Seen, poses: &[Pose], known: &[Known]) -> Vec<(f64, f64)> {
    let priors = priors();
    let shapes = curves();
    let problem = CurvesProblem {
        base: JointProblem {
            corners: &seen.corners,
            edges: &[],
            priors: &priors,
            middle: Vec2::new(132.0, 96.0),
            half: Vec2::new(132.0, 96.0),
            photos: poses.len(),
            has_line: false,
            has_circle: false,
            edge_loss: shimwright_solve::Loss::Cauchy(3.0),
        },
        sights: &seen.sights,
        known,
        curves: &shapes,
        shift_sigma: 1e-4,
    };
    let solution = problem
        .solve(start(poses), &Options::default())
        .expect("a solution");
    let covariance = solution.covariance().expect("a covariance");
    let radius = |state: &CurvesState| match &state.curves[0] {
        Shape::Circle(circle) => circle.radius,
        Shape::Line(_) => f64::NAN,
    };
    // Where the edges pass x = 150: a line's point may slide along it.
    let y = |shape: &Shape| {
        let (point, direction) = (shape.middle(), shape.direction());
        point.y + direction.y * (150.0 - point.x) / direction.x
    };
    let width = |state: &CurvesState| (y(&state.curves[1]) - y(&state.curves[2])).abs();
    let height = |state: &CurvesState| problem.height_of(state, 0);
    let of = |value: &dyn Fn(&CurvesState) -> f64| {
        let parts = problem.uncertainty_of(&solution, &covariance, value);
        (value(&solution.state), parts.iter().sum::<f64>().sqrt())
    };
    vec![of(&radius), of(&width), of(&height)]
}

const TRUTH: [f64; 3] = [11.0, 18.2, 6.0];

fn flat() -> Vec<Known> {
    (0..3).map(|curve| Known::Flat { curve, sigma: 0.005 }).collect()
}

#[test]
fn exact_points_give_the_exact_curves() {
    let poses = poses(3);
    let found = solve(&seen(&poses, 0.0, 1), &poses, &[]);
    for ((found, _), truth) in found.iter().zip(TRUTH) {
        assert!((found - truth).abs() < 1e-5, "{found} {truth}");
    }
}

/// One photo does not tell the height; a stated one is taken, and its uncertainty shows in the radius.
#[test]
fn one_photo_needs_the_height() {
    let poses = poses(1);
    let mut known = flat();
    let height = |curve, height| Known::Height {
        curve,
        height,
        sigma: 0.1,
    };
    known.extend([height(0, 6.0), height(1, 4.0), height(2, 4.0)]);
    let found = solve(&seen(&poses, 0.0, 1), &poses, &known);
    assert!((found[0].0 - 11.0).abs() < 5e-3, "{:?}", found[0]);
    // 0.1 mm of 259 mm on 11 mm.
    assert!(found[0].1 > 0.1 * 11.0 / 265.0, "{:?}", found[0]);
    assert!((found[2].1 - 0.1).abs() < 0.01, "{:?}", found[2]);
}

/// The stated standard deviations are those of the scatter, and the means are right.
#[test]
fn stated_deviations_are_right() {
    const RUNS: u64 = 60;
    let poses = poses(3);
    let mut sums = [[0.0; 2]; 3];
    for seed in 1..=RUNS {
        let found = solve(&seen(&poses, NOISE, seed), &poses, &flat());
        for (sum, ((found, sigma), truth)) in sums.iter_mut().zip(found.iter().zip(TRUTH)) {
            let off = (found - truth) / sigma;
            sum[0] += off;
            sum[1] += off * off;
        }
    }
    for [mean, square] in sums {
        let (mean, ratio) = (mean / RUNS as f64, (square / RUNS as f64).sqrt());
        // 60 runs know a mean to 0.13 and a ratio to 9 %: three of them either way.
        assert!(
            mean.abs() < 0.39 && (0.72..1.28).contains(&ratio),
            "{mean} {ratio}"
        );
    }
}
