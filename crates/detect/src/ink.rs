//! The model of a printed tag: which cells are black, and how much of their ink blur brings to a place.

use crate::fit::{BLOCK, LightModel, Lights, Places};
use crate::step::{Step, step};
use nalgebra::SVector;
use shimwright_geom::Vec2;
use shimwright_target::tag36h11::{self, CELLS};

// Parameters in order: the eight entries of the map from window coordinates to cells, growth of black in cells,
// logarithms of the blur along the rows and along the columns in cells; then the light of white and of black,
// each with its two slopes.
pub(crate) const COUNT: usize = 17;
pub(crate) const GROWTH: usize = 8;
pub(crate) const BLUR: usize = 9;
pub(crate) const WHITE: usize = 11;
pub(crate) const BLACK: usize = 14;

/// Which cells are black, with a border of the white around them.
pub(crate) struct Pattern([[bool; CELLS + 2]; CELLS + 2]);

impl Pattern {
    pub(crate) fn of(id: u32) -> Option<Self> {
        let mut black = [[false; CELLS + 2]; CELLS + 2];
        for (row, cells) in black[1..].iter_mut().zip(tag36h11::cells(id)?) {
            for (black, white) in row[1..].iter_mut().zip(cells) {
                *black = !white;
            }
        }
        Some(Self(black))
    }

    #[inline]
    fn black(&self, i: i32, j: i32) -> bool {
        let index = |k: i32| (k.clamp(-1, CELLS as i32) + 1) as usize;
        self.0[index(j)][index(i)]
    }

    /// True when a border between black and white lies within `reach` cells (along rows and columns).
    pub(crate) fn has_border_near(&self, u: f64, v: f64, reach: &Vec2) -> bool {
        let (i0, i1) = ((u - reach.x).floor() as i32, (u + reach.x).floor() as i32);
        let (j0, j1) = ((v - reach.y).floor() as i32, (v + reach.y).floor() as i32);
        let first = self.black(i0, j0);
        (j0..=j1).any(|j| (i0..=i1).any(|i| self.black(i, j) != first))
    }
}

/// The model: a printed tag under blur.
pub(crate) struct Print<'a> {
    pub(crate) pattern: &'a Pattern,
}

pub(crate) struct Prepared {
    parameters: SVector<f64, COUNT>,
    per_blur: [f64; 2],
    step: Step,
}

/// How much of each cell in a row (or column) the blur brings to a place, from `first` on, and its derivatives; room for
/// `MOST` cells.
struct Shares<const MOST: usize> {
    first: i32,
    count: usize,
    share: [f64; MOST],
    by_place: [f64; MOST],
    by_blur: [f64; MOST],
    /// Density of the border before each cell, per cell of growth.
    border: [f64; MOST],
}

/// Blurs beyond which a border is not felt.
const REACH: f64 = 4.5;
/// Most cells that a blur reaches: with the largest blur admitted, all and one on each side.
const ALL_CELLS: usize = CELLS + 2;
/// As many when it reaches less than a cell, as it mostly does.
const FEW_CELLS: usize = 3;

impl<const MOST: usize> Shares<MOST> {
    #[inline]
    fn of(place: f64, per_blur: f64, step: Step) -> Self {
        let reach = REACH / per_blur;
        let first = ((place - reach).floor() as i32).clamp(-1, CELLS as i32);
        let last = ((place + reach).floor() as i32).clamp(first, CELLS as i32);
        let count = ((last - first + 1) as usize).min(MOST);
        let mut out = Self {
            first,
            count,
            share: [0.0; MOST],
            by_place: [0.0; MOST],
            by_blur: [0.0; MOST],
            border: [0.0; MOST],
        };
        // The outermost cells reach to infinity.
        let mut before = (1.0, 0.0, 0.0);
        for k in 0..count {
            let mut next = (0.0, 0.0, 0.0);
            if k + 1 < count {
                let t = (place - f64::from(first + 1 + k as i32)) * per_blur;
                let (value, slope) = step.at(t);
                next = (value, slope, slope * t);
                out.border[k + 1] = slope * per_blur;
            }
            out.share[k] = before.0 - next.0;
            out.by_place[k] = (before.1 - next.1) * per_blur;
            out.by_blur[k] = next.2 - before.2;
            before = next;
        }
        out
    }
}

impl LightModel<COUNT> for Print<'_> {
    type Prepared = Prepared;

    fn prepare(&self, p: &SVector<f64, COUNT>) -> Prepared {
        Prepared {
            parameters: *p,
            per_blur: [(-p[BLUR]).exp(), (-p[BLUR + 1]).exp()],
            step: step(),
        }
    }

    fn lights(&self, prepared: &Prepared, places: &Places, out: &mut Lights<COUNT>) {
        let p = &prepared.parameters;
        let (mut u, mut v, mut per_w) = ([0.0; BLOCK], [0.0; BLOCK], [0.0; BLOCK]);
        for k in 0..BLOCK {
            let (x, y) = (places.x[k], places.y[k]);
            per_w[k] = 1.0 / (p[6] * x + p[7] * y + 1.0);
            u[k] = (p[0] * x + p[1] * y + p[2]) * per_w[k];
            v[k] = (p[3] * x + p[4] * y + p[5]) * per_w[k];
        }
        let ink = if prepared.per_blur.iter().all(|per_blur| REACH < *per_blur) {
            self.inks::<FEW_CELLS>(prepared, &u, &v)
        } else {
            self.inks::<ALL_CELLS>(prepared, &u, &v)
        };
        for k in 0..BLOCK {
            let (x, y) = (places.x[k], places.y[k]);
            let dark = ink.dark[k] + p[GROWTH] * ink.by_growth[k];
            let white = p[WHITE] + p[WHITE + 1] * x + p[WHITE + 2] * y;
            let black = p[BLACK] + p[BLACK + 1] * x + p[BLACK + 2] * y;
            let by_dark = black - white;
            let (a, b) = (
                by_dark * per_w[k] * ink.by_place[0][k],
                by_dark * per_w[k] * ink.by_place[1][k],
            );
            let c = -(a * u[k] + b * v[k]);
            out.light[k] = white + by_dark * dark;
            let s = &mut out.slopes;
            for (i, slope) in [a * x, a * y, a, b * x, b * y, b, c * x, c * y]
                .into_iter()
                .enumerate()
            {
                s[i][k] = slope as f32;
            }
            s[GROWTH][k] = (by_dark * ink.by_growth[k]) as f32;
            s[BLUR][k] = (by_dark * ink.by_blur[0][k]) as f32;
            s[BLUR + 1][k] = (by_dark * ink.by_blur[1][k]) as f32;
            for (i, v) in [1.0, x, y].into_iter().enumerate() {
                s[WHITE + i][k] = ((1.0 - dark) * v) as f32;
                s[BLACK + i][k] = (dark * v) as f32;
            }
        }
    }

    fn admits(&self, p: &SVector<f64, COUNT>) -> bool {
        p[GROWTH].abs() < 0.4 && (0..2).all(|k| p[BLUR + k] < -0.1 && p[BLUR + k] > -5.0)
    }
}

/// The share of black at each place and its derivatives.
struct Inks {
    dark: [f64; BLOCK],
    by_place: [[f64; BLOCK]; 2],
    by_blur: [[f64; BLOCK]; 2],
    by_growth: [f64; BLOCK],
}

impl Print<'_> {
    /// At places in cells; blur reaches over `MOST` of them.
    fn inks<const MOST: usize>(&self, prepared: &Prepared, u: &[f64; BLOCK], v: &[f64; BLOCK]) -> Inks {
        let [across, down] = prepared.per_blur;
        let mut inks = Inks {
            dark: [0.0; BLOCK],
            by_place: [[0.0; BLOCK]; 2],
            by_blur: [[0.0; BLOCK]; 2],
            by_growth: [0.0; BLOCK],
        };
        for k in 0..BLOCK {
            let across = Shares::<MOST>::of(u[k], across, prepared.step);
            let down = Shares::<MOST>::of(v[k], down, prepared.step);
            self.add_ink(&across, &down, k, &mut inks);
        }
        inks
    }

    #[inline]
    fn add_ink<const MOST: usize>(
        &self,
        across: &Shares<MOST>,
        down: &Shares<MOST>,
        k: usize,
        inks: &mut Inks,
    ) {
        for b in 0..down.count {
            let j = down.first + b as i32;
            let mut row = (0.0, 0.0, 0.0);
            for a in 0..across.count {
                let i = across.first + a as i32;
                let black = self.pattern.black(i, j);
                if black {
                    row.0 += across.share[a];
                    row.1 += across.by_place[a];
                    row.2 += across.by_blur[a];
                }
                if a > 0 && black != self.pattern.black(i - 1, j) {
                    inks.by_growth[k] += across.border[a] * down.share[b];
                }
                if b > 0 && black != self.pattern.black(i, j - 1) {
                    inks.by_growth[k] += down.border[b] * across.share[a];
                }
            }
            inks.dark[k] += down.share[b] * row.0;
            inks.by_place[0][k] += down.share[b] * row.1;
            inks.by_place[1][k] += down.by_place[b] * row.0;
            inks.by_blur[0][k] += down.share[b] * row.2;
            inks.by_blur[1][k] += down.by_blur[b] * row.0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawn::difference;
    use crate::homography::Homography;

    #[test]
    fn the_models_derivatives_agree_with_differences() {
        let pattern = Pattern::of(205).unwrap();
        let model = Print { pattern: &pattern };
        let quad = [(10.0, 12.0), (80.0, 18.0), (84.0, 90.0), (8.0, 80.0)].map(|(x, y)| Vec2::new(x, y));
        let middle = quad.iter().sum::<Vec2>() / 4.0;
        let cells = [(0.0, 0.0), (8.0, 0.0), (8.0, 8.0), (0.0, 8.0)].map(|(x, y)| Vec2::new(x, y));
        let map = Homography::of_four(&quad.map(|c| (c - middle) / 60.0), &cells).unwrap();
        let mut p = SVector::<f64, COUNT>::zeros();
        p.fixed_rows_mut::<8>(0).copy_from(&map.entries());
        p[BLUR] = -1.8;
        p[BLUR + 1] = -1.6;
        for (k, v) in [0.8, 0.02, -0.01, 0.05, 0.01, 0.005].into_iter().enumerate() {
            p[WHITE + k] = v;
        }
        for (x, y) in [(0.0, 0.0), (0.31, -0.52), (-0.7, 0.1), (0.55, 0.6), (-0.2, -0.64)] {
            let off = difference(&model, &p, x, y);
            assert!(off < 1e-4, "({x}, {y}) off by {off}");
        }
    }
}
