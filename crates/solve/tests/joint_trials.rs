//! The linear budget of the joint solve against solving again with everything disturbed (JCGM 101, clause 8: how to
//! validate the linear rule by trials).

use shimwright_camera::Camera;
use shimwright_geom::{Pose, Random, Vec2, Vec3};
use shimwright_solve::{
    Circle, CornerSight, EdgeSight, FeatureId, JointProblem, JointState, Line, Options, PhotoState, Priors,
    SHIFTS, Trials, solve_again,
};

const SIGMA_CORNER: f64 = 0.03;
const SIGMA_EDGE: f64 = 0.05;

/// Three views of a card with a straight edge and a rim beside it, as a gap check sees them.
fn truth() -> JointState {
    let camera = Camera {
        intrinsics: [2291.7, 2289.9, 1418.3, 1049.6, 0.04, -0.07, 0.0005, -0.0003, 0.0],
        ..Camera::ideal(2816, 2112, 2290.0)
    };
    let views = [
        ([0.5, 0.25, 0.1], [-30.0, -10.0, 210.0]),
        ([0.6, -0.2, -0.2], [-25.0, -5.0, 230.0]),
        ([0.9, 0.05, 0.0], [-35.0, -15.0, 250.0]),
    ];
    let photos = views
        .iter()
        .map(|(turn, shift)| PhotoState {
            camera_from_fixed: Pose::from_rotation_vector(Vec3::from(*turn), Vec3::from(*shift)),
            focal: 1.0,
            camera: 0,
            edge_shift: [[0.0; SHIFTS]; 2],
        })
        .collect();
    JointState {
        cameras: vec![camera],
        photos,
        scale: Vec2::repeat(1.0),
        bend: Vec2::zeros(),
        line: Some(Line {
            point: Vec3::new(35.0, 38.0, 4.3),
            direction: Vec3::x(),
        }),
        circle: Some(Circle {
            centre: Vec3::new(30.0, 39.5, 40.0),
            normal: Vec3::y(),
            radius: 49.4,
        }),
    }
}

fn corners(truth: &JointState, random: &mut Random) -> Vec<CornerSight> {
    let places = (0..14).map(|i| Vec2::new(f64::from(i % 7 + 1), f64::from(i / 7 + 1)) * 8.0);
    let sights = |place: Vec2, random: &mut Random| -> Vec<CornerSight> {
        (0..truth.photos.len())
            .map(|photo| {
                let at = see(truth, photo, &Vec3::new(place.x, place.y, 0.0));
                CornerSight {
                    photo,
                    place,
                    at: at + Vec2::new(random.normal(), random.normal()) * SIGMA_CORNER,
                    sigma_px: SIGMA_CORNER,
                }
            })
            .collect()
    };
    places.flat_map(|place| sights(place, random)).collect()
}

fn see(truth: &JointState, photo: usize, p: &Vec3) -> Vec2 {
    let in_camera = truth.photos[photo].camera_from_fixed.point(p);
    truth
        .camera_of(photo)
        .project(&in_camera)
        .expect("a point before the camera")
}

fn edges(truth: &JointState, random: &mut Random) -> Vec<EdgeSight> {
    let (line, circle) = (truth.line.expect("a line"), truth.circle.expect("a rim"));
    let middle = circle.angle_of(&(circle.centre - Vec3::z()));
    let mut all = Vec::new();
    for photo in 0..truth.photos.len() {
        let mut push = |feature, along: f64, t: f64, place: &dyn Fn(f64) -> Vec3, random: &mut Random| {
            let (at, next) = (see(truth, photo, &place(t)), see(truth, photo, &place(t + 1e-3)));
            let forward = (next - at).normalize();
            let side = Vec2::new(-forward.y, forward.x);
            all.push(EdgeSight {
                photo,
                feature,
                at: at + side * (SIGMA_EDGE * random.normal()),
                side,
                sigma_px: SIGMA_EDGE,
                t,
                along,
            });
        };
        for k in 0..14 {
            let share = f64::from(k) / 13.0 - 0.5;
            push(
                FeatureId::Line,
                2.0 * share,
                60.0 * share,
                &|t| line.point + line.direction * t,
                random,
            );
            push(
                FeatureId::Circle,
                2.0 * share,
                middle + 1.3 * share,
                &|t| circle.centre + circle.radial(t) * circle.radius,
                random,
            );
        }
    }
    all
}

fn priors(truth: &JointState) -> Priors {
    let sigma = [1.0, 1.0, 1.0, 1.0, 0.002, 0.005, 2e-4, 2e-4, 0.0];
    Priors {
        cameras: vec![(truth.cameras[0].intrinsics, sigma)],
        aspect_sigma: 0.001,
        focal_factor_sigma: 0.004,
        scale: Vec2::repeat(1.0),
        scale_sigma: 0.0005,
        bend_sigma: Vec2::new(0.05, 0.02),
        radius: Some((49.4, 0.05)),
        square_sigma: 0.014,
        lean_sigma: 0.07,
        edge_shift_sigma: [0.2; SHIFTS],
        heights: vec![],
    }
}

/// Distance along the rim's normal from a place on the edge to the rim's plane.
fn gap(state: &JointState) -> f64 {
    let (Some(line), Some(circle)) = (&state.line, &state.circle) else {
        return f64::NAN;
    };
    (circle.centre - line.point).dot(&circle.normal).abs()
}

/// On an ordinary job the linear budget and the trials agree: standard uncertainties to a tenth, which is two standard
/// deviations of what 200 trials tell; mean to a quarter of the uncertainty; symmetric 95 % interval near +-1.96 u.
#[test]
fn the_linear_budget_agrees_with_trials() {
    let truth = truth();
    let mut random = Random::new(11);
    let (corners, edges) = (corners(&truth, &mut random), edges(&truth, &mut random));
    let priors = priors(&truth);
    let problem = JointProblem {
        corners: &corners,
        edges: &edges,
        priors: &priors,
        middle: Vec2::new(32.0, 12.0),
        half: Vec2::new(32.0, 12.0),
        photos: truth.photos.len(),
        has_line: true,
        has_circle: true,
        edge_loss: shimwright_solve::Loss::Cauchy(3.0),
    };
    let options = Options {
        iterations: 30,
        relative_fall: 1e-9,
    };
    let solution = problem.solve(truth.clone(), &options).expect("solves");
    let covariance = solution.covariance().expect("all is determined");
    let linear: f64 = problem
        .uncertainty_of(&solution, &covariance, gap)
        .iter()
        .sum::<f64>()
        .sqrt();
    let value = gap(&solution.state);
    assert!((value - 1.5).abs() < 3.0 * linear, "{value} {linear}");

    let states = solve_again(&problem, &solution, &options, 200, 12).expect("solves again");
    assert_eq!(states.len(), 200);
    let trials = Trials::of(states.iter().map(gap).collect()).expect("numbers");
    let u = trials.standard_uncertainty();
    let (low, high) = trials.symmetric_interval(0.95);
    println!(
        "linear u {linear:.5}, trials u {u:.5}, mean off by {:+.5}, interval {low:.4} to {high:.4}",
        trials.mean() - value
    );
    assert!((u / linear - 1.0).abs() < 0.1, "linear {linear}, trials {u}");
    assert!((trials.mean() - value).abs() < 0.25 * linear);
    assert!(((high - low) / (2.0 * 1.96 * linear) - 1.0).abs() < 0.2);
    // The same seed gives the same trials.
    let again = solve_again(&problem, &solution, &options, 2, 12).expect("solves again");
    assert_eq!(gap(&again[1]), gap(&states[1]));
}
