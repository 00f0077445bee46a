//! The least-squares sums of the band model over a strip, for any place of the edge.

use crate::band::{Band, FREE, GUESSED, LEVELS, Noise, Shade, add_level_priors, weights};
use crate::gaussian::quick_normal_cdf;
use crate::{Bin, Strip};
use nalgebra::{SMatrix, SVector};

/// Beyond so many standard deviations of the blur a step is over: 3e-7 of it is left, less than the table of its course tells.
/// At 4 what is left, 3e-5, moved a gap in a dark photo by 0.01 mm.
const OVER: f64 = 5.0;

/// A strip with the weights of its bins, summed so that flat parts need no look at their bins.
pub(crate) struct Weighed<'a> {
    bins: &'a [Bin],
    weights: Vec<f64>,
    /// Sums over all bins before each: weight, weight times place, times its square, weight times light, and times
    /// both light and place.
    before: Vec<[f64; 5]>,
    square: f64,
    top: f64,
}

impl<'a> Weighed<'a> {
    pub fn new(strip: &'a Strip, noise: &Noise) -> Self {
        let weights = weights(strip, noise);
        let mut before = vec![[0.0; 5]];
        let mut sum = [0.0; 5];
        let (mut square, mut top) = (0.0, 1e-3f64);
        for (bin, &weight) in strip.bins.iter().zip(&weights) {
            let (at, light) = (weight * bin.across, weight * bin.value);
            let more = [weight, at, at * bin.across, light, light * bin.across];
            sum.iter_mut().zip(more).for_each(|(sum, more)| *sum += more);
            before.push(sum);
            square += light * bin.value;
            top = top.max(bin.value);
        }
        Self {
            bins: &strip.bins,
            weights,
            before,
            square,
            top,
        }
    }

    /// Sums over the bins `from..to`, places counted from `origin`.
    fn flat(&self, from: usize, to: usize, origin: f64) -> [f64; 5] {
        let [w, wx, wxx, v, vx] = std::array::from_fn(|k| self.before[to][k] - self.before[from][k]);
        let squares = wxx - 2.0 * origin * wx + origin * origin * w;
        [w, wx - origin * w, squares, v, vx - origin * v]
    }
}

/// The least-squares sums of a strip for one place of the edge, before any expectation of the levels.
pub(crate) struct Sums {
    pub normal: SMatrix<f64, LEVELS, LEVELS>,
    pub right: SVector<f64, LEVELS>,
    pub square: f64,
    pub top: f64,
}

impl Sums {
    pub fn at(strip: &Weighed, place: f64, band: &Band) -> Self {
        let (a, b) = (place + band.width.min(0.0), place + band.width.max(0.0));
        let far = OVER * band.blur;
        let from = strip.bins.partition_point(|bin| bin.across < a - far);
        let to = strip.bins.partition_point(|bin| bin.across < b + far);
        let mut sums = Self {
            normal: SMatrix::zeros(),
            right: SVector::zeros(),
            square: strip.square,
            top: strip.top,
        };
        sums.add_bins(strip, from..to, (a, b), 1.0 / band.blur);
        sums.add_flat(strip.flat(0, from, a), 0);
        sums.add_flat(strip.flat(to, strip.bins.len(), b), 2);
        sums
    }

    /// Adds bins one by one.
    fn add_bins(
        &mut self,
        strip: &Weighed,
        range: std::ops::Range<usize>,
        (a, b): (f64, f64),
        per_blur: f64,
    ) {
        let mut sums = [0.0; LEVELS * (LEVELS + 1) / 2];
        let mut right = [0.0; LEVELS];
        for (bin, &weight) in strip.bins[range.clone()].iter().zip(&strip.weights[range]) {
            let (da, db) = (bin.across - a, bin.across - b);
            let (fa, fb) = (quick_normal_cdf(da * per_blur), quick_normal_cdf(db * per_blur));
            let row = [1.0 - fa, fa - fb, fb, da * (1.0 - fa), db * fb];
            let mut k = 0;
            for i in 0..LEVELS {
                let weighted = weight * row[i];
                right[i] += weighted * bin.value;
                for value in &row[i..] {
                    sums[k] += weighted * value;
                    k += 1;
                }
            }
        }
        let mut k = 0;
        for i in 0..LEVELS {
            for j in i..LEVELS {
                self.normal[(i, j)] = sums[k];
                self.normal[(j, i)] = sums[k];
                k += 1;
            }
        }
        self.right = right.into();
    }

    /// Adds bins that show one level with its slope only: 0 before the band, 2 beyond it.
    fn add_flat(&mut self, [w, wx, wxx, v, vx]: [f64; 5], level: usize) {
        let slope = if level == 0 { 3 } else { 4 };
        self.normal[(level, level)] += w;
        self.normal[(level, slope)] += wx;
        self.normal[(slope, level)] += wx;
        self.normal[(slope, slope)] += wxx;
        self.right[level] += v;
        self.right[slope] += vx;
    }

    /// Chi-squared with every level at its best.
    pub fn cost(&self, shade: Option<Shade>) -> Option<f64> {
        let mut normal = self.normal;
        let guessed = if shade.is_some() { FREE } else { GUESSED };
        add_level_priors(&mut normal, self.top, guessed, shade);
        let levels = normal.cholesky()?.solve(&self.right);
        Some((self.square - levels.dot(&self.right)).max(0.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the flat parts say at once is what their bins say one by one.
    #[test]
    fn flat_parts_say_what_their_bins_say() {
        let strip = Strip {
            bins: (0..60)
                .map(|i| {
                    let across = f64::from(i) * 0.25 - 7.4;
                    Bin {
                        across,
                        value: 0.2 + 0.4 / (1.0 + (-2.0 * across).exp()) + 0.02 * (across * 3.0).sin(),
                        count: 5.0,
                        variance: 1e-5,
                    }
                })
                .collect(),
        };
        let weighed = Weighed::new(&strip, &Noise::measure(&strip, 2.5).unwrap());
        for (place, width) in [(0.3, 1.4), (-4.0, 0.2), (4.0, -2.0)] {
            let band = Band {
                width,
                blur: 0.8,
                shade: None,
            };
            let quick = Sums::at(&weighed, place, &band);
            let (a, b) = (place + width.min(0.0), place + width.max(0.0));
            let mut slow = Sums::at(&weighed, place, &band);
            slow.add_bins(&weighed, 0..strip.bins.len(), (a, b), 1.0 / band.blur);
            let size = slow.normal.amax();
            assert!((quick.normal - slow.normal).amax() < 1e-4 * size);
            assert!((quick.right - slow.right).amax() < 1e-4 * slow.right.amax());
            let costs = [quick, slow].map(|sums| sums.cost(None).unwrap());
            assert!(
                (costs[0] - costs[1]).abs() < 1e-3 * costs[1].max(1.0),
                "{costs:?}"
            );
        }
    }
}
