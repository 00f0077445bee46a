//! Corners of a lone tag: the whole printed tag, border and data cells, fitted to the pixels in linear light.

use crate::fit::{self, Fitted, Pixel, dark_and_bright};
use crate::homography::Homography;
use crate::ink::{BLACK, BLUR, COUNT, GROWTH, Pattern, Print, WHITE};
use crate::quad::Quad;
use nalgebra::{Matrix2, SVector};
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_target::tag36h11::CELLS;

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

/// How often the window is laid anew.
const MOST_WINDOWS: usize = 3;
/// How far a corner may lie from where its window expects it, pixels, and how far its blur from the expected one, in
/// logarithms.
const MOST_OFF_PX: f64 = 1.0;
const MOST_BLUR_RATIO: f64 = 0.4;
/// Widest used part of the quiet zone, cells.
const QUIET_CELLS: f64 = 1.1;
/// Pixels within this many blurs of a border between black and white all count; of the others one in nine.
const NEAR_BLURS: f64 = 2.0;

/// Fits the tag `id` that is expected upright at `quad`. `None` when the pixels do not fix it.
pub(crate) fn fit_print(picture: &GreyPicture, quad: &Quad, id: u32, blur_px: f64) -> Option<PrintedTag> {
    let pattern = Pattern::of(id)?;
    let model = Print { pattern: &pattern };
    let mut window = Window::new(quad, blur_px)?;
    let mut pixels = window.pixels(picture, &pattern);
    let mut parameters = window.start(&pixels)?;
    if let Some(found) = fit::rough(&model, &pixels, &parameters) {
        parameters = found;
        if !window.suits(&parameters) {
            (window, parameters) = window.laid_anew(&parameters)?;
            pixels = window.pixels(picture, &pattern);
        }
    }
    for round in 1.. {
        let fitted = fit::fit(&model, &pixels, parameters)?;
        if round == MOST_WINDOWS || window.suits(&fitted.parameters) {
            return window.tag(&fitted);
        }
        (window, parameters) = window.laid_anew(&fitted.parameters)?;
        pixels = window.pixels(picture, &pattern);
    }
    None
}

/// Corners of the black square in cells.
fn square() -> Quad {
    let s = CELLS as f64;
    [(0.0, 0.0), (s, 0.0), (s, s), (0.0, s)].map(|(x, y)| Vec2::new(x, y))
}

/// The tag's surroundings, in coordinates around its middle and scaled to its size.
struct Window {
    middle: Vec2,
    scale: f64,
    cells_of: Homography,
    /// Size of a cell along rows and along columns at the middle, pixels.
    cell_px: Vec2,
    corners: Quad,
    /// Blur that it was laid for, pixels.
    blur_px: f64,
}

impl Window {
    fn new(quad: &Quad, blur_px: f64) -> Option<Self> {
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
            blur_px,
        })
    }

    /// Pixels of the tag and its quiet zone, row by row.
    fn pixels(&self, picture: &GreyPicture, pattern: &Pattern) -> Vec<Pixel> {
        let near = self.cell_px.map(|c| (NEAR_BLURS * self.blur_px + 0.5) / c);
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

    /// True when the tag found lies where it was expected and is as sharp.
    fn suits(&self, p: &SVector<f64, COUNT>) -> bool {
        let near = |corners: Quad| {
            let mut pairs = corners.iter().zip(&self.corners);
            pairs.all(|(a, b)| (a - b).norm() < MOST_OFF_PX)
        };
        let same_blur = (self.mean_blur(p) / self.blur_px).ln().abs() < MOST_BLUR_RATIO;
        same_blur && self.corners_of(p).is_some_and(near)
    }

    /// A window around the tag found, and the parameters in it.
    fn laid_anew(&self, p: &SVector<f64, COUNT>) -> Option<(Self, SVector<f64, COUNT>)> {
        let window = Self::new(&self.corners_of(p)?, self.mean_blur(p))?;
        let (ratio, moved) = (
            window.scale / self.scale,
            (window.middle - self.middle) / self.scale,
        );
        let mut p = *p;
        p.fixed_rows_mut::<8>(0).copy_from(&window.cells_of.entries());
        for light in [WHITE, BLACK] {
            p[light] += p[light + 1] * moved.x + p[light + 2] * moved.y;
            p[light + 1] *= ratio;
            p[light + 2] *= ratio;
        }
        Some((window, p))
    }

    fn corners_of(&self, p: &SVector<f64, COUNT>) -> Option<Quad> {
        let back = map_of(p).inverse()?;
        Some(square().map(|cell| self.middle + back.apply(&cell) * self.scale))
    }

    /// Mean blur along the two sides, pixels.
    fn mean_blur(&self, p: &SVector<f64, COUNT>) -> f64 {
        0.5 * (p[BLUR].exp() * self.cell_px.x + p[BLUR + 1].exp() * self.cell_px.y)
    }

    fn start(&self, pixels: &[Pixel]) -> Option<SVector<f64, COUNT>> {
        let (low, high) = dark_and_bright(pixels)?;
        let mut p = SVector::<f64, COUNT>::zeros();
        p.fixed_rows_mut::<8>(0).copy_from(&self.cells_of.entries());
        p[BLUR] = (self.blur_px / self.cell_px.x).ln();
        p[BLUR + 1] = (self.blur_px / self.cell_px.y).ln();
        p[WHITE] = high;
        p[BLACK] = low;
        Some(p)
    }

    fn tag(&self, fitted: &Fitted<COUNT, 8>) -> Option<PrintedTag> {
        let p = &fitted.parameters;
        let map = map_of(p);
        let back = map.inverse()?;
        let sigma_of = |cell: Vec2| {
            let local = back.apply(&cell);
            // A change of the map moves the place that lands on the cell's corner the other way.
            let by_place = map.derivative(&local).try_inverse()?;
            let by_entry = by_place * map.by_entries(&local);
            let covariance: Matrix2<f64> = by_entry * fitted.covariance * by_entry.transpose();
            Some((0.5 * covariance.trace()).sqrt() * self.scale)
        };
        let [a, b, c, d] = square().map(sigma_of);
        let sigma_px = [a?, b?, c?, d?];
        let contrast = p[WHITE] - p[BLACK];
        Some(PrintedTag {
            corners: self.corners_of(p)?,
            sigma_px,
            blur_px: self.mean_blur(p),
            contrast,
            misfit: fitted.rms / contrast.abs().max(1e-9),
            growth_cells: p[GROWTH],
        })
    }
}

fn map_of(p: &SVector<f64, COUNT>) -> Homography {
    Homography::from_entries(&p.fixed_rows::<8>(0).into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawn;

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
