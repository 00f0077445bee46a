//! What the residuals of a fit tell about the noise of the pixels.

use crate::fit::Pixel;

/// What is left over at a pixel.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Residual {
    /// Index of the pixel in the fit.
    pub(crate) pixel: usize,
    /// The model's linear light.
    pub(crate) light: f64,
    /// Seen minus model.
    pub(crate) residual: f64,
}

/// Standard deviation of a pixel as a straight function of light: paper grain grows with the light, photon
/// noise with its root, and between the black and the white of one target a straight line serves both.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Noise {
    dark: f64,
    per_light: f64,
    least: f64,
}

/// Least noise as a share of the fit's, and in linear light (half a step of eight bits in the shadows).
const LEAST_SHARE: f64 = 0.08;
const LEAST_SIGMA: f64 = 2e-4;
/// Rounds of the line through the residuals' sizes.
const LINE_ROUNDS: usize = 4;

impl Noise {
    /// A straight line through the sizes of the residuals over the light, weighted by the line before; then
    /// scaled so that the squares average to the variance.
    pub(crate) fn of(left: &[Residual]) -> Self {
        let rms = (left.iter().map(|r| r.residual * r.residual).sum::<f64>() / left.len() as f64).sqrt();
        let mut line = Self {
            dark: rms,
            per_light: 0.0,
            least: (LEAST_SHARE * rms).max(LEAST_SIGMA),
        };
        for _ in 0..LINE_ROUNDS {
            let (mut n, mut l, mut ll, mut s, mut sl) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for r in left {
                let weight = 1.0 / line.variance(r.light);
                let size = r.residual.abs();
                n += weight;
                l += weight * r.light;
                ll += weight * r.light * r.light;
                s += weight * size;
                sl += weight * size * r.light;
            }
            let spread = n * ll - l * l;
            let slope = if spread > 1e-9 * n * ll {
                ((n * sl - l * s) / spread).max(0.0)
            } else {
                0.0
            };
            line.per_light = slope;
            line.dark = (s - slope * l) / n;
        }
        let scale = left
            .iter()
            .map(|r| r.residual * r.residual / line.variance(r.light))
            .sum::<f64>();
        let scale = (scale / left.len() as f64).sqrt();
        Self {
            dark: scale * line.dark,
            per_light: scale * line.per_light,
            least: line.least,
        }
    }

    /// The variance at a light.
    pub(crate) fn variance(&self, light: f64) -> f64 {
        self.sigma(light).powi(2)
    }

    /// The standard deviation at a light.
    pub(crate) fn sigma(&self, light: f64) -> f64 {
        (self.dark + self.per_light * light).max(self.least)
    }
}

/// Largest distance, along rows and columns, over which residuals are compared, pixels.
const REACH: i32 = 3;

/// Correlations below this many of their own standard deviations are taken for chance.
const SIGNIFICANT: f64 = 2.0;

/// Most of the noise's power that a fit is taken to have absorbed.
const MOST_ABSORBED: f64 = 0.3;

/// How alike the noise of neighbouring pixels is: paper grain under the lens's blur, demosaicing and compression
/// spread it, and an estimate from alike pixels is worse than from as many independent ones.
pub(crate) struct Alikeness {
    /// How much further on in the grid a neighbour lies that comes later in picture order, with the correlation; only
    /// those that are correlated.
    correlations: Vec<(usize, f64)>,
    /// Share of the noise's power that the fit took up.
    pub(crate) absorbed: f64,
    grid: Grid,
}

/// Index into the residuals by pixel place, with room for neighbours all around.
struct Grid {
    columns: usize,
    /// Of each place.
    slot: Vec<u32>,
    /// Of each residual.
    place: Vec<usize>,
}

impl Grid {
    const EMPTY: u32 = u32::MAX;

    fn of(pixels: &[Pixel], left: &[Residual]) -> Self {
        let places = || left.iter().map(|r| pixels[r.pixel].place);
        let range = |values: &mut dyn Iterator<Item = i32>| {
            values.fold((i32::MAX, i32::MIN), |(low, high), v| (low.min(v), high.max(v)))
        };
        let (column, last_column) = range(&mut places().map(|p| p.0));
        let (row, last_row) = range(&mut places().map(|p| p.1));
        let columns = (last_column - column + 1 + 2 * REACH) as usize;
        let rows = (last_row - row + 1 + REACH) as usize;
        let place: Vec<usize> = places()
            .map(|p| (p.1 - row) as usize * columns + (p.0 - column + REACH) as usize)
            .collect();
        let mut slot = vec![Self::EMPTY; columns * rows];
        for (i, &at) in place.iter().enumerate() {
            slot[at] = i as u32;
        }
        Self { columns, slot, place }
    }

    fn at(&self, place: usize) -> Option<usize> {
        let found = self.slot[place];
        (found != Self::EMPTY).then_some(found as usize)
    }
}

impl Alikeness {
    /// Correlations of the residuals in units of their noise, after a fit of so many parameters.
    ///
    /// The fit takes up a share of the noise's power: for independent pixels parameters over pixels, for alike
    /// ones, whose noise is as smooth as the model's own shapes, as many times more as they are alike. The same
    /// amount is missing in the products of neighbours, and both are put back.
    pub(crate) fn of(pixels: &[Pixel], left: &[Residual], noise: &Noise, parameters: usize) -> Self {
        let grid = Grid::of(pixels, left);
        let units: Vec<f64> = left.iter().map(|r| r.residual / noise.sigma(r.light)).collect();
        let power = units.iter().map(|u| u * u).sum::<f64>() / units.len() as f64;
        // Empty places hold zero and count nothing.
        let mut filled = vec![(0.0, 0.0); grid.slot.len()];
        for (&at, &unit) in grid.place.iter().zip(&units) {
            filled[at] = (unit, 1.0);
        }
        let mut correlations = Vec::new();
        for (dx, dy) in later_steps() {
            let further = (dy * grid.columns as i32 + dx) as usize;
            let (mut sum, mut count) = (0.0, 0.0);
            for (&at, unit) in grid.place.iter().zip(&units) {
                let (other, one) = filled[at + further];
                sum += unit * other;
                count += one;
            }
            let correlation = if power > 0.0 && count > 0.0 {
                sum / count / power
            } else {
                0.0
            };
            if correlation.abs() > SIGNIFICANT / f64::max(count, 1.0).sqrt() {
                correlations.push((further, correlation));
            }
        }
        let alike = (1.0 + 2.0 * correlations.iter().map(|s| s.1).sum::<f64>()).max(1.0);
        let absorbed = (parameters as f64 * alike / left.len() as f64).min(MOST_ABSORBED);
        for (_, correlation) in &mut correlations {
            *correlation += absorbed * (1.0 - *correlation);
        }
        Self {
            correlations,
            absorbed,
            grid,
        }
    }

    /// The residuals near one of them that come later in picture order, with their correlation.
    pub(crate) fn later_neighbours(&self, residual: usize) -> impl Iterator<Item = (usize, f64)> {
        let place = self.grid.place[residual];
        let near = self.correlations.iter();
        near.filter_map(move |&(further, correlation)| Some((self.grid.at(place + further)?, correlation)))
    }
}

fn later_steps() -> impl Iterator<Item = (i32, i32)> {
    (0..=REACH)
        .flat_map(|dy| (-REACH..=REACH).map(move |dx| (dx, dy)))
        .filter(|&(dx, dy)| dy > 0 || dx > 0)
}
