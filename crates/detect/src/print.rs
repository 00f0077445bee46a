//! Corners of a lone tag: the whole printed tag, border and data cells, fitted to the pixels in linear light.

use crate::fit::{self, Fitted, LightModel, Pixel};
use crate::homography::Homography;
use crate::quad::Quad;
use crate::step::step;
use nalgebra::{Matrix2, SMatrix, SVector};
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_target::tag36h11::{self, CELLS};

/// A tag that was fitted.
#[derive(Clone, Debug)]
pub(crate) struct PrintedTag {
    /// Corners of the black square as designed: ink that has grown evenly does not move them.
    pub(crate) corners: Quad,
    /// Standard deviation per axis of each corner from the pixel noise, pixels.
    pub(crate) sigma_px: [f64; 4],
    /// Mean blur along the two sides, pixels.
    pub(crate) blur_px: f64,
    /// White minus black, linear light.
    pub(crate) contrast: f64,
    /// Residual rms over the contrast.
    pub(crate) misfit: f64,
    /// How far black reaches beyond its cells, as a share of a cell.
    pub(crate) growth_cells: f64,
}

/// Widest used part of the quiet zone, cells.
const QUIET_CELLS: f64 = 1.1;
/// Pixels within this many blurs of a border between black and white all count; of the others one in nine.
const NEAR_BLURS: f64 = 2.0;

// Parameters in order: the eight entries of the map from window coordinates to cells, growth of black in cells,
// logarithms of the blur along the rows and along the columns in cells; then the light of white and of black,
// each with its two slopes.
const COUNT: usize = 17;
const GROWTH: usize = 8;
const BLUR: usize = 9;
const WHITE: usize = 11;
const BLACK: usize = 14;

/// Fits the tag `id` that is expected upright at `quad`. `None` when the pixels do not fix it.
pub(crate) fn fit_print(picture: &GreyPicture, quad: &Quad, id: u32, blur_px: f64) -> Option<PrintedTag> {
    let pattern = Pattern::of(id)?;
    let mut quad = *quad;
    let mut blur_px = blur_px;
    let mut result = None;
    for _ in 0..3 {
        let window = Window::new(&quad)?;
        let pixels = window.pixels(picture, &pattern, blur_px);
        let start = window.start(&pixels, blur_px)?;
        let fitted = fit::fit(&Print { pattern: &pattern }, &pixels, start)?;
        let tag = window.tag(&fitted)?;
        let moved = (0..4)
            .map(|i| (tag.corners[i] - quad[i]).norm())
            .fold(0.0, f64::max);
        let settled = moved < 1.0 && (tag.blur_px / blur_px).ln().abs() < 0.4;
        (quad, blur_px) = (tag.corners, tag.blur_px);
        result = Some(tag);
        if settled {
            break;
        }
    }
    result
}

/// Corners of the black square in cells.
fn square() -> Quad {
    let s = CELLS as f64;
    [(0.0, 0.0), (s, 0.0), (s, s), (0.0, s)].map(|(x, y)| Vec2::new(x, y))
}

/// Which cells are black, with the white around them.
struct Pattern([[bool; CELLS]; CELLS]);

impl Pattern {
    fn of(id: u32) -> Option<Self> {
        Some(Self(tag36h11::cells(id)?.map(|row| row.map(|white| !white))))
    }

    fn black(&self, i: i32, j: i32) -> bool {
        let inside = 0..CELLS as i32;
        inside.contains(&i) && inside.contains(&j) && self.0[j as usize][i as usize]
    }

    /// True when a border between black and white lies within `reach` cells (along rows and columns).
    fn has_border_near(&self, u: f64, v: f64, reach: &Vec2) -> bool {
        let (i0, i1) = ((u - reach.x).floor() as i32, (u + reach.x).floor() as i32);
        let (j0, j1) = ((v - reach.y).floor() as i32, (v + reach.y).floor() as i32);
        let first = self.black(i0, j0);
        (j0..=j1).any(|j| (i0..=i1).any(|i| self.black(i, j) != first))
    }
}

/// The tag's surroundings, in coordinates around its middle and scaled to its size.
struct Window {
    middle: Vec2,
    scale: f64,
    cells_of: Homography,
    /// Size of a cell along rows and along columns at the middle, pixels.
    cell_px: Vec2,
    corners: Quad,
}

impl Window {
    fn new(quad: &Quad) -> Option<Self> {
        let middle = quad.iter().fold(Vec2::zeros(), |s, c| s + c) / 4.0;
        let scale = quad.iter().map(|c| (c - middle).norm()).fold(0.0, f64::max);
        let local = quad.map(|c| (c - middle) / scale);
        let cells_of = Homography::of_four(&local, &square())?;
        let per_px = cells_of.derivative(&Vec2::zeros()) / scale;
        let cell_px = Vec2::new(1.0 / per_px.row(0).norm(), 1.0 / per_px.row(1).norm());
        Some(Self {
            middle,
            scale,
            cells_of,
            cell_px,
            corners: *quad,
        })
    }

    /// Pixels of the tag and its quiet zone, row by row.
    fn pixels(&self, picture: &GreyPicture, pattern: &Pattern, blur_px: f64) -> Vec<Pixel> {
        let near = self.cell_px.map(|c| (NEAR_BLURS * blur_px + 0.5) / c);
        let quiet = QUIET_CELLS * self.cell_px.max() * 1.5;
        let low = self
            .corners
            .iter()
            .fold(Vec2::repeat(f64::INFINITY), |a, c| a.inf(c))
            .add_scalar(-quiet);
        let high = self
            .corners
            .iter()
            .fold(Vec2::zeros(), |a, c| a.sup(c))
            .add_scalar(quiet);
        let clamp = |v: f64, size: usize| (v.max(0.0) as usize).min(size - 1);
        let inside = -QUIET_CELLS..CELLS as f64 + QUIET_CELLS;
        let mut out = Vec::new();
        for y in clamp(low.y, picture.height())..=clamp(high.y, picture.height()) {
            let (first, last) = (clamp(low.x, picture.width()), clamp(high.x, picture.width()));
            for (x, &value) in picture.row(y).iter().enumerate().take(last + 1).skip(first) {
                let p = (Vec2::new(x as f64, y as f64) - self.middle) / self.scale;
                let cell = self.cells_of.apply(&p);
                if !inside.contains(&cell.x) || !inside.contains(&cell.y) {
                    continue;
                }
                let thinned = x % 3 == 0 && y % 3 == 0;
                if thinned || pattern.has_border_near(cell.x, cell.y, &near) {
                    out.push(Pixel::new(p.x, p.y, (x as i32, y as i32), value));
                }
            }
        }
        out
    }

    fn start(&self, pixels: &[Pixel], blur_px: f64) -> Option<SVector<f64, COUNT>> {
        let mut lights: Vec<f64> = pixels.iter().map(|p| p.light).collect();
        lights.sort_by(f64::total_cmp);
        let mut p = SVector::<f64, COUNT>::zeros();
        p.fixed_rows_mut::<8>(0).copy_from(&self.cells_of.entries());
        p[BLUR] = (blur_px / self.cell_px.x).ln();
        p[BLUR + 1] = (blur_px / self.cell_px.y).ln();
        p[WHITE] = *lights.get(lights.len() * 5 / 6)?;
        p[BLACK] = lights[lights.len() / 6];
        Some(p)
    }

    fn tag(&self, fitted: &Fitted<COUNT, 8>) -> Option<PrintedTag> {
        let p = &fitted.parameters;
        let map = Homography::from_entries(&p.fixed_rows::<8>(0).into_owned());
        let back = map.inverse()?;
        let mut corners = self.corners;
        let mut sigma_px = [0.0; 4];
        for (i, cell) in square().iter().enumerate() {
            let local = back.apply(cell);
            corners[i] = self.middle + local * self.scale;
            // A change of the map moves the place that lands on the cell's corner the other way.
            let by_entry = map.derivative(&local).try_inverse()? * map.by_entries(&local);
            let covariance: Matrix2<f64> = by_entry * fitted.covariance * by_entry.transpose();
            sigma_px[i] = (0.5 * covariance.trace()).sqrt() * self.scale;
        }
        let contrast = p[WHITE] - p[BLACK];
        Some(PrintedTag {
            corners,
            sigma_px,
            blur_px: 0.5 * (p[BLUR].exp() * self.cell_px.x + p[BLUR + 1].exp() * self.cell_px.y),
            contrast,
            misfit: fitted.rms / contrast.abs().max(1e-9),
            growth_cells: p[GROWTH],
        })
    }
}

struct Print<'a> {
    pattern: &'a Pattern,
}

struct Prepared {
    parameters: SVector<f64, COUNT>,
    map: Homography,
    per_blur: [f64; 2],
}

/// How much of each cell in a row (or column) the blur brings to a place, from `first` on, and its derivatives.
struct Shares {
    first: i32,
    count: usize,
    share: [f64; Self::MOST],
    by_place: [f64; Self::MOST],
    by_blur: [f64; Self::MOST],
    /// Density of the border before each cell, per cell of growth.
    border: [f64; Self::MOST + 1],
}

impl Shares {
    /// Most cells that a blur reaches: with the largest blur admitted, all and one on each side.
    const MOST: usize = CELLS + 2;
    /// Blurs beyond which a border is not felt.
    const REACH: f64 = 4.5;

    fn of(place: f64, per_blur: f64) -> Self {
        let reach = Self::REACH / per_blur;
        let first = ((place - reach).floor() as i32).clamp(-1, CELLS as i32);
        let last = ((place + reach).floor() as i32).clamp(first, CELLS as i32);
        let count = (last - first + 1) as usize;
        let mut out = Self {
            first,
            count,
            share: [0.0; Self::MOST],
            by_place: [0.0; Self::MOST],
            by_blur: [0.0; Self::MOST],
            border: [0.0; Self::MOST + 1],
        };
        let mut before = (1.0, 0.0, 0.0);
        for k in 0..=count {
            // The outermost cells reach to infinity.
            let t = (place - f64::from(first + k as i32)) * per_blur;
            let here = if k == count {
                (0.0, 0.0, 0.0)
            } else if k == 0 {
                (1.0, 0.0, 0.0)
            } else {
                let (value, slope) = step(t);
                (value, slope, slope * t)
            };
            if k > 0 {
                out.share[k - 1] = before.0 - here.0;
                out.by_place[k - 1] = (before.1 - here.1) * per_blur;
                out.by_blur[k - 1] = here.2 - before.2;
            }
            out.border[k] = here.1 * per_blur;
            before = here;
        }
        out
    }
}

impl LightModel<COUNT> for Print<'_> {
    type Prepared = Prepared;

    fn prepare(&self, p: &SVector<f64, COUNT>) -> Prepared {
        Prepared {
            parameters: *p,
            map: Homography::from_entries(&p.fixed_rows::<8>(0).into_owned()),
            per_blur: [(-p[BLUR]).exp(), (-p[BLUR + 1]).exp()],
        }
    }

    fn light(&self, prepared: &Prepared, x: f64, y: f64) -> (f64, SVector<f64, COUNT>) {
        let p = &prepared.parameters;
        let local = Vec2::new(x, y);
        let cell = prepared.map.apply(&local);
        let across = Shares::of(cell.x, prepared.per_blur[0]);
        let down = Shares::of(cell.y, prepared.per_blur[1]);
        let ink = self.ink(&across, &down);
        let dark = ink.dark + p[GROWTH] * ink.by_growth;
        let white = p[WHITE] + p[WHITE + 1] * x + p[WHITE + 2] * y;
        let black = p[BLACK] + p[BLACK + 1] * x + p[BLACK + 2] * y;
        let by_dark = black - white;
        let by_entries: SMatrix<f64, 2, 8> = prepared.map.by_entries(&local);
        let mut out = SVector::<f64, COUNT>::zeros();
        for k in 0..8 {
            out[k] = by_dark * (ink.by_place.x * by_entries[(0, k)] + ink.by_place.y * by_entries[(1, k)]);
        }
        out[GROWTH] = by_dark * ink.by_growth;
        out[BLUR] = by_dark * ink.by_blur.x;
        out[BLUR + 1] = by_dark * ink.by_blur.y;
        for (k, v) in [1.0, x, y].into_iter().enumerate() {
            out[WHITE + k] = (1.0 - dark) * v;
            out[BLACK + k] = dark * v;
        }
        (white + by_dark * dark, out)
    }

    fn admits(&self, p: &SVector<f64, COUNT>) -> bool {
        p[GROWTH].abs() < 0.4 && (0..2).all(|k| p[BLUR + k] < -0.1 && p[BLUR + k] > -5.0)
    }
}

/// The share of black at a place and its derivatives.
#[derive(Default)]
struct Ink {
    dark: f64,
    by_place: Vec2,
    by_blur: Vec2,
    by_growth: f64,
}

impl Print<'_> {
    fn ink(&self, across: &Shares, down: &Shares) -> Ink {
        let mut ink = Ink::default();
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
                    ink.by_growth += across.border[a] * down.share[b];
                }
                if b > 0 && black != self.pattern.black(i, j - 1) {
                    ink.by_growth += down.border[b] * across.share[a];
                }
            }
            ink.dark += down.share[b] * row.0;
            ink.by_place += Vec2::new(down.share[b] * row.1, down.by_place[b] * row.0);
            ink.by_blur += Vec2::new(down.share[b] * row.2, down.by_blur[b] * row.0);
        }
        ink
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawn::{self, difference};

    #[test]
    fn the_models_derivatives_agree_with_differences() {
        let pattern = Pattern::of(205).unwrap();
        let model = Print { pattern: &pattern };
        let quad = [(10.0, 12.0), (80.0, 18.0), (84.0, 90.0), (8.0, 80.0)].map(|(x, y)| Vec2::new(x, y));
        let window = Window::new(&quad).unwrap();
        let mut p = SVector::<f64, COUNT>::zeros();
        p.fixed_rows_mut::<8>(0).copy_from(&window.cells_of.entries());
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

    /// An upright tag of 9 px cells at sub-pixel places, with ink grown by up to a third of a pixel.
    #[test]
    fn corners_are_found_without_bias_whatever_the_ink_does() {
        for blur in [0.5, 0.8, 2.5] {
            for growth in [-0.2, 0.0, 0.3] {
                for k in [0, 4, 5, 7] {
                    let corner = Vec2::new(20.0 + f64::from(k % 3) / 3.0, 21.0 + f64::from(k / 3) / 3.0);
                    let tag = drawn::Tag {
                        id: 203,
                        corner,
                        cell: 9.0,
                        blur,
                        growth,
                    };
                    let quad = tag.corners();
                    let rough = quad.map(|c| c + Vec2::new(0.5, -0.4));
                    let found = fit_print(&tag.drawing(115).picture(), &rough, 203, 0.9).unwrap();
                    for (got, want) in found.corners.iter().zip(&quad) {
                        let error = got - want;
                        assert!(error.norm() < 0.02, "blur {blur} growth {growth} error {error:?}");
                    }
                    assert!((found.growth_cells * 9.0 - growth).abs() < 0.1, "{found:?}");
                }
            }
        }
    }
}
