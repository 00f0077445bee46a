//! Worked examples of the guides to uncertainty.
//!
//! JCGM 100:2008 (GUM) H.1 and H.2: inputs and results as two public implementations of the guide keep them in their own
//! tests. JCGM 101:2008: values of 9.2 as one of them keeps them; those of 9.3 and 9.5 are from memory and were
//! reproduced by an independent simulation of 4 million trials.

use nalgebra::{DVector, Matrix3, Vector3};
use shimwright_geom::Random;
use shimwright_solve::{Loss, Model, Options, Residuals, Trials, solve, solve_again};
use std::f64::consts::{FRAC_PI_2, PI};

/// Enough that means are right to a thousandth of their standard deviations.
const TRIALS: usize = 400_000;

fn rectangle(random: &mut Random, low: f64, high: f64) -> f64 {
    random.between(low, high)
}

/// Student's t: a normal number over the root of a mean of squared ones.
fn student(random: &mut Random, freedom: usize) -> f64 {
    let squares: f64 = (0..freedom).map(|_| random.normal().powi(2)).sum();
    random.normal() / (squares / freedom as f64).sqrt()
}

/// A rectangle whose half width is itself known to within `blur` (JCGM 101, 6.4.3).
fn blurred_rectangle(random: &mut Random, half: f64, blur: f64) -> f64 {
    let half = half + random.between(-blur, blur);
    random.between(-half, half)
}

#[track_caller]
fn near(found: f64, want: f64, within: f64) {
    assert!((found - want).abs() <= within, "{found}, not {want} +- {within}");
}

/// JCGM 101, 9.2.2 to 9.2.4: sums of four normal numbers, of four even ones, and of even ones of which one is wide.
#[test]
fn sums_of_four() {
    let sum = Trials::run(TRIALS, 1, |r| (0..4).map(|_| r.normal()).sum()).unwrap();
    near(sum.standard_uncertainty(), 2.0, 0.01);
    let (low, high) = sum.symmetric_interval(0.95);
    near(low, -3.92, 0.03);
    near(high, 3.92, 0.03);

    let root3 = 3f64.sqrt();
    let even = |r: &mut Random, sd: f64| rectangle(r, -sd * root3, sd * root3);
    let sum = Trials::run(TRIALS, 2, |r| (0..4).map(|_| even(r, 1.0)).sum()).unwrap();
    near(sum.standard_uncertainty(), 2.0, 0.01);
    let (low, high) = sum.symmetric_interval(0.95);
    near(low, -3.88, 0.03);
    near(high, 3.88, 0.03);

    let sum = Trials::run(TRIALS, 3, |r| {
        (0..3).map(|_| even(r, 1.0)).sum::<f64>() + even(r, 10.0)
    })
    .unwrap();
    near(sum.standard_uncertainty(), 10.1, 0.1);
    let (low, high) = sum.symmetric_interval(0.95);
    near(low, -17.0, 0.1);
    near(high, 17.0, 0.1);
}

/// JCGM 101, 9.3: calibration of a mass, where the linear rule gives 0.0539 mg and misses a product of two inputs.
#[test]
fn calibration_of_a_mass() {
    let dm = Trials::run(TRIALS, 4, |r| {
        let (mass, difference) = (100_000.0 + 0.05 * r.normal(), 1.234 + 0.02 * r.normal());
        let air = rectangle(r, 1.1, 1.3);
        let (weight, reference) = (rectangle(r, 7000.0, 9000.0), rectangle(r, 7950.0, 8050.0));
        (mass + difference) * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / reference)) - 100_000.0
    })
    .unwrap();
    near(dm.mean(), 1.2340, 5e-4);
    near(dm.standard_uncertainty(), 0.0754, 5e-4);
    let (low, high) = dm.shortest_interval(0.95);
    near(low, 1.0834, 3e-3);
    near(high, 1.3825, 3e-3);
}

/// JCGM 101, 9.4: the square of a length near zero, whose distribution has a sharp end; shortest interval [0, 150] of
/// a mean of 50, all times 1e-6.
#[test]
fn a_distribution_with_an_end() {
    let power = Trials::run(TRIALS, 5, |r| {
        1e6 * ((0.005 * r.normal()).powi(2) + (0.005 * r.normal()).powi(2))
    })
    .unwrap();
    near(power.mean(), 50.0, 0.5);
    near(power.standard_uncertainty(), 50.0, 0.7);
    let (low, high) = power.shortest_interval(0.95);
    near(low, 0.0, 0.2);
    near(high, 150.0, 2.0);
}

/// GUM H.1, the end gauge, in the form of JCGM 101, 9.5: 838 nm, standard uncertainty 36 nm (the GUM's linear rule gives
/// 32 and its second order 34), 99 % from 745 to 932 nm.
#[test]
fn the_end_gauge() {
    let length = Trials::run(TRIALS, 6, |r| {
        let standard = 50_000_623.0 + 25.0 * student(r, 18);
        let difference = 215.0 + 6.0 * student(r, 24);
        let random = 4.0 * student(r, 5);
        let systematic = 7.0 * student(r, 8);
        let expansion = rectangle(r, 9.5e-6, 13.5e-6);
        let cycle = 0.5 * (rectangle(r, -FRAC_PI_2, FRAC_PI_2)).sin();
        let temperature = -0.1 + 0.2 * r.normal() + cycle;
        let expansions = blurred_rectangle(r, 1e-6, 0.1e-6);
        let temperatures = blurred_rectangle(r, 0.05, 0.025);
        let thermal = standard * (expansions * temperature + expansion * temperatures);
        standard + difference + random + systematic - thermal - 50_000_000.0
    })
    .unwrap();
    near(length.mean(), 838.0, 0.5);
    near(length.standard_uncertainty(), 36.0, 0.5);
    let (low, high) = length.symmetric_interval(0.99);
    near(low, 745.0, 2.0);
    near(high, 932.0, 2.0);
}

/// GUM H.2: resistance, reactance and impedance from five simultaneous readings, whose means are correlated.
#[test]
fn resistance_and_reactance() {
    let readings = [
        [5.007, 19.663e-3, 1.0456],
        [4.994, 19.639e-3, 1.0438],
        [5.005, 19.640e-3, 1.0468],
        [4.990, 19.685e-3, 1.0428],
        [4.999, 19.678e-3, 1.0433],
    ]
    .map(Vector3::from);
    let mean = readings.iter().sum::<Vector3<f64>>() / 5.0;
    let covariance: Matrix3<f64> = readings
        .iter()
        .map(|r| (r - mean) * (r - mean).transpose())
        .sum::<Matrix3<f64>>()
        / 20.0;
    let root = covariance.cholesky().unwrap().l();
    let run = |value: fn(&Vector3<f64>) -> f64| {
        Trials::run(TRIALS, 7, |r| {
            value(&(mean + root * Vector3::from_fn(|_, _| r.normal())))
        })
        .unwrap()
    };
    for (value, want, u) in [
        (
            (|x| x[0] / x[1] * x[2].cos()) as fn(&Vector3<f64>) -> f64,
            127.732,
            0.071,
        ),
        (|x| x[0] / x[1] * x[2].sin(), 219.847, 0.2956),
        (|x| x[0] / x[1], 254.260, 0.2363),
    ] {
        let found = run(value);
        near(found.mean(), want, 0.002);
        near(found.standard_uncertainty(), u, 0.001);
    }
}

/// GUM H.3: a thermometer's corrections, b(t) = y1 + y2 (t - 20).
struct Thermometer {
    sigma: f64,
}

const READINGS: [(f64, f64); 11] = [
    (21.521, -0.171),
    (22.012, -0.169),
    (22.512, -0.166),
    (23.003, -0.159),
    (23.507, -0.164),
    (23.999, -0.165),
    (24.513, -0.156),
    (25.002, -0.157),
    (25.503, -0.159),
    (26.010, -0.161),
    (26.511, -0.160),
];

impl Model for Thermometer {
    type State = [f64; 2];
    fn parameters(&self) -> usize {
        2
    }
    fn groups(&self) -> usize {
        1
    }
    fn moved(&self, s: &[f64; 2], step: &DVector<f64>) -> [f64; 2] {
        [s[0] + step[0], s[1] + step[1]]
    }
    fn residuals(&self, s: &[f64; 2], out: &mut Residuals) -> bool {
        for (t, b) in READINGS {
            let x = t - 20.0;
            let row = [(0, 1.0 / self.sigma), (1, x / self.sigma)];
            out.push(0, Loss::Squares, (s[0] + s[1] * x - b) / self.sigma, &row);
        }
        true
    }
}

/// The solver, its covariance, and solving again with everything disturbed: all three give the guide's numbers.
#[test]
fn the_thermometer() {
    let plain = solve(&Thermometer { sigma: 1.0 }, [0.0; 2], &Options::default()).unwrap();
    let s = (plain.plain_cost / 9.0).sqrt();
    near(s, 0.0035, 5e-5);
    let model = Thermometer { sigma: s };
    let found = solve(&model, [0.0; 2], &Options::default()).unwrap();
    let c = found.covariance().unwrap();
    near(found.state[0], -0.1712, 5e-5);
    near(found.state[1], 0.00218, 5e-6);
    near(c[(0, 0)].sqrt(), 0.0029, 5e-5);
    near(c[(1, 1)].sqrt(), 0.00067, 5e-6);
    near(c[(0, 1)] / (c[(0, 0)] * c[(1, 1)]).sqrt(), -0.930, 5e-4);
    let at30 = |state: &[f64; 2]| state[0] + 10.0 * state[1];
    near(at30(&found.state), -0.1494, 5e-5);

    let states = solve_again(&model, &found, &Options::default(), 40_000, 8).unwrap();
    let again = Trials::of(states.iter().map(at30).collect()).unwrap();
    near(again.mean(), -0.1494, 1e-4);
    near(again.standard_uncertainty(), 0.0041, 5e-5);
}

/// The half-normal distribution: its shortest interval begins at zero, and its symmetric one does not.
#[test]
fn intervals_of_a_lopsided_distribution() {
    let half = Trials::run(TRIALS, 9, |r| r.normal().abs()).unwrap();
    near(half.mean(), (2.0 / PI).sqrt(), 0.005);
    let (low, high) = half.shortest_interval(0.95);
    near(low, 0.0, 0.002);
    near(high, 1.95996, 0.01);
    let (low, high) = half.symmetric_interval(0.95);
    near(low, 0.03134, 0.003);
    near(high, 2.24140, 0.02);
}

#[test]
fn too_few_trials_or_no_numbers_are_refused() {
    assert!(Trials::of(vec![1.0]).is_none());
    assert!(Trials::of(vec![1.0, f64::NAN]).is_none());
}
