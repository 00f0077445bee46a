//! Board corners: two crossing blurred edges fitted to the pixels around.

use crate::fit::{self, LightModel, Pixel};
use crate::step::step;
use nalgebra::{Matrix2, SVector};
use shimwright_geom::{GreyPicture, Vec2, linear_light};

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
    /// Residual rms over the contrast.
    pub(crate) misfit: f64,
}

/// Longest arm of the cross of pixels that is fitted: beyond it lens distortion bends the edges.
const LONGEST_ARM_PX: f64 = 26.0;
/// Half the width of the strip along each edge, in blurs, and the pixels added to it.
const STRIP_BLURS: f64 = 3.0;
/// Smallest half width of the strip, pixels.
const LEAST_STRIP_PX: f64 = 1.8;
/// Encoded value from which a pixel counts as over-exposed.
const OVER_EXPOSED: u8 = 253;

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
    let mut result = None;
    // The window is laid around the expected place; when the corner turns out to lie elsewhere, or sharper or
    // softer than thought, it is laid anew.
    for _ in 0..3 {
        let window = Window::new(guess, &origin, blur)?;
        let pixels = window.pixels(picture);
        let start = window.start(&pixels, blur)?;
        let fitted = fit::fit(
            &Corner {
                limit_px: 0.5 * window.arm_px,
            },
            &pixels,
            start,
        )?;
        let p = &fitted.parameters;
        let shift = Vec2::new(p[CENTRE], p[CENTRE + 1]);
        let at = window.origin + shift;
        let contrast = p[WHITE] - p[BLACK];
        let new_blur = (0.5 * (p[BLUR] + p[BLUR + 1])).exp();
        let settled = shift.norm() < 0.7 && (new_blur / blur).ln().abs() < 0.3;
        result = Some(Saddle {
            at,
            sigma_px: (0.5 * (fitted.covariance[(0, 0)] + fitted.covariance[(1, 1)])).sqrt(),
            blur_px: new_blur,
            contrast,
            misfit: fitted.rms / contrast.abs().max(1e-9),
        });
        if settled {
            break;
        }
        (origin, blur) = (at, new_blur);
    }
    result
}

struct Window {
    origin: Vec2,
    /// Unit normals of the edges that run along y and along x.
    normals: [Vec2; 2],
    arm_px: f64,
    strip_px: f64,
    black_on_diagonal: bool,
}

impl Window {
    fn new(guess: &SaddleGuess, at: &Vec2, blur: f64) -> Option<Self> {
        let to_square = guess.square.try_inverse()?;
        let row = |i: usize| Vec2::new(to_square[(i, 0)], to_square[(i, 1)]);
        // One square is 1 / |row| pixels wide across the edges of that family.
        let widths = [1.0 / row(0).norm(), 1.0 / row(1).norm()];
        let narrow = widths[0].min(widths[1]);
        let free = guess.margin * narrow - 0.5 - 1.5 * blur;
        Some(Self {
            origin: Vec2::new(at.x.round(), at.y.round()),
            normals: [row(0).normalize(), row(1).normalize()],
            arm_px: (0.42 * narrow).min(LONGEST_ARM_PX.max(6.0 * blur)),
            strip_px: (STRIP_BLURS * blur + 1.0).min(free).max(LEAST_STRIP_PX),
            black_on_diagonal: guess.black_on_diagonal,
        })
    }

    /// Well exposed pixels on the cross, row by row.
    fn pixels(&self, picture: &GreyPicture) -> Vec<Pixel> {
        let lut = linear_light();
        let reach = (1.5 * self.arm_px).ceil() as i64;
        let mut out = Vec::new();
        for dy in -reach..=reach {
            let y = self.origin.y as i64 + dy;
            if y < 0 || y >= picture.height() as i64 {
                continue;
            }
            let row = picture.row(y as usize);
            for dx in -reach..=reach {
                let x = self.origin.x as i64 + dx;
                if x < 0 || x >= picture.width() as i64 {
                    continue;
                }
                let d = Vec2::new(dx as f64, dy as f64);
                let (across, along) = (self.normals[0].dot(&d).abs(), self.normals[1].dot(&d).abs());
                if across.max(along) <= self.arm_px && across.min(along) <= self.strip_px {
                    let value = row[x as usize];
                    if value < OVER_EXPOSED {
                        out.push(Pixel {
                            x: d.x,
                            y: d.y,
                            light: f64::from(lut[value as usize]),
                        });
                    }
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

struct Corner {
    limit_px: f64,
}

impl LightModel<COUNT> for Corner {
    fn light(&self, x: f64, y: f64, p: &SVector<f64, COUNT>) -> (f64, SVector<f64, COUNT>) {
        let (dx, dy) = (x - p[CENTRE], y - p[CENTRE + 1]);
        let mut out = SVector::<f64, COUNT>::zeros();
        let mut distance = [0.0; 2];
        let mut normal = [Vec2::zeros(); 2];
        let mut along = [0.0; 2];
        let mut inverse = [0.0; 2];
        for k in 0..2 {
            let (sin, cos) = p[ANGLE + k].sin_cos();
            normal[k] = Vec2::new(cos, sin);
            distance[k] = cos * dx + sin * dy;
            along[k] = cos * dy - sin * dx;
            inverse[k] = (-p[BLUR + k]).exp();
        }
        let g = p[GROWTH];
        // Shares of the two black squares, each a product of two blurred half planes.
        let (t1, t2) = ((g + distance[0]) * inverse[0], (g + distance[1]) * inverse[1]);
        let (u1, u2) = ((g - distance[0]) * inverse[0], (g - distance[1]) * inverse[1]);
        let ((a1, da1), (a2, da2)) = (step(t1), step(t2));
        let ((b1, db1), (b2, db2)) = (step(u1), step(u2));
        let dark = a1 * a2 + b1 * b2;
        let white = p[WHITE] + p[WHITE + 1] * x + p[WHITE + 2] * y;
        let black = p[BLACK] + p[BLACK + 1] * x + p[BLACK + 2] * y;
        let by_dark = black - white;
        let by_distance = [
            (da1 * a2 - db1 * b2) * inverse[0],
            (a1 * da2 - b1 * db2) * inverse[1],
        ];
        for k in 0..2 {
            out[CENTRE] -= by_dark * by_distance[k] * normal[k].x;
            out[CENTRE + 1] -= by_dark * by_distance[k] * normal[k].y;
            out[ANGLE + k] = by_dark * by_distance[k] * along[k];
        }
        out[BLUR] = -by_dark * (da1 * t1 * a2 + db1 * u1 * b2);
        out[BLUR + 1] = -by_dark * (a1 * da2 * t2 + b1 * db2 * u2);
        out[GROWTH] = by_dark * ((da1 * a2 + db1 * b2) * inverse[0] + (a1 * da2 + b1 * db2) * inverse[1]);
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
