//! Board corners: two crossing blurred edges fitted to the pixels around.

use crate::crossing::{ANGLE, BLACK, BLUR, CENTRE, COUNT, Crossing, GROWTH, WHITE};
use crate::fit::{self, Fitted, Pixel, dark_and_bright};
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
/// Below this misfit there is no doubt about a corner, and above it no corner.
const UNCLEAR_MISFIT: std::ops::Range<f64> = 0.3..1.0;
/// How often the window is laid anew.
const MOST_WINDOWS: usize = 3;
/// How far a corner may lie from its window's middle, pixels, and how far its blur from the expected one, in logarithms.
const MOST_OFF_PX: f64 = 0.75;
const MOST_BLUR_RATIO: f64 = 0.3;
/// Half the width of the strip along each edge, in blurs, and the pixels added to it.
const STRIP_BLURS: f64 = 3.0;
/// Smallest half width of the strip, pixels.
const LEAST_STRIP_PX: f64 = 1.8;

/// Fits a corner. The model is point-symmetric, as the picture of a corner is under any symmetric blur, so that
/// a blur of another shape leaves the centre where it is. `None` when the pixels do not look like a corner.
pub(crate) fn fit_saddle(picture: &GreyPicture, guess: &SaddleGuess) -> Option<Saddle> {
    let quick = fit_with(picture, guess, begun)?;
    if !UNCLEAR_MISFIT.contains(&quick.misfit) {
        return Some(quick);
    }
    // What light or cover spoils has more than one minimum: then all pixels choose it.
    fit_with(picture, guess, begun_with_care).or(Some(quick))
}

/// Fits a corner from what a beginning makes of its window.
fn fit_with(
    picture: &GreyPicture,
    guess: &SaddleGuess,
    begin: fn(&GreyPicture, &SaddleGuess, Window) -> Option<Begun>,
) -> Option<Saddle> {
    let (mut at, mut blur_px, mut longest_arm_px) = (guess.at, guess.blur_px, LONGEST_ARM_PX);
    for round in 1.. {
        let window = Window::new(guess, &at, blur_px, longest_arm_px)?;
        let (window, pixels, start) = begin(picture, guess, window)?;
        let fitted = fit::fit(&window.model(), &pixels, start)?;
        let saddle = window.saddle(&fitted);
        let noisy = saddle.sigma_px > NOISY_SIGMA_PX && longest_arm_px < LONGEST_NOISY_ARM_PX;
        if round == MOST_WINDOWS || (window.suits(&fitted.parameters) && !noisy) {
            return Some(saddle);
        }
        if noisy {
            longest_arm_px = LONGEST_NOISY_ARM_PX;
        }
        (at, blur_px) = (saddle.at, saddle.blur_px);
    }
    None
}

/// A window with its pixels and a start from some of them. The window is laid around the expected place; when the corner
/// turns out to lie elsewhere, or sharper or softer than thought, it is laid anew.
fn begun(picture: &GreyPicture, guess: &SaddleGuess, window: Window) -> Option<Begun> {
    let pixels = window.pixels(picture);
    let start = window.start(&pixels)?;
    match fit::rough(&window.model(), &pixels, &start) {
        Some(found) if !window.suits(&found) => {
            let (window, found) = window.laid_anew(guess, &found)?;
            let pixels = window.pixels(picture);
            Some((window, pixels, found))
        }
        found => Some((window, pixels, found.unwrap_or(start))),
    }
}

/// The same from all pixels of the window as it is.
fn begun_with_care(picture: &GreyPicture, _: &SaddleGuess, window: Window) -> Option<Begun> {
    let pixels = window.pixels(picture);
    let start = fit::even(&window.model(), &pixels, &window.start(&pixels)?)?;
    Some((window, pixels, start))
}

type Begun = (Window, Vec<Pixel>, SVector<f64, COUNT>);

struct Window {
    origin: Vec2,
    /// Blur that it was laid for, pixels.
    blur_px: f64,
    /// Unit normals of the edges that run along y and along x.
    normals: [Vec2; 2],
    arm_px: f64,
    longest_arm_px: f64,
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
            blur_px: blur,
            normals: [row(0).normalize(), row(1).normalize()],
            arm_px: (0.42 * narrow).min(longest_arm_px.max(6.0 * blur)),
            longest_arm_px,
            strip_px: (STRIP_BLURS * blur + 1.0).min(free).max(LEAST_STRIP_PX),
            tag_px: widths.map(|w| guess.margin * w),
            black_on_diagonal: guess.black_on_diagonal,
        })
    }

    /// True when the corner found lies in the window's middle and is as sharp as was thought.
    fn suits(&self, p: &SVector<f64, COUNT>) -> bool {
        p[CENTRE].hypot(p[CENTRE + 1]) < MOST_OFF_PX
            && (mean_blur(p) / self.blur_px).ln().abs() < MOST_BLUR_RATIO
    }

    /// A window around the corner found, and the parameters in it.
    fn laid_anew(&self, guess: &SaddleGuess, p: &SVector<f64, COUNT>) -> Option<(Self, SVector<f64, COUNT>)> {
        let at = self.origin + Vec2::new(p[CENTRE], p[CENTRE + 1]);
        let window = Self::new(guess, &at, mean_blur(p), self.longest_arm_px)?;
        let moved = window.origin - self.origin;
        let mut p = *p;
        for k in 0..2 {
            p[CENTRE + k] -= moved[k];
        }
        for light in [WHITE, BLACK] {
            p[light] += p[light + 1] * moved.x + p[light + 2] * moved.y;
        }
        Some((window, p))
    }

    fn saddle(&self, fitted: &Fitted<COUNT, 2>) -> Saddle {
        let p = &fitted.parameters;
        let expected = self.angles();
        let turn = |k: usize| (p[ANGLE + k] - expected[k]).abs();
        let contrast = p[WHITE] - p[BLACK];
        Saddle {
            at: self.origin + Vec2::new(p[CENTRE], p[CENTRE + 1]),
            sigma_px: (0.5 * (fitted.covariance[(0, 0)] + fitted.covariance[(1, 1)])).sqrt(),
            blur_px: mean_blur(p),
            contrast,
            turn_rad: turn(0).max(turn(1)),
            growth_px: p[GROWTH],
            misfit: fitted.rms / contrast.abs().max(1e-9),
        }
    }

    /// The expected direction angles of the normals: black where both distances have the same sign.
    fn angles(&self) -> [f64; 2] {
        let second = if self.black_on_diagonal {
            self.normals[1]
        } else {
            -self.normals[1]
        };
        [self.normals[0], second].map(|n| n.y.atan2(n.x))
    }

    fn model(&self) -> Crossing {
        Crossing {
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

    fn start(&self, pixels: &[Pixel]) -> Option<SVector<f64, COUNT>> {
        let (low, high) = dark_and_bright(pixels)?;
        let mut p = SVector::zeros();
        [p[ANGLE], p[ANGLE + 1]] = self.angles();
        p[BLUR] = self.blur_px.ln();
        p[BLUR + 1] = self.blur_px.ln();
        p[WHITE] = high;
        p[BLACK] = low;
        Some(p)
    }
}

fn mean_blur(p: &SVector<f64, COUNT>) -> f64 {
    (0.5 * (p[BLUR] + p[BLUR + 1])).exp()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawn::Corner as Drawn;

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
}
