//! Least squares of a light model through pixels, with the noise estimated from what is left over.

use crate::noise::{Alikeness, Noise, Residual};
use nalgebra::{SMatrix, SVector};
use shimwright_geom::linear_light;

/// Encoded value from which a pixel counts as over-exposed.
const OVER_EXPOSED: u8 = 254;

/// A pixel, its place relative to the fit's own origin, and its linear light.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pixel {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) light: f64,
    /// Column and row in the picture.
    pub(crate) place: (i32, i32),
    /// The light may have been more than the picture can hold.
    pub(crate) over_exposed: bool,
}

impl Pixel {
    /// From the fit's coordinates, the place in the picture and an encoded value.
    pub(crate) fn new(x: f64, y: f64, place: (i32, i32), value: u8) -> Self {
        let light = f64::from(linear_light()[usize::from(value)]);
        Self {
            x,
            y,
            light,
            place,
            over_exposed: value >= OVER_EXPOSED,
        }
    }

    /// What the pixel says against a model's light; nothing when it is over-exposed and the model is brighter.
    fn residual(&self, model: f64) -> Option<f64> {
        let residual = self.light - model;
        (!self.over_exposed || residual > 0.0).then_some(residual)
    }
}

/// A model of light with `N` parameters.
pub(crate) trait LightModel<const N: usize> {
    /// What does not change from pixel to pixel.
    type Prepared;

    /// Works out what all pixels share.
    fn prepare(&self, parameters: &SVector<f64, N>) -> Self::Prepared;

    /// The light at a place and its derivatives by the parameters.
    fn light(&self, prepared: &Self::Prepared, x: f64, y: f64) -> (f64, SVector<f64, N>);

    /// True while the parameters make sense; steps that leave the region are shortened.
    fn admits(&self, parameters: &SVector<f64, N>) -> bool;
}

/// What a fit gives: all `N` parameters, and the covariance of the first `M`.
#[derive(Clone, Debug)]
pub(crate) struct Fitted<const N: usize, const M: usize> {
    pub(crate) parameters: SVector<f64, N>,
    /// Covariance of the first parameters, from the noise of the pixels themselves and how alike neighbours are.
    pub(crate) covariance: SMatrix<f64, M, M>,
    /// Root mean square of the residuals, linear light.
    pub(crate) rms: f64,
}

/// Fits the model by damped Gauss-Newton steps, first with equal weights, then with the noise that the first
/// fit left over. `None` when there are too few pixels or the pixels do not fix the parameters.
pub(crate) fn fit<const N: usize, const M: usize>(
    model: &impl LightModel<N>,
    pixels: &[Pixel],
    start: SVector<f64, N>,
) -> Option<Fitted<N, M>> {
    if pixels.len() < 2 * N + 10 {
        return None;
    }
    let mut noise = Noise::flat();
    let mut parameters = start;
    let mut left = Vec::new();
    for stop in [
        Stop {
            rounds: 12,
            gain: 1e-3,
        },
        Stop {
            rounds: 8,
            gain: 1e-5,
        },
    ] {
        parameters = descend(model, pixels, parameters, &noise, &stop)?;
        left = residuals(model, pixels, &parameters);
        if left.len() < 2 * N + 10 {
            return None;
        }
        noise = Noise::of(&left);
    }
    let covariance = covariance(model, pixels, &parameters, &left, &noise)?;
    let rms = (left.iter().map(|r| r.residual * r.residual).sum::<f64>() / left.len() as f64).sqrt();
    Some(Fitted {
        parameters,
        covariance,
        rms,
    })
}

/// Covariance of the first `M` parameters. A parameter is a weighted sum of the pixels; the covariance is that of
/// the sums, with the variance of each pixel and the correlation of each two near each other.
fn covariance<const N: usize, const M: usize>(
    model: &impl LightModel<N>,
    pixels: &[Pixel],
    parameters: &SVector<f64, N>,
    left: &[Residual],
    noise: &Noise,
) -> Option<SMatrix<f64, M, M>> {
    let (normal, ..) = normal_equations(model, pixels, parameters, noise);
    let inverse = normal.try_inverse()?;
    let rows = inverse.fixed_rows::<M>(0);
    let prepared = model.prepare(parameters);
    let effects: Vec<SVector<f64, M>> = left
        .iter()
        .map(|r| {
            let p = &pixels[r.pixel];
            let (light, slope) = model.light(&prepared, p.x, p.y);
            rows * slope / noise.variance(light).sqrt()
        })
        .collect();
    let mut sum = SMatrix::<f64, M, M>::zeros();
    for e in &effects {
        sum += e * e.transpose();
    }
    let alone = sum;
    let alikeness = Alikeness::of(pixels, left, noise, N);
    alikeness.for_pairs(pixels, left, |i, k, correlation| {
        let both = effects[i] * effects[k].transpose() * correlation;
        sum += both + both.transpose();
    });
    let covariance = if sum.trace() > alone.trace() { sum } else { alone };
    Some(covariance / (1.0 - alikeness.absorbed))
}

fn residuals<const N: usize>(
    model: &impl LightModel<N>,
    pixels: &[Pixel],
    parameters: &SVector<f64, N>,
) -> Vec<Residual> {
    let prepared = model.prepare(parameters);
    pixels
        .iter()
        .enumerate()
        .filter_map(|(pixel, p)| {
            let light = model.light(&prepared, p.x, p.y).0;
            p.residual(light).map(|residual| Residual {
                pixel,
                light,
                residual,
            })
        })
        .collect()
}

type Normal<const N: usize> = (SMatrix<f64, N, N>, SVector<f64, N>, f64);

fn normal_equations<const N: usize>(
    model: &impl LightModel<N>,
    pixels: &[Pixel],
    parameters: &SVector<f64, N>,
    noise: &Noise,
) -> Normal<N> {
    let mut normal = SMatrix::<f64, N, N>::zeros();
    let mut right = SVector::<f64, N>::zeros();
    let mut cost = 0.0;
    let prepared = model.prepare(parameters);
    // Many pixels at once, each divided by its noise: sums of products along rows are quick.
    let mut slopes = [[0.0; BLOCK]; N];
    let mut misses = [0.0; BLOCK];
    let mut count = 0;
    for p in pixels {
        let (light, slope) = model.light(&prepared, p.x, p.y);
        let Some(residual) = p.residual(light) else {
            continue;
        };
        let per_sigma = 1.0 / noise.sigma(light);
        for (row, slope) in slopes.iter_mut().zip(slope.iter()) {
            row[count] = per_sigma * slope;
        }
        misses[count] = per_sigma * residual;
        count += 1;
        if count == BLOCK {
            cost += add_block(&slopes, &misses, &mut normal, &mut right);
            count = 0;
        }
    }
    slopes.iter_mut().for_each(|row| row[count..].fill(0.0));
    misses[count..].fill(0.0);
    cost += add_block(&slopes, &misses, &mut normal, &mut right);
    normal.fill_upper_triangle_with_lower_triangle();
    (normal, right, cost)
}

/// Pixels whose products are summed at once.
const BLOCK: usize = 32;

/// Adds a block of pixels to the lower triangle of the normal matrix and to the right side; gives its cost.
fn add_block<const N: usize>(
    slopes: &[[f64; BLOCK]; N],
    misses: &[f64; BLOCK],
    normal: &mut SMatrix<f64, N, N>,
    right: &mut SVector<f64, N>,
) -> f64 {
    for (i, row) in slopes.iter().enumerate() {
        right[i] += dot(row, misses);
        for (j, other) in slopes[..=i].iter().enumerate() {
            normal[(i, j)] += dot(row, other);
        }
    }
    dot(misses, misses)
}

#[inline]
fn dot(a: &[f64; BLOCK], b: &[f64; BLOCK]) -> f64 {
    let mut sums = [0.0; 4];
    let ((a, _), (b, _)) = (a.as_chunks::<4>(), b.as_chunks::<4>());
    for (a, b) in a.iter().zip(b) {
        for k in 0..4 {
            sums[k] += a[k] * b[k];
        }
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3])
}

/// When to stop: after so many rounds, or when the cost falls by less than this share.
struct Stop {
    rounds: usize,
    gain: f64,
}

/// Levenberg-Marquardt with the damping on the diagonal.
fn descend<const N: usize>(
    model: &impl LightModel<N>,
    pixels: &[Pixel],
    start: SVector<f64, N>,
    noise: &Noise,
    stop: &Stop,
) -> Option<SVector<f64, N>> {
    let mut parameters = start;
    let mut damping = 1e-3;
    let (mut normal, mut right, mut cost) = normal_equations(model, pixels, &parameters, noise);
    for _ in 0..stop.rounds {
        let mut damped = normal;
        for i in 0..N {
            damped[(i, i)] += damping * normal[(i, i)] + 1e-12;
        }
        let step = damped.cholesky()?.solve(&right);
        let next = parameters + step;
        let better = model
            .admits(&next)
            .then(|| normal_equations(model, pixels, &next, noise));
        match better {
            Some((n, r, c)) if c <= cost => {
                let gain = (cost - c) / cost.max(1e-300);
                (parameters, normal, right, cost) = (next, n, r, c);
                damping = (damping * 0.1).max(1e-9);
                if gain < stop.gain {
                    break;
                }
            }
            _ => damping *= 10.0,
        }
        if damping > 1e6 {
            break;
        }
    }
    Some(parameters)
}
