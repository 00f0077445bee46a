//! Least squares of a light model through pixels, with the noise estimated from what is left over.

use nalgebra::{SMatrix, SVector};

/// A pixel, its place relative to the fit's own origin, and its linear light.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pixel {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) light: f64,
}

/// A model of light with `N` parameters.
pub(crate) trait LightModel<const N: usize> {
    /// The light at a place and its derivatives by the parameters.
    fn light(&self, x: f64, y: f64, parameters: &SVector<f64, N>) -> (f64, SVector<f64, N>);

    /// True while the parameters make sense; steps that leave the region are shortened.
    fn admits(&self, parameters: &SVector<f64, N>) -> bool;
}

/// What a fit gives.
#[derive(Clone, Debug)]
pub(crate) struct Fitted<const N: usize> {
    pub(crate) parameters: SVector<f64, N>,
    /// Covariance of the parameters, from the noise of the pixels themselves; it counts how alike
    /// neighbouring residuals are.
    pub(crate) covariance: SMatrix<f64, N, N>,
    /// Root mean square of the residuals, linear light.
    pub(crate) rms: f64,
}

/// Noise variance as a straight function of light: `dark + per_light * light`, as photon noise is.
#[derive(Clone, Copy)]
struct Noise {
    dark: f64,
    per_light: f64,
    least: f64,
}

impl Noise {
    fn flat() -> Self {
        Self {
            dark: 1.0,
            per_light: 0.0,
            least: 1.0,
        }
    }

    /// Mean squared residuals below and above the middle of the light give the two coefficients.
    fn of(samples: &[(f64, f64)]) -> Self {
        let middle = samples.iter().map(|s| s.0).sum::<f64>() / samples.len() as f64;
        let mut halves = [(0.0, 0.0, 0.0); 2];
        for &(light, residual) in samples {
            let half = &mut halves[usize::from(light > middle)];
            half.0 += 1.0;
            half.1 += light;
            half.2 += residual * residual;
        }
        let all = (halves[0].2 + halves[1].2) / samples.len() as f64;
        if halves.iter().any(|h| h.0 < 8.0) {
            return Self {
                dark: all,
                per_light: 0.0,
                least: all,
            };
        }
        let (l0, v0) = (halves[0].1 / halves[0].0, halves[0].2 / halves[0].0);
        let (l1, v1) = (halves[1].1 / halves[1].0, halves[1].2 / halves[1].0);
        let per_light = ((v1 - v0) / (l1 - l0)).max(0.0);
        Self {
            dark: v0 - per_light * l0,
            per_light,
            least: (0.5 * v0.min(v1)).max(0.02 * all).max(1e-8),
        }
    }

    fn at(&self, light: f64) -> f64 {
        (self.dark + self.per_light * light).max(self.least)
    }
}

/// Fits the model by damped Gauss-Newton steps, first with equal weights, then with the noise that the first
/// fit left over. `None` when there are too few pixels or the pixels do not fix the parameters.
pub(crate) fn fit<const N: usize>(
    model: &impl LightModel<N>,
    pixels: &[Pixel],
    start: SVector<f64, N>,
) -> Option<Fitted<N>> {
    if pixels.len() < 2 * N + 10 {
        return None;
    }
    let mut noise = Noise::flat();
    let mut parameters = start;
    for rounds in [12, 6] {
        parameters = descend(model, pixels, parameters, &noise, rounds)?;
        noise = Noise::of(&residuals(model, pixels, &parameters));
    }
    let (normal, ..) = normal_equations(model, pixels, &parameters, &noise);
    let covariance = normal.try_inverse()?;
    let left = residuals(model, pixels, &parameters);
    let rms = (left.iter().map(|r| r.1 * r.1).sum::<f64>() / left.len() as f64).sqrt();
    let freedom = pixels.len() as f64 / (pixels.len() - N) as f64;
    Some(Fitted {
        parameters,
        covariance: covariance * (freedom * alikeness(pixels, &left)),
        rms,
    })
}

fn residuals<const N: usize>(
    model: &impl LightModel<N>,
    pixels: &[Pixel],
    parameters: &SVector<f64, N>,
) -> Vec<(f64, f64)> {
    pixels
        .iter()
        .map(|p| {
            let light = model.light(p.x, p.y, parameters).0;
            (light, p.light - light)
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
    for p in pixels {
        let (light, slope) = model.light(p.x, p.y, parameters);
        let weight = 1.0 / noise.at(light);
        let residual = p.light - light;
        cost += weight * residual * residual;
        for i in 0..N {
            let scaled = weight * slope[i];
            right[i] += scaled * residual;
            for j in i..N {
                normal[(j, i)] += scaled * slope[j];
            }
        }
    }
    normal.fill_upper_triangle_with_lower_triangle();
    (normal, right, cost)
}

/// Levenberg-Marquardt with the damping on the diagonal.
fn descend<const N: usize>(
    model: &impl LightModel<N>,
    pixels: &[Pixel],
    start: SVector<f64, N>,
    noise: &Noise,
    rounds: usize,
) -> Option<SVector<f64, N>> {
    let mut parameters = start;
    let mut damping = 1e-3;
    let (mut normal, mut right, mut cost) = normal_equations(model, pixels, &parameters, noise);
    for _ in 0..rounds {
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
                if gain < 1e-7 {
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

/// How much larger a mean's variance is than for independent pixels: `1 + 2 (sum of correlations)` over the
/// neighbours to the right, below and on both diagonals. Compression and demosaicing make neighbours alike.
fn alikeness(pixels: &[Pixel], left: &[(f64, f64)]) -> f64 {
    // Pixels come row by row, so that the one to the right is the next and those below lie a row ahead.
    let power: f64 = left.iter().map(|r| r.1 * r.1).sum::<f64>() / left.len() as f64;
    if power <= 0.0 {
        return 1.0;
    }
    let mut sums = [(0.0, 0.0); 4];
    let mut ahead = 0;
    for i in 0..pixels.len() {
        if let Some(next) = pixels.get(i + 1)
            && next.y == pixels[i].y
            && next.x - pixels[i].x < 1.5
        {
            sums[0].0 += left[i].1 * left[i + 1].1;
            sums[0].1 += 1.0;
        }
        while ahead < pixels.len()
            && (pixels[ahead].y < pixels[i].y + 0.5
                || (pixels[ahead].y < pixels[i].y + 1.5 && pixels[ahead].x < pixels[i].x - 1.5))
        {
            ahead += 1;
        }
        for k in ahead..(ahead + 3).min(pixels.len()) {
            let (dx, dy) = (pixels[k].x - pixels[i].x, pixels[k].y - pixels[i].y);
            if (dy - 1.0).abs() < 0.5 && dx.abs() < 1.5 {
                let slot = &mut sums[if dx < -0.5 {
                    1
                } else if dx < 0.5 {
                    2
                } else {
                    3
                }];
                slot.0 += left[i].1 * left[k].1;
                slot.1 += 1.0;
            }
        }
    }
    let total: f64 = sums.iter().filter(|s| s.1 > 0.0).map(|s| s.0 / s.1 / power).sum();
    (1.0 + 2.0 * total).clamp(1.0, 9.0)
}
