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

impl Noise {
    /// The same for every pixel.
    pub(crate) fn flat() -> Self {
        Self {
            dark: 1.0,
            per_light: 0.0,
            least: 1.0,
        }
    }

    /// Root mean squared residuals below and above the middle of the light give the two coefficients.
    pub(crate) fn of(left: &[Residual]) -> Self {
        let middle = left.iter().map(|r| r.light).sum::<f64>() / left.len() as f64;
        let mut halves = [(0.0, 0.0, 0.0); 2];
        for r in left {
            let half = &mut halves[usize::from(r.light > middle)];
            half.0 += 1.0;
            half.1 += r.light;
            half.2 += r.residual * r.residual;
        }
        let all = ((halves[0].2 + halves[1].2) / left.len() as f64)
            .max(1e-10)
            .sqrt();
        if halves.iter().any(|h| h.0 < 8.0) {
            return Self {
                dark: all,
                per_light: 0.0,
                least: all,
            };
        }
        let [(l0, s0), (l1, s1)] = halves.map(|h| (h.1 / h.0, (h.2 / h.0).sqrt()));
        let per_light = ((s1 - s0) / (l1 - l0)).max(0.0);
        Self {
            dark: s0 - per_light * l0,
            per_light,
            least: (0.7 * s0.min(s1)).max(0.14 * all),
        }
    }

    /// The variance at a light.
    pub(crate) fn variance(&self, light: f64) -> f64 {
        (self.dark + self.per_light * light).max(self.least).powi(2)
    }
}

/// Largest distance, along rows and columns, over which residuals are compared, pixels.
const REACH: i32 = 3;

/// How alike the noise of neighbouring pixels is: paper grain under the lens's blur, demosaicing and compression
/// spread it, and an estimate from alike pixels is worse than from as many independent ones.
pub(crate) struct Alikeness {
    /// Steps to neighbours that come later in picture order, with the correlation.
    correlations: Vec<((i32, i32), f64)>,
    /// Index into the residuals by pixel place.
    grid: Grid,
}

struct Grid {
    column: i32,
    row: i32,
    columns: i32,
    rows: i32,
    slot: Vec<u32>,
}

impl Grid {
    const EMPTY: u32 = u32::MAX;

    fn of(places: &[(i32, i32)]) -> Self {
        let range = |values: &mut dyn Iterator<Item = i32>| {
            values.fold((i32::MAX, i32::MIN), |(low, high), v| (low.min(v), high.max(v)))
        };
        let (column, last_column) = range(&mut places.iter().map(|p| p.0));
        let (row, last_row) = range(&mut places.iter().map(|p| p.1));
        let (columns, rows) = (last_column - column + 1, last_row - row + 1);
        let mut slot = vec![Self::EMPTY; (columns * rows) as usize];
        for (i, p) in places.iter().enumerate() {
            slot[((p.1 - row) * columns + p.0 - column) as usize] = i as u32;
        }
        Self {
            column,
            row,
            columns,
            rows,
            slot,
        }
    }

    fn at(&self, place: (i32, i32)) -> Option<usize> {
        let (x, y) = (place.0 - self.column, place.1 - self.row);
        if x < 0 || y < 0 || x >= self.columns || y >= self.rows {
            return None;
        }
        let found = self.slot[(y * self.columns + x) as usize];
        (found != Self::EMPTY).then_some(found as usize)
    }
}

impl Alikeness {
    /// Correlations of the residuals in units of their noise.
    pub(crate) fn of(pixels: &[Pixel], left: &[Residual], noise: &Noise) -> Self {
        let places: Vec<(i32, i32)> = left.iter().map(|r| pixels[r.pixel].place).collect();
        let grid = Grid::of(&places);
        let units: Vec<f64> = left
            .iter()
            .map(|r| r.residual / noise.variance(r.light).sqrt())
            .collect();
        let power = units.iter().map(|u| u * u).sum::<f64>() / units.len() as f64;
        let correlations = later_steps()
            .map(|step| {
                let (mut sum, mut count) = (0.0, 0.0);
                for (p, u) in places.iter().zip(&units) {
                    if let Some(k) = grid.at((p.0 + step.0, p.1 + step.1)) {
                        sum += u * units[k];
                        count += 1.0;
                    }
                }
                (
                    step,
                    if count > 20.0 && power > 0.0 {
                        sum / count / power
                    } else {
                        0.0
                    },
                )
            })
            .collect();
        Self { correlations, grid }
    }

    /// Calls `pair` with the indices of each two residuals within reach and their correlation.
    pub(crate) fn for_pairs(
        &self,
        pixels: &[Pixel],
        left: &[Residual],
        mut pair: impl FnMut(usize, usize, f64),
    ) {
        for (i, r) in left.iter().enumerate() {
            let p = pixels[r.pixel].place;
            for &(step, correlation) in &self.correlations {
                if let Some(k) = self.grid.at((p.0 + step.0, p.1 + step.1)) {
                    pair(i, k, correlation);
                }
            }
        }
    }
}

fn later_steps() -> impl Iterator<Item = (i32, i32)> {
    (0..=REACH)
        .flat_map(|dy| (-REACH..=REACH).map(move |dx| (dx, dy)))
        .filter(|&(dx, dy)| dy > 0 || dx > 0)
}
