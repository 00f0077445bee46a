//! Published least-squares problems through the solver: NIST's nonlinear sets and circles.
//!
//! NIST Statistical Reference Datasets, nonlinear regression (https://www.itl.nist.gov/div898/strd/), certified to 11
//! digits; read in place from `../shared/data/reference`. Circle: Gander, Golub, Strebel, "Least-squares
//! fitting of circles and ellipses", BIT 34 (1994) 558-578; printed result from memory, reproduced independently.

use nalgebra::DVector;
use serde_json::Value;
use shimwright_solve::{Loss, Model, Options, Residuals, Solution, solve};
use std::f64::consts::PI;
use std::path::Path;

/// A model of residuals whose derivatives are taken by central differences.
struct Differences<F: Fn(&[f64]) -> Vec<f64>> {
    parameters: usize,
    residuals: F,
}

impl<F: Fn(&[f64]) -> Vec<f64>> Model for Differences<F> {
    type State = Vec<f64>;

    fn parameters(&self) -> usize {
        self.parameters
    }

    fn groups(&self) -> usize {
        1
    }

    fn moved(&self, state: &Vec<f64>, step: &DVector<f64>) -> Vec<f64> {
        state.iter().zip(step.iter()).map(|(a, b)| a + b).collect()
    }

    fn residuals(&self, state: &Vec<f64>, out: &mut Residuals) -> bool {
        let here = (self.residuals)(state);
        let slopes: Vec<Vec<f64>> = (0..self.parameters)
            .filter(|_| out.wants_derivatives())
            .map(|k| {
                let h = 1e-6 * state[k].abs().max(1e-6);
                let at = |sign: f64| {
                    let mut moved = state.clone();
                    moved[k] += sign * h;
                    (self.residuals)(&moved)
                };
                at(1.0)
                    .iter()
                    .zip(at(-1.0))
                    .map(|(up, down)| (up - down) / (2.0 * h))
                    .collect()
            })
            .collect();
        for (i, &residual) in here.iter().enumerate() {
            let row: Vec<(usize, f64)> = slopes.iter().enumerate().map(|(k, s)| (k, s[i])).collect();
            out.push(0, Loss::Squares, residual, &row);
        }
        here.iter().all(|r| r.is_finite())
    }
}

/// Solves, and gives the standard deviations of the parameters as scaled by the residuals.
fn fit(start: Vec<f64>, residuals: impl Fn(&[f64]) -> Vec<f64>) -> (Solution<Vec<f64>>, Vec<f64>) {
    let model = Differences {
        parameters: start.len(),
        residuals,
    };
    let options = Options {
        iterations: 3000,
        relative_fall: 1e-15,
    };
    let found = solve(&model, start, &options).expect("a start that can be evaluated");
    let freedom = (found.residuals - model.parameters) as f64;
    let scale = (found.plain_cost / freedom).sqrt();
    let covariance = found.covariance().expect("all parameters are determined");
    let sigma = (0..model.parameters)
        .map(|k| scale * covariance[(k, k)].sqrt())
        .collect();
    (found, sigma)
}

/// The model function of a NIST set.
fn function(name: &str) -> fn(&[f64], f64) -> f64 {
    match name {
        "Misra1a" => |b, x| b[0] * (1.0 - (-b[1] * x).exp()),
        "DanWood" => |b, x| b[0] * x.powf(b[1]),
        "MGH09" => |b, x| b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3]),
        "Thurber" => {
            |b, x| (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / (1.0 + x * (b[4] + x * (b[5] + x * b[6])))
        }
        "Eckerle4" => |b, x| b[0] / b[1] * (-0.5 * ((x - b[2]) / b[1]).powi(2)).exp(),
        "Lanczos3" => |b, x| b[0] * (-b[1] * x).exp() + b[2] * (-b[3] * x).exp() + b[4] * (-b[5] * x).exp(),
        "Roszman1" => |b, x| b[0] - b[1] * x - (b[2] / (x - b[3])).atan() / PI,
        "ENSO" => |b, x| {
            let wave = |period: f64, c: f64, s: f64| {
                let angle = 2.0 * PI * x / period;
                c * angle.cos() + s * angle.sin()
            };
            b[0] + wave(12.0, b[1], b[2]) + wave(b[3], b[4], b[5]) + wave(b[6], b[7], b[8])
        },
        other => panic!("no model for {other}"),
    }
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

fn reference(file: &str) -> Option<Value> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../../shared/data/reference")
        .join(file);
    let Ok(text) = std::fs::read_to_string(&path) else {
        println!("skipped: {} is not there", path.display());
        return None;
    };
    Some(serde_json::from_str(&text).expect("valid JSON"))
}

/// Certified parameters to 1e-6, their standard deviations to 1e-5 and residual sums of squares to 1e-8, all relative,
/// from both of NIST's starts, of which the first is the harder one.
#[test]
fn nist_nonlinear_sets() {
    let Some(sets) = reference("nist_strd_nls.json") else {
        return;
    };
    for (name, set) in sets.as_object().expect("sets by name") {
        let parameters = set["parameters"].as_array().expect("parameters");
        let data: Vec<(f64, f64)> = set["xy"]
            .as_array()
            .expect("data")
            .iter()
            .map(|p| (number(&p[0]), number(&p[1])))
            .collect();
        let model = function(name);
        for start in ["start1", "start2"] {
            let from: Vec<f64> = parameters.iter().map(|p| number(&p[start])).collect();
            let (found, sigma) = fit(from, |b| data.iter().map(|&(x, y)| model(b, x) - y).collect());
            let off = |k: usize, value: f64, key: &str| (value / number(&parameters[k][key]) - 1.0).abs();
            let worst = (0..sigma.len())
                .map(|k| off(k, found.state[k], "value"))
                .fold(0.0, f64::max);
            let worst_sigma = (0..sigma.len())
                .map(|k| off(k, sigma[k], "sd"))
                .fold(0.0, f64::max);
            let rss = (found.plain_cost / number(&set["rss"]) - 1.0).abs();
            println!(
                "{name} {start}: parameters {worst:.1e}, sd {worst_sigma:.1e}, rss {rss:.1e}, {} iterations",
                found.iterations
            );
            assert!(worst < 1e-6, "{name} {start}: parameters off by {worst:e}");
            assert!(
                worst_sigma < 1e-5,
                "{name} {start}: standard deviations off by {worst_sigma:e}"
            );
            assert!(rss < 1e-8, "{name} {start}: sum of squares off by {rss:e}");
        }
    }
}

/// Distances of points from a circle with middle (b0, b1) and radius b2.
fn from_circle(points: &[[f64; 2]]) -> impl Fn(&[f64]) -> Vec<f64> + '_ {
    move |b| {
        points
            .iter()
            .map(|p| (p[0] - b[0]).hypot(p[1] - b[1]) - b[2])
            .collect()
    }
}

/// The circle of Gander, Golub and Strebel: middle (4.7398, 2.9835), radius 4.7142; on so short an arc the standard
/// deviations are large, 0.47759, 1.54291 and 1.22432.
#[test]
fn a_circle_through_a_short_arc() {
    let points = [
        [1.0, 7.0],
        [2.0, 6.0],
        [5.0, 8.0],
        [7.0, 7.0],
        [9.0, 5.0],
        [3.0, 7.0],
    ];
    let (found, sigma) = fit(vec![5.0, 5.0, 3.0], from_circle(&points));
    for (found, want) in found.state.iter().zip([4.7398, 2.9835, 4.7142]) {
        assert!((found - want).abs() < 5e-5, "{found} {want}");
    }
    assert!((found.plain_cost - 1.227_599_1).abs() < 1e-6);
    for (sigma, want) in sigma.iter().zip([0.47759, 1.54291, 1.22432]) {
        assert!((sigma / want - 1.0).abs() < 1e-4, "{sigma} {want}");
    }
}

/// Eight points of a course script in their tradition; result computed with a general library.
#[test]
fn a_circle_all_around() {
    let points = [
        [0.7, 4.0],
        [3.3, 4.7],
        [5.6, 4.0],
        [7.5, 1.3],
        [6.4, -1.1],
        [4.4, -3.0],
        [0.3, -2.5],
        [-1.1, 1.3],
    ];
    let (found, _) = fit(vec![3.0, 1.0, 4.0], from_circle(&points));
    for (found, want) in found.state.iter().zip([3.043_238_3, 0.745_678_3, 4.105_855_8]) {
        assert!((found - want).abs() < 1e-6, "{found} {want}");
    }
    assert!((found.plain_cost - 0.295_948_4).abs() < 1e-6);
}
