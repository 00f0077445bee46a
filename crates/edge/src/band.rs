//! The band model of a chamfered edge.
//!
//! Across the edge the light is L before the first line, C on the chamfer, R beyond the second, each step blurred by
//! a Gaussian, L and R with a slope for uneven light:
//! `I(d) = (L + l (d-a)) (1-F((d-a)/s)) + C (F((d-a)/s) - F((d-b)/s)) + (R + r (d-b)) F((d-b)/s)`
//! with `a`, `b` the two lines `band` px apart, `F` the normal distribution function, `s` the blur. All levels are
//! linear, so only the place of the edge (and the blur) is searched.

use crate::Strip;
use crate::sums::{Sums, Weighed};
use nalgebra::{SMatrix, SVector};

/// Noise of a strip: how the variance of a pixel grows with its light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Noise {
    dark: (f64, f64),
    bright: (f64, f64),
}

impl Noise {
    /// Measures the noise of a strip from its two flat ends, `keep` px long each: the scatter there holds sensor
    /// noise, quantisation and the grain of the surface. `None` when an end has too few pixels.
    pub fn measure(strip: &Strip, keep: f64) -> Option<Self> {
        let first = strip.bins.first()?.across;
        let last = strip.bins.last()?.across;
        let end = |inside: &dyn Fn(f64) -> bool| {
            let (mut count, mut value, mut spread) = (0.0, 0.0, 0.0);
            for bin in strip
                .bins
                .iter()
                .filter(|b| inside(b.across) && b.variance.is_finite())
            {
                count += bin.count;
                value += bin.count * bin.value;
                spread += bin.count * bin.variance * bin.count / (bin.count - 1.0).max(1.0);
            }
            (count >= 8.0).then(|| (value / count, spread / count))
        };
        let a = end(&|d| d < first + keep)?;
        let b = end(&|d| d > last - keep)?;
        let floor = |(value, variance): (f64, f64)| (value, variance.max(quantisation(value)));
        let (a, b) = (floor(a), floor(b));
        Some(if a.0 < b.0 {
            Self { dark: a, bright: b }
        } else {
            Self { dark: b, bright: a }
        })
    }

    /// Variance of one pixel with a given light.
    pub fn variance(&self, value: f64) -> f64 {
        let span = self.bright.0 - self.dark.0;
        let share = if span > 1e-9 {
            ((value - self.dark.0) / span).clamp(0.0, 1.5)
        } else {
            0.5
        };
        // The standard deviation, not the variance, goes straight with the light: grain is multiplicative.
        let (low, high) = (self.dark.1.sqrt(), self.bright.1.sqrt());
        let own = (low + (high - low) * share).powi(2);
        // The power is worth working out only where it can matter: it is below the light itself.
        if own >= ROUNDING * value.max(1e-4) {
            return own;
        }
        own.max(quantisation(value))
    }
}

/// Variance of rounding one encoded step (1/12 of it, and as much again for noise below a step), in linear light.
fn quantisation(value: f64) -> f64 {
    ROUNDING * value.max(1e-4).powf(2.4 / 2.2)
}

/// The same in full light: slope of the sRGB curve, where linear = encoded^2.2 nearly.
const ROUNDING: f64 = (2.2 / 255.0) * (2.2 / 255.0) / 6.0;

/// Cost of placing the edge at each of a row of places: chi-squared with every level at its best.
#[derive(Clone, Debug)]
pub struct BandCost {
    /// First place, px across.
    pub first: f64,
    /// Distance between places, px.
    pub step: f64,
    /// Chi-squared at each place.
    pub cost: Vec<f64>,
    /// Degrees of freedom.
    pub freedom: f64,
}

impl BandCost {
    /// Index of the least cost.
    pub fn best(&self) -> usize {
        (0..self.cost.len())
            .min_by(|&i, &j| self.cost[i].total_cmp(&self.cost[j]))
            .unwrap_or(0)
    }

    /// The cost nearest to a place.
    pub fn near(&self, place: f64) -> f64 {
        let i = ((place - self.first) / self.step)
            .round()
            .clamp(0.0, (self.cost.len() - 1) as f64);
        self.cost[i as usize]
    }

    /// The place and the curvature (second derivative of cost) of the minimum nearest to `near` in the sense of
    /// least `cost + ((place - near) / leash)^2`. `None` when that minimum lies on the border of the row.
    pub fn minimum(&self, near: f64, leash: f64, scale: f64) -> Option<(f64, f64)> {
        let pulled = |i: usize| {
            let away = (self.first + self.step * i as f64 - near) / leash;
            self.cost[i] / scale + away * away
        };
        let i = (0..self.cost.len()).min_by(|&i, &j| pulled(i).total_cmp(&pulled(j)))?;
        if i == 0 || i + 1 >= self.cost.len() {
            return None;
        }
        let (a, b, c) = (self.cost[i - 1], self.cost[i], self.cost[i + 1]);
        let curvature = (a - 2.0 * b + c) / (self.step * self.step);
        if curvature <= 0.0 {
            return None;
        }
        let slope = (c - a) / (2.0 * self.step);
        let place = self.first + self.step * i as f64 - (slope / curvature).clamp(-self.step, self.step);
        Some((place, curvature))
    }
}

/// Number of linear levels: L, C, R and the two slopes.
pub(crate) const LEVELS: usize = 5;

/// What is expected of the chamfer's light: a share of that of one of its neighbours.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shade {
    /// Whether the share is of the light beyond the band (positive side) and not of that before it.
    pub of_beyond: bool,
    /// The share.
    pub share: f64,
    /// Its standard deviation.
    pub sigma: f64,
}

/// The shape of the band that is fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Distance from the first line to the second, px, signed along `side`.
    pub width: f64,
    /// Blur: standard deviation of the Gaussian, px.
    pub blur: f64,
    /// What is expected of the light between the lines.
    pub shade: Option<Shade>,
}

/// Standard deviation of the slope of the light beside an edge, a pixel, as a share of the brightest light near it.
const SLOPE: f64 = 0.05;

/// How far a chamfer's light is taken to lie from the mean of its neighbours (standard deviation), as a share of the
/// brightest light near it, where a piece has to do with its own pixels.
pub(crate) const GUESSED: f64 = 0.5;
/// The same where all pieces of an edge tell together how bright its chamfer is: a guess that each of them brought along would
/// count as often as there are pieces, and draw the edge. It only keeps the levels determined.
pub(crate) const FREE: f64 = 2.0;

/// Weak knowledge of the levels: the chamfer lies near the mean of its neighbours, give or take `guessed` of the
/// brightest light near it; the light beside it changes little from pixel to pixel. All have an expectation of zero, so
/// only the normal matrix takes part.
pub(crate) fn add_level_priors(
    normal: &mut SMatrix<f64, LEVELS, LEVELS>,
    top: f64,
    guessed: f64,
    shade: Option<Shade>,
) {
    let chamfer = SVector::<f64, LEVELS>::from([-0.5, 1.0, -0.5, 0.0, 0.0]);
    *normal += chamfer * chamfer.transpose() / (guessed * top).powi(2);
    if let Some(shade) = shade {
        // The first level lies before the lower of the two lines, whichever that is along `side`.
        let (before, beyond) = if shade.of_beyond {
            (0.0, -shade.share)
        } else {
            (-shade.share, 0.0)
        };
        let row = SVector::<f64, LEVELS>::from([before, 1.0, beyond, 0.0, 0.0]);
        *normal += row * row.transpose() / (shade.sigma * top).powi(2);
    }
    for slope in [3, 4] {
        normal[(slope, slope)] += 1.0 / (SLOPE * top).powi(2);
    }
    for level in 0..LEVELS {
        normal[(level, level)] += 1e-9 / (top * top);
    }
}

/// Share of the strip's range of light by which the model itself may be wrong: a lens does not blur quite like a
/// Gaussian, and without this the quiet dark side would decide by the tail of the blur.
const MODEL_ERROR: f64 = 0.015;

pub(crate) fn weights(strip: &Strip, noise: &Noise) -> Vec<f64> {
    let (low, high) = strip
        .bins
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), b| {
            (l.min(b.value), h.max(b.value))
        });
    let model = (MODEL_ERROR * (high - low)).powi(2);
    strip
        .bins
        .iter()
        .map(|bin| 1.0 / (noise.variance(bin.value) / bin.count + model))
        .collect()
}

/// Blurs tried beside the expected one, as factors, each with its cost: the blur of an edge differs a little from
/// that of its neighbours.
const BLURS: [(f64, f64); 5] = [(0.8, 2.2), (0.9, 0.5), (1.0, 0.0), (1.15, 0.9), (1.4, 5.0)];

/// As [`fit_band`], with the blur free to differ a little from the expected one.
pub fn fit_band_near_blur(
    strip: &Strip,
    noise: &Noise,
    band: &Band,
    reach: f64,
    step: f64,
) -> Option<BandCost> {
    let mut best: Option<BandCost> = None;
    for (factor, extra) in BLURS {
        let shape = Band {
            blur: band.blur * factor,
            ..*band
        };
        let mut cost = fit_band(strip, noise, &shape, reach, step)?;
        cost.cost.iter_mut().for_each(|c| *c += extra);
        match &mut best {
            None => best = Some(cost),
            Some(best) => best
                .cost
                .iter_mut()
                .zip(&cost.cost)
                .for_each(|(a, b)| *a = a.min(*b)),
        }
    }
    best
}

/// Costs of placing the edge from `-reach` to `reach` px across, `step` apart.
pub fn fit_band(strip: &Strip, noise: &Noise, band: &Band, reach: f64, step: f64) -> Option<BandCost> {
    fit_band_shades(strip, noise, band, &[band.shade], reach, step)?.pop()
}

/// As [`fit_band`], under each of several expectations of the chamfer's light in place of the band's own.
pub fn fit_band_shades(
    strip: &Strip,
    noise: &Noise,
    band: &Band,
    shades: &[Option<Shade>],
    reach: f64,
    step: f64,
) -> Option<Vec<BandCost>> {
    let weighed = Weighed::new(strip, noise);
    let count = (2.0 * reach / step).round() as usize + 1;
    let freedom = (strip.bins.len() as f64 - 6.0).max(1.0);
    let empty = BandCost {
        first: -reach,
        step,
        cost: Vec::with_capacity(count),
        freedom,
    };
    let mut costs = vec![empty; shades.len()];
    for i in 0..count {
        let sums = Sums::at(&weighed, -reach + step * i as f64, band);
        for (cost, shade) in costs.iter_mut().zip(shades) {
            cost.cost.push(sums.cost(*shade)?);
        }
    }
    Some(costs)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{EdgeGuess, normal_cdf};
    use shimwright_geom::{GreyPicture, Vec2};

    /// A picture of a chamfered edge in linear light: first line at `place` px across `side` from the middle of the
    /// picture, second `width` further, blurred by a Gaussian, with even noise, in sRGB bytes.
    fn picture(side: Vec2, place: f64, width: f64, blur: f64, levels: [f64; 3], seed: u64) -> GreyPicture {
        let size = 80;
        let mut state = seed | 1;
        let mut random = move || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1u64 << 53) as f64 - 0.5
        };
        let data = (0..size * size)
            .map(|i| {
                let p = Vec2::new((i % size) as f64 - 40.0, (i / size) as f64 - 40.0);
                let d = p.dot(&side) - place;
                let (a, b) = (normal_cdf(d / blur), normal_cdf((d - width) / blur));
                let light = levels[0] * (1.0 - a) + levels[1] * (a - b) + levels[2] * b;
                let light = (light + 0.006 * random()).clamp(0.0, 1.0);
                let encoded = if light <= 0.003_130_8 {
                    12.92 * light
                } else {
                    1.055 * light.powf(1.0 / 2.4) - 0.055
                };
                (encoded * 255.0).round() as u8
            })
            .collect();
        GreyPicture::new(size, size, data).unwrap()
    }

    fn found(side: Vec2, place: f64, width: f64, levels: [f64; 3], seed: u64) -> f64 {
        let picture = picture(side, place, width, 0.8, levels, seed);
        let guess = EdgeGuess {
            at: Vec2::new(40.0, 40.0),
            side,
            curvature: 0.0,
            length: 40.0,
        };
        let strip = Strip::collect(&picture, &guess, -6.0, 7.0).unwrap();
        let noise = Noise::measure(&strip, 2.5).unwrap();
        let cost = fit_band(
            &strip,
            &noise,
            &Band {
                width,
                blur: 0.8,
                shade: None,
            },
            1.5,
            0.125,
        )
        .unwrap();
        cost.minimum(0.0, 10.0, 1.0).unwrap().0
    }

    /// Every sub-pixel place of the first line, chamfer darker than, between and brighter than its neighbours: the
    /// bias stays under 0.02 px, where one step fitted to the same edge would be off by up to the band's width.
    #[test]
    fn the_first_line_is_found_whatever_the_chamfer_shows() {
        let side = Vec2::new(0.96, 0.28);
        for levels in [
            [0.4, 0.15, 0.02],
            [0.4, 0.3, 0.02],
            [0.1, 0.25, 0.6],
            [0.5, 0.05, 0.45],
        ] {
            let errors: Vec<f64> = (0..20)
                .map(|k| {
                    let place = f64::from(k) * 0.05 - 0.5;
                    found(side, place, 1.4, levels, 77 + k as u64) - place
                })
                .collect();
            let bias = errors.iter().sum::<f64>() / errors.len() as f64;
            let worst = errors.iter().fold(0.0f64, |w, e| w.max(e.abs()));
            assert!(
                bias.abs() < 0.02 && worst < 0.08,
                "{levels:?}: bias {bias:+.3}, worst {worst:.3} px"
            );
        }
    }
}
