//! Least squares of a light model through pixels, with the noise estimated from what is left over.

use crate::noise::{Alikeness, Noise, Residual};
use nalgebra::{SMatrix, SVector};
use shimwright_geom::linear_light;

/// Pixels that are worked on at once.
pub(crate) const BLOCK: usize = 64;

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

/// The lights below and above which a sixth of the pixels lie: where a fit of ink on paper starts. `None` without pixels.
pub(crate) fn dark_and_bright(pixels: &[Pixel]) -> Option<(f64, f64)> {
    if pixels.is_empty() {
        return None;
    }
    let mut lights: Vec<f64> = pixels.iter().map(|p| p.light).collect();
    let count = lights.len();
    let dark = *lights.select_nth_unstable_by(count / 6, f64::total_cmp).1;
    let bright = *lights.select_nth_unstable_by(count * 5 / 6, f64::total_cmp).1;
    Some((dark, bright))
}

/// Places of a block of pixels.
pub(crate) struct Places {
    pub(crate) x: [f64; BLOCK],
    pub(crate) y: [f64; BLOCK],
}

/// A model's light at a block of places, and its derivatives by each parameter: seven digits of these are enough,
/// because they only tell where to go.
pub(crate) struct Lights<const N: usize> {
    pub(crate) light: [f64; BLOCK],
    pub(crate) slopes: [[f32; BLOCK]; N],
}

/// A model of light with `N` parameters.
pub(crate) trait LightModel<const N: usize> {
    /// What does not change from pixel to pixel.
    type Prepared;

    /// Works out what all pixels share.
    fn prepare(&self, parameters: &SVector<f64, N>) -> Self::Prepared;

    /// The light at places and its derivatives by the parameters.
    fn lights(&self, prepared: &Self::Prepared, places: &Places, out: &mut Lights<N>);

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

/// When to stop: after so many rounds, or when the next step would lower the cost by less than this many mean squares
/// of a pixel, in other words move the parameters by less than the root of it in standard deviations.
struct Stop {
    rounds: usize,
    fall: f64,
}

const ROUGH: Stop = Stop {
    rounds: 12,
    fall: 1.0,
};
const FINE: Stop = Stop {
    rounds: 12,
    fall: 1e-5,
};
/// How often the noise is learnt anew when it turns out to be another than the fit believed, and by what factor.
const NOISE_ROUNDS: usize = 3;
const NOISE_RATIO: f64 = 1.2;

/// A start for [`fit`] from a third of the pixels, all taken for equally noisy. `None` when they do not lead anywhere.
pub(crate) fn rough<const N: usize>(
    model: &impl LightModel<N>,
    pixels: &[Pixel],
    start: &SVector<f64, N>,
) -> Option<SVector<f64, N>> {
    // Every third along rows, columns and one diagonal.
    let third = |p: &&Pixel| (p.place.0 + 2 * p.place.1) % 3 == 0;
    let few: Vec<Pixel> = pixels.iter().filter(third).copied().collect();
    let few = if few.len() < 6 * N { pixels } else { &few };
    if few.len() < fewest::<N>() {
        return None;
    }
    let here = Evaluated::of(model, few, start);
    Some(descend(model, few, (*start, here), &vec![1.0; few.len()], &ROUGH)?.0)
}

/// A start for [`fit`] from all pixels, all taken for equally noisy.
pub(crate) fn even<const N: usize>(
    model: &impl LightModel<N>,
    pixels: &[Pixel],
    start: &SVector<f64, N>,
) -> Option<SVector<f64, N>> {
    if pixels.len() < fewest::<N>() {
        return None;
    }
    let here = Evaluated::of(model, pixels, start);
    Some(descend(model, pixels, (*start, here), &vec![1.0; pixels.len()], &FINE)?.0)
}

/// Fewest pixels that a model is fitted to.
const fn fewest<const N: usize>() -> usize {
    2 * N + 10
}

/// Fits the model by damped Gauss-Newton steps from a start that is near, with the noise that the start leaves over.
/// `None` when there are too few pixels or the pixels do not fix the parameters.
pub(crate) fn fit<const N: usize, const M: usize>(
    model: &impl LightModel<N>,
    pixels: &[Pixel],
    start: SVector<f64, N>,
) -> Option<Fitted<N, M>> {
    let (mut parameters, mut evaluated) = (start, Evaluated::of(model, pixels, &start));
    let mut left = evaluated.left(pixels);
    let mut round = 1;
    loop {
        if left.len() < fewest::<N>() {
            return None;
        }
        let before = rms(&left);
        let weights = evaluated.weights(pixels, &Noise::of(&left));
        (parameters, evaluated) = descend(model, pixels, (parameters, evaluated), &weights, &FINE)?;
        left = evaluated.left(pixels);
        let after = rms(&left);
        if after * NOISE_RATIO > before || round == NOISE_ROUNDS {
            return Some(Fitted {
                parameters,
                covariance: covariance(&evaluated, pixels, &left)?,
                rms: after,
            });
        }
        round += 1;
    }
}

fn rms(left: &[Residual]) -> f64 {
    (left.iter().map(|r| r.residual * r.residual).sum::<f64>() / left.len() as f64).sqrt()
}

/// A model at all pixels.
struct Evaluated<const N: usize> {
    blocks: Vec<Lights<N>>,
}

type Normal<const N: usize> = (SMatrix<f64, N, N>, SVector<f64, N>, f64);

impl<const N: usize> Evaluated<N> {
    fn of(model: &impl LightModel<N>, pixels: &[Pixel], parameters: &SVector<f64, N>) -> Self {
        let prepared = model.prepare(parameters);
        let block = |pixels: &[Pixel]| {
            let mut places = Places {
                x: [0.0; BLOCK],
                y: [0.0; BLOCK],
            };
            for (k, p) in pixels.iter().enumerate() {
                (places.x[k], places.y[k]) = (p.x, p.y);
            }
            let mut out = Lights {
                light: [0.0; BLOCK],
                slopes: [[0.0; BLOCK]; N],
            };
            model.lights(&prepared, &places, &mut out);
            out
        };
        Self {
            blocks: pixels.chunks(BLOCK).map(block).collect(),
        }
    }

    /// What is left over at each pixel that tells something.
    fn left(&self, pixels: &[Pixel]) -> Vec<Residual> {
        let lights = self.blocks.iter().flat_map(|block| &block.light);
        let left = pixels.iter().zip(lights).enumerate();
        left.filter_map(|(pixel, (p, &light))| {
            p.residual(light).map(|residual| Residual {
                pixel,
                light,
                residual,
            })
        })
        .collect()
    }

    /// One over the noise of each pixel at the model's light.
    fn weights(&self, pixels: &[Pixel], noise: &Noise) -> Vec<f64> {
        let lights = self.blocks.iter().flat_map(|block| &block.light);
        let weights = lights.map(|&light| 1.0 / noise.sigma(light));
        weights.take(pixels.len()).collect()
    }

    /// Normal matrix, right side and cost, with each pixel times its weight.
    fn weighed(&self, pixels: &[Pixel], weights: &[f64]) -> Normal<N> {
        let mut normal = SMatrix::<f64, N, N>::zeros();
        let mut right = SVector::<f64, N>::zeros();
        let mut cost = 0.0;
        let pixels = pixels.chunks(BLOCK).zip(weights.chunks(BLOCK));
        for (block, (pixels, weights)) in self.blocks.iter().zip(pixels) {
            let mut per_sigma = [0.0_f32; BLOCK];
            let mut misses = [0.0_f32; BLOCK];
            for (k, (p, weight)) in pixels.iter().zip(weights).enumerate() {
                if let Some(residual) = p.residual(block.light[k]) {
                    let miss = weight * residual;
                    cost += miss * miss;
                    (per_sigma[k], misses[k]) = (*weight as f32, miss as f32);
                }
            }
            let mut slopes = block.slopes;
            for row in &mut slopes {
                for (slope, weight) in row.iter_mut().zip(&per_sigma) {
                    *slope *= weight;
                }
            }
            add_products(&slopes, &misses, &mut normal, &mut right);
        }
        normal.fill_upper_triangle_with_lower_triangle();
        (normal, right, cost)
    }

    fn slopes_at(&self, pixel: usize) -> SVector<f64, N> {
        let slopes = &self.blocks[pixel / BLOCK].slopes;
        SVector::from_fn(|k, _| f64::from(slopes[k][pixel % BLOCK]))
    }
}

/// Adds a block of pixels to the lower triangle of the normal matrix and to the right side.
fn add_products<const N: usize>(
    slopes: &[[f32; BLOCK]; N],
    misses: &[f32; BLOCK],
    normal: &mut SMatrix<f64, N, N>,
    right: &mut SVector<f64, N>,
) {
    for (i, row) in slopes.iter().enumerate() {
        right[i] += dot(row, misses);
        for (j, other) in slopes[..=i].iter().enumerate() {
            normal[(i, j)] += dot(row, other);
        }
    }
}

#[inline]
fn dot(a: &[f32; BLOCK], b: &[f32; BLOCK]) -> f64 {
    const LANES: usize = 8;
    let mut sums = [0.0_f32; LANES];
    let ((a, _), (b, _)) = (a.as_chunks::<LANES>(), b.as_chunks::<LANES>());
    for (a, b) in a.iter().zip(b) {
        for k in 0..LANES {
            sums[k] += a[k] * b[k];
        }
    }
    let [s, t] = [0, 4].map(|k| [sums[k], sums[k + 1], sums[k + 2], sums[k + 3]]);
    let four = [s[0] + t[0], s[1] + t[1], s[2] + t[2], s[3] + t[3]];
    f64::from((four[0] + four[2]) + (four[1] + four[3]))
}

/// Covariance of the first `M` parameters. A parameter is a weighted sum of the pixels; the covariance is that of
/// the sums, with the variance of each pixel and the correlation of each two near each other.
fn covariance<const N: usize, const M: usize>(
    evaluated: &Evaluated<N>,
    pixels: &[Pixel],
    left: &[Residual],
) -> Option<SMatrix<f64, M, M>> {
    let noise = Noise::of(left);
    let (normal, ..) = evaluated.weighed(pixels, &evaluated.weights(pixels, &noise));
    let inverse = normal.try_inverse()?;
    let rows = inverse.fixed_rows::<M>(0);
    let effects: Vec<SVector<f64, M>> = left
        .iter()
        .map(|r| rows * evaluated.slopes_at(r.pixel) / noise.sigma(r.light))
        .collect();
    let mut alone = SMatrix::<f64, M, M>::zeros();
    for e in &effects {
        alone += e * e.transpose();
    }
    let alikeness = Alikeness::of(pixels, left, &noise, N);
    let mut together = SMatrix::<f64, M, M>::zeros();
    for (i, e) in effects.iter().enumerate() {
        let mut others = SVector::<f64, M>::zeros();
        for (k, correlation) in alikeness.later_neighbours(i) {
            others += effects[k] * correlation;
        }
        together += e * others.transpose();
    }
    let sum = alone + together + together.transpose();
    let covariance = if sum.trace() > alone.trace() { sum } else { alone };
    Some(covariance / (1.0 - alikeness.absorbed))
}

/// Levenberg-Marquardt with the damping on the diagonal, from parameters and the model at them. Weights stand still, so that
/// what is lowered is one sum of squares and steps come to rest. Gives the parameters and the model at them, or no further from
/// them than the last step, which was too small to matter.
fn descend<const N: usize>(
    model: &impl LightModel<N>,
    pixels: &[Pixel],
    start: (SVector<f64, N>, Evaluated<N>),
    weights: &[f64],
    stop: &Stop,
) -> Option<(SVector<f64, N>, Evaluated<N>)> {
    let (mut parameters, mut here) = start;
    let mut damping = 1e-3;
    let (mut normal, mut right, mut cost) = here.weighed(pixels, weights);
    for _ in 0..stop.rounds {
        let mut damped = normal;
        for i in 0..N {
            damped[(i, i)] += damping * normal[(i, i)] + 1e-12;
        }
        let step = damped.cholesky()?.solve(&right);
        let next = parameters + step;
        let admitted = model.admits(&next);
        if admitted && step.dot(&right) < stop.fall * cost / pixels.len() as f64 {
            return Some((next, here));
        }
        let there = admitted.then(|| {
            let there = Evaluated::of(model, pixels, &next);
            let sums = there.weighed(pixels, weights);
            (there, sums)
        });
        match there {
            Some((there, (n, r, c))) if c <= cost => {
                (parameters, here, normal, right, cost) = (next, there, n, r, c);
                damping = (damping * 0.1).max(1e-9);
            }
            _ => damping *= 10.0,
        }
        if damping > 1e6 {
            break;
        }
    }
    Some((parameters, here))
}
