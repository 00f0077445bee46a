//! Board corners: two crossing blurred edges fitted to the pixels around.

use crate::fit::{self, Fitted, LightModel, Pixel};
use crate::step::step;
use nalgebra::{Matrix2, SVector};
use shimwright_geom::{GreyPicture, Vec2};

/// What is known of a corner before the fit.
pub(crate) struct SaddleGuess {
    /// Expected place, pixels.
    pub(crate) at: Vec2,
    /// Columns: the steps in the picture for one square along the target's x and along its y.
    pub(crate) square: Matrix2<f64>,
    /// True when the squares towards (+x, +y) and (-x, -y) are black.
    pub(crate) black_on_diagonal: bool,
    /// Width of the white border between a square's side and its tag, as a share of the square.
    pub(crate) margin: f64,
    /// Expected blur, pixels.
    pub(crate) blur_px: f64,
}

/// A corner that was fitted.
#[derive(Clone, Debug)]
pub(crate) struct Saddle {
    pub(crate) at: Vec2,
    /// Standard deviation per axis from the pixel noise, pixels.
    pub(crate) sigma_px: f64,
    /// Blur across the two edges, pixels (mean).
    pub(crate) blur_px: f64,
    /// White minus black, linear light.
    pub(crate) contrast: f64,
    /// Larger angle between a fitted edge and the expected one.
    pub(crate) turn_rad: f64,
    /// How far the black squares reach beyond their sides, pixels.
    pub(crate) growth_px: f64,
    /// Residual rms over the contrast.
    pub(crate) misfit: f64,
}

/// Longest arm of the cross of pixels that is fitted: beyond it lens distortion bends the edges.
const LONGEST_ARM_PX: f64 = 26.0;
/// The same for a noisy corner, where noise matters more than bent edges, and the sigma that makes it one.
const LONGEST_NOISY_ARM_PX: f64 = 45.0;
const NOISY_SIGMA_PX: f64 = 0.05;
/// Half the width of the strip along each edge, in blurs, and the pixels added to it.
const STRIP_BLURS: f64 = 3.0;
/// Smallest half width of the strip, pixels.
const LEAST_STRIP_PX: f64 = 1.8;

// Parameters in order: centre x and y, the direction angles of the two edge normals, logarithms of the blur
// across each, growth of the black squares; then the light of white and of black, each with its two slopes.
const COUNT: usize = 13;
const CENTRE: usize = 0;
const ANGLE: usize = 2;
const BLUR: usize = 4;
const GROWTH: usize = 6;
const WHITE: usize = 7;
const BLACK: usize = 10;

/// Fits a corner. The model is point-symmetric, as the picture of a corner is under any symmetric blur, so that
/// a blur of another shape leaves the centre where it is. `None` when the pixels do not look like a corner.
pub(crate) fn fit_saddle(picture: &GreyPicture, guess: &SaddleGuess) -> Option<Saddle> {
    let mut origin = guess.at;
    let mut blur = guess.blur_px;
    let mut longest_arm_px = LONGEST_ARM_PX;
    let mut result = None;
    // The window is laid around the expected place; when the corner turns out to lie elsewhere, or sharper or
    // softer than thought, it is laid anew.
    for _ in 0..3 {
        let window = Window::new(guess, &origin, blur, longest_arm_px)?;
        let pixels = window.pixels(picture);
        let start = window.start(&pixels, blur)?;
        let fitted = fit::fit(&window.model(), &pixels, start)?;
        let saddle = window.saddle(&fitted, &start);
        let arm_px = if saddle.sigma_px > NOISY_SIGMA_PX {
            LONGEST_NOISY_ARM_PX
        } else {
            LONGEST_ARM_PX
        };
        let settled = (saddle.at - window.origin).norm() < 0.75
            && (saddle.blur_px / blur).ln().abs() < 0.3
            && arm_px <= longest_arm_px;
        (origin, blur, longest_arm_px) = (saddle.at, saddle.blur_px, arm_px.max(longest_arm_px));
        result = Some(saddle);
        if settled {
            break;
        }
    }
    result
}

struct Window {
    origin: Vec2,
    /// Unit normals of the edges that run along y and along x.
    normals: [Vec2; 2],
    arm_px: f64,
    strip_px: f64,
    /// Distance from each edge at which the tags in the white squares begin.
    tag_px: [f64; 2],
    black_on_diagonal: bool,
}

impl Window {
    fn new(guess: &SaddleGuess, at: &Vec2, blur: f64, longest_arm_px: f64) -> Option<Self> {
        let to_square = guess.square.try_inverse()?;
        let row = |i: usize| Vec2::new(to_square[(i, 0)], to_square[(i, 1)]);
        // One square is 1 / |row| pixels wide across the edges of that family.
        let widths = [1.0 / row(0).norm(), 1.0 / row(1).norm()];
        let narrow = widths[0].min(widths[1]);
        let free = guess.margin * narrow - 0.5;
        Some(Self {
            origin: Vec2::new(at.x.round(), at.y.round()),
            normals: [row(0).normalize(), row(1).normalize()],
            arm_px: (0.42 * narrow).min(longest_arm_px.max(6.0 * blur)),
            strip_px: (STRIP_BLURS * blur + 1.0).min(free).max(LEAST_STRIP_PX),
            tag_px: widths.map(|w| guess.margin * w),
            black_on_diagonal: guess.black_on_diagonal,
        })
    }

    fn saddle(&self, fitted: &Fitted<COUNT, 2>, start: &SVector<f64, COUNT>) -> Saddle {
        let p = &fitted.parameters;
        let turn = |k: usize| (p[ANGLE + k] - start[ANGLE + k]).abs();
        let contrast = p[WHITE] - p[BLACK];
        Saddle {
            at: self.origin + Vec2::new(p[CENTRE], p[CENTRE + 1]),
            sigma_px: (0.5 * (fitted.covariance[(0, 0)] + fitted.covariance[(1, 1)])).sqrt(),
            blur_px: (0.5 * (p[BLUR] + p[BLUR + 1])).exp(),
            contrast,
            turn_rad: turn(0).max(turn(1)),
            growth_px: p[GROWTH],
            misfit: fitted.rms / contrast.abs().max(1e-9),
        }
    }

    fn model(&self) -> Corner {
        Corner {
            limit_px: 0.5 * self.arm_px,
            tag_px: self.tag_px,
            strip_px: self.strip_px,
        }
    }

    /// The pixels on the cross, row by row.
    fn pixels(&self, picture: &GreyPicture) -> Vec<Pixel> {
        let reach = (1.5 * self.arm_px).ceil() as i64;
        let (ox, oy) = (self.origin.x as i64, self.origin.y as i64);
        let mut out = Vec::new();
        for dy in (-reach).max(-oy)..=reach.min(picture.height() as i64 - 1 - oy) {
            let row = picture.row((oy + dy) as usize);
            for dx in (-reach).max(-ox)..=reach.min(picture.width() as i64 - 1 - ox) {
                let d = Vec2::new(dx as f64, dy as f64);
                let (across, along) = (self.normals[0].dot(&d).abs(), self.normals[1].dot(&d).abs());
                if across.max(along) <= self.arm_px && across.min(along) <= self.strip_px {
                    let (x, y) = (ox + dx, oy + dy);
                    out.push(Pixel::new(d.x, d.y, (x as i32, y as i32), row[x as usize]));
                }
            }
        }
        out
    }

    fn start(&self, pixels: &[Pixel], blur: f64) -> Option<SVector<f64, COUNT>> {
        if pixels.is_empty() {
            return None;
        }
        let mut sorted: Vec<f64> = pixels.iter().map(|p| p.light).collect();
        sorted.sort_by(f64::total_cmp);
        let (low, high) = (sorted[sorted.len() / 6], sorted[sorted.len() * 5 / 6]);
        let mut p = SVector::zeros();
        // Black where both distances have the same sign.
        let second = if self.black_on_diagonal {
            self.normals[1]
        } else {
            -self.normals[1]
        };
        p[ANGLE] = self.normals[0].y.atan2(self.normals[0].x);
        p[ANGLE + 1] = second.y.atan2(second.x);
        p[BLUR] = blur.ln();
        p[BLUR + 1] = blur.ln();
        p[WHITE] = high;
        p[BLACK] = low;
        Some(p)
    }
}

/// The model: two black squares that meet, each the product of two blurred half planes, and the two tags in the
/// white squares beside them, which matter when blur carries their black into the strip.
struct Corner {
    limit_px: f64,
    /// Distance from each edge at which the tags begin.
    tag_px: [f64; 2],
    strip_px: f64,
}

/// Which sides of the two edges a black region lies on.
const SQUARES: [[f64; 2]; 2] = [[1.0, 1.0], [-1.0, -1.0]];
const TAGS: [[f64; 2]; 2] = [[1.0, -1.0], [-1.0, 1.0]];

struct Prepared {
    parameters: SVector<f64, COUNT>,
    normal: [Vec2; 2],
    per_blur: [f64; 2],
    /// Sides, and how far from the edges the region begins.
    regions: [([f64; 2], [f64; 2]); 4],
    count: usize,
}

impl LightModel<COUNT> for Corner {
    type Prepared = Prepared;

    fn prepare(&self, p: &SVector<f64, COUNT>) -> Prepared {
        let normal = [0, 1].map(|k| Vec2::new(p[ANGLE + k].cos(), p[ANGLE + k].sin()));
        // A tag that begins five blurs beyond the strip adds nothing.
        let far = (0..2).all(|k| self.tag_px[k] > self.strip_px + 5.0 * p[BLUR + k].exp());
        let [a, b] = SQUARES.map(|side| (side, [0.0, 0.0]));
        let [c, d] = TAGS.map(|side| (side, self.tag_px));
        Prepared {
            parameters: *p,
            normal,
            per_blur: [0, 1].map(|k| (-p[BLUR + k]).exp()),
            regions: [a, b, c, d],
            count: if far { 2 } else { 4 },
        }
    }

    fn light(&self, prepared: &Prepared, x: f64, y: f64) -> (f64, SVector<f64, COUNT>) {
        let p = &prepared.parameters;
        let d = Vec2::new(x - p[CENTRE], y - p[CENTRE + 1]);
        let distance = prepared.normal.map(|n| n.dot(&d));
        let mut dark = 0.0;
        let (mut by_distance, mut by_blur, mut by_growth) = ([0.0; 2], [0.0; 2], 0.0);
        for (side, from) in &prepared.regions[..prepared.count] {
            let t: [f64; 2] =
                std::array::from_fn(|k| (side[k] * distance[k] - from[k] + p[GROWTH]) * prepared.per_blur[k]);
            // Most pixels lie far from one of the edges: what is all white there adds exactly nothing.
            let (a, da) = step(t[0]);
            if a == 0.0 && da == 0.0 {
                continue;
            }
            let (b, db) = step(t[1]);
            if b == 0.0 && db == 0.0 {
                continue;
            }
            dark += a * b;
            let slope = [da * b * prepared.per_blur[0], a * db * prepared.per_blur[1]];
            for k in 0..2 {
                by_distance[k] += side[k] * slope[k];
                by_growth += slope[k];
            }
            by_blur[0] -= da * t[0] * b;
            by_blur[1] -= a * db * t[1];
        }
        let white = p[WHITE] + p[WHITE + 1] * x + p[WHITE + 2] * y;
        let black = p[BLACK] + p[BLACK + 1] * x + p[BLACK + 2] * y;
        let by_dark = black - white;
        let mut out = SVector::<f64, COUNT>::zeros();
        for k in 0..2 {
            let n = prepared.normal[k];
            out[CENTRE] -= by_dark * by_distance[k] * n.x;
            out[CENTRE + 1] -= by_dark * by_distance[k] * n.y;
            out[ANGLE + k] = by_dark * by_distance[k] * n.perp(&d);
            out[BLUR + k] = by_dark * by_blur[k];
        }
        out[GROWTH] = by_dark * by_growth;
        for (k, v) in [1.0, x, y].into_iter().enumerate() {
            out[WHITE + k] = (1.0 - dark) * v;
            out[BLACK + k] = dark * v;
        }
        (white + by_dark * dark, out)
    }

    fn admits(&self, p: &SVector<f64, COUNT>) -> bool {
        let blur = p[BLUR].min(p[BLUR + 1]).exp();
        p[CENTRE].hypot(p[CENTRE + 1]) < self.limit_px
            && blur > 0.15
            && p[BLUR].max(p[BLUR + 1]).exp() < self.limit_px.max(3.0)
            && p[GROWTH].abs() < 2.0 + blur
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawn::{Corner as Drawn, difference};

    fn guess(at: Vec2) -> SaddleGuess {
        SaddleGuess {
            at,
            square: Matrix2::from_diagonal(&Vec2::new(60.0, 60.0)),
            black_on_diagonal: true,
            margin: 0.15,
            blur_px: 0.9,
        }
    }

    /// Steps of an eighth of a pixel on both axes, light of 0.05 and 0.75, no noise but that of eight bits.
    #[test]
    fn every_place_within_a_pixel_is_found_without_bias() {
        for blur in [0.45, 0.7, 1.0, 1.6, 3.0] {
            let mut mean = Vec2::zeros();
            for k in 0..64 {
                let phase = Vec2::new(f64::from(k % 8), f64::from(k / 8)) / 8.0;
                let centre = Vec2::new(40.0, 40.0) + phase;
                let drawn = Drawn {
                    centre,
                    blur,
                    growth: 0.0,
                    margin: 9.0,
                };
                let found = fit_saddle(&drawn.drawing(80).picture(), &guess(Vec2::new(40.9, 39.8))).unwrap();
                let error = found.at - centre;
                assert!(error.norm() < 0.02, "blur {blur} phase {phase:?} error {error:?}");
                mean += error / 64.0;
            }
            assert!(mean.norm() < 0.003, "blur {blur} mean {mean:?}");
        }
    }

    #[test]
    fn grown_ink_leaves_the_centre_and_is_measured() {
        let centre = Vec2::new(40.3, 39.6);
        let drawn = Drawn {
            centre,
            blur: 0.8,
            growth: 0.3,
            margin: 9.0,
        };
        let found = fit_saddle(&drawn.drawing(80).picture(), &guess(Vec2::new(40.0, 40.0))).unwrap();
        assert!((found.at - centre).norm() < 0.02, "{found:?}");
        assert!((found.growth_px - 0.3).abs() < 0.05, "{found:?}");
        assert!((found.blur_px - 0.8).abs() < 0.1, "{found:?}");
    }

    /// Grain of 4 % of the light, between independent pixels and spread over neighbours: no bias, and the stated
    /// sigma is right to a sixth in its square (sampling error of 1000 values: 0.045).
    #[test]
    fn the_stated_sigma_covers_500_noisy_corners() {
        for smooth in [false, true] {
            let (mut mean, mut squares) = (Vec2::zeros(), 0.0);
            for seed in 0..500u32 {
                let phase = Vec2::new(f64::from(seed % 7) / 7.0, f64::from(seed % 11) / 11.0);
                let centre = Vec2::new(40.0, 40.0) + phase;
                let drawn = Drawn {
                    centre,
                    blur: 0.8,
                    growth: 0.0,
                    margin: 9.0,
                };
                let picture = drawn
                    .drawing(80)
                    .with_grain(0.04, smooth, u64::from(seed))
                    .picture();
                let found = fit_saddle(&picture, &guess(Vec2::new(40.5, 40.5))).unwrap();
                let error = found.at - centre;
                mean += error / 500.0;
                squares += error.norm_squared() / found.sigma_px.powi(2) / 1000.0;
            }
            assert!(mean.norm() < 0.002, "mean {mean:?}");
            assert!(
                (0.85..1.2).contains(&squares),
                "smooth {smooth}: normalised variance {squares}"
            );
        }
    }

    #[test]
    fn plain_paper_is_no_corner() {
        let paper = GreyPicture::new(80, 80, vec![200; 6400]).unwrap();
        let found = fit_saddle(&paper, &guess(Vec2::new(40.0, 40.0)));
        assert!(found.is_none_or(|s| s.contrast < 0.01 || s.misfit > 1.0));
    }

    #[test]
    fn the_models_derivatives_agree_with_differences() {
        let model = Corner {
            limit_px: 10.0,
            tag_px: [4.0, 5.0],
            strip_px: 6.0,
        };
        let p = SVector::from([
            0.2, -0.3, 0.1, 1.5, 0.2, 0.3, 0.1, 0.8, 0.002, -0.001, 0.05, 0.001, 0.0005,
        ]);
        for (x, y) in [(0.0, 0.0), (1.0, -0.5), (-3.0, 4.0), (5.0, 0.4), (4.0, -5.0)] {
            let off = difference(&model, &p, x, y);
            assert!(off < 1e-5, "({x}, {y}) off by {off}");
        }
    }
}
