//! Corners of a lone tag: lines fitted to the four sides of its black square in linear light.

use crate::fit::{self, LightModel, Pixel};
use crate::homography::Homography;
use crate::quad::{Line, Quad};
use crate::step::step;
use nalgebra::{Matrix2, SVector};
use shimwright_geom::{GreyPicture, Vec2};

/// A corner of a tag's black square.
#[derive(Clone, Debug)]
pub(crate) struct BorderCorner {
    pub(crate) at: Vec2,
    /// Standard deviation per axis from the pixel noise, pixels.
    pub(crate) sigma_px: f64,
    /// Mean blur across its two sides, pixels.
    pub(crate) blur_px: f64,
    /// Smaller contrast of its two sides, linear light.
    pub(crate) contrast: f64,
    /// Larger residual rms over contrast of its two sides.
    pub(crate) misfit: f64,
}

/// Cells along a side of the black square.
const SIDE_CELLS: f64 = 8.0;
/// Widest used part of the quiet zone, cells.
const QUIET_CELLS: f64 = 1.2;

/// Fits the four corners; one is `None` where a side could not be fitted.
pub(crate) fn fit_border(picture: &GreyPicture, quad: &Quad, blur_px: f64) -> [Option<BorderCorner>; 4] {
    let mut quad = *quad;
    let mut blur = blur_px;
    let mut sides: [Option<Side>; 4] = [const { None }; 4];
    for _ in 0..2 {
        sides = std::array::from_fn(|i| fit_side(picture, &quad, i, blur));
        let corners = corners_of(&sides);
        for (old, new) in quad.iter_mut().zip(&corners) {
            if let Some(c) = new {
                *old = c.at;
            }
        }
        let blurs: Vec<f64> = sides.iter().flatten().map(|s| s.blur_px).collect();
        if !blurs.is_empty() {
            blur = blurs.iter().sum::<f64>() / blurs.len() as f64;
        }
    }
    corners_of(&sides)
}

fn corners_of(sides: &[Option<Side>; 4]) -> [Option<BorderCorner>; 4] {
    std::array::from_fn(|i| corner_between(sides[(i + 3) % 4].as_ref()?, sides[i].as_ref()?))
}

fn corner_between(a: &Side, b: &Side) -> Option<BorderCorner> {
    let at = a.line.crossing(&b.line)?;
    let normals = Matrix2::from_rows(&[a.line.normal.transpose(), b.line.normal.transpose()]);
    let spread = Matrix2::from_diagonal(&Vec2::new(a.variance_at(&at), b.variance_at(&at)));
    let back = normals.try_inverse()?;
    let covariance = back * spread * back.transpose();
    Some(BorderCorner {
        at,
        sigma_px: (0.5 * covariance.trace()).sqrt(),
        blur_px: 0.5 * (a.blur_px + b.blur_px),
        contrast: a.contrast.min(b.contrast),
        misfit: a.misfit.max(b.misfit),
    })
}

/// A fitted side.
struct Side {
    line: Line,
    middle: Vec2,
    /// Variances of the distance at `middle` and of the angle, and their covariance.
    spread: Matrix2<f64>,
    blur_px: f64,
    contrast: f64,
    misfit: f64,
}

impl Side {
    fn variance_at(&self, p: &Vec2) -> f64 {
        let s = self.line.normal.perp(&(p - self.middle));
        self.spread[(0, 0)] + 2.0 * s * self.spread[(0, 1)] + s * s * self.spread[(1, 1)]
    }
}

// Parameters in order: distance of the edge from the origin along the expected normal, angle from that normal,
// logarithm of the blur; then the light outside (white) and inside (black), each with its two slopes.
const COUNT: usize = 9;
const WHITE: usize = 3;
const BLACK: usize = 6;

struct Edge {
    normal: Vec2,
    limit_px: f64,
}

impl LightModel<COUNT> for Edge {
    type Prepared = (SVector<f64, COUNT>, Vec2, f64);

    fn prepare(&self, p: &SVector<f64, COUNT>) -> Self::Prepared {
        (*p, turned(&self.normal, p[1]), (-p[2]).exp())
    }

    fn light(&self, (p, n, per_blur): &Self::Prepared, x: f64, y: f64) -> (f64, SVector<f64, COUNT>) {
        let t = (n.x * x + n.y * y - p[0]) * per_blur;
        let (out, slope) = step(t);
        let white = p[WHITE] + p[WHITE + 1] * x + p[WHITE + 2] * y;
        let black = p[BLACK] + p[BLACK + 1] * x + p[BLACK + 2] * y;
        let by_t = (white - black) * slope;
        let mut d = SVector::<f64, COUNT>::zeros();
        d[0] = -by_t * per_blur;
        d[1] = by_t * per_blur * (n.x * y - n.y * x);
        d[2] = -by_t * t;
        for (k, v) in [1.0, x, y].into_iter().enumerate() {
            d[WHITE + k] = out * v;
            d[BLACK + k] = (1.0 - out) * v;
        }
        (black + (white - black) * out, d)
    }

    fn admits(&self, p: &SVector<f64, COUNT>) -> bool {
        p[0].abs() < self.limit_px && p[1].abs() < 0.3 && p[2] > -1.9 && p[2].exp() < self.limit_px.max(3.0)
    }
}

fn turned(v: &Vec2, angle: f64) -> Vec2 {
    let (sin, cos) = angle.sin_cos();
    Vec2::new(cos * v.x - sin * v.y, sin * v.x + cos * v.y)
}

fn fit_side(picture: &GreyPicture, quad: &Quad, i: usize, blur: f64) -> Option<Side> {
    let (a, b) = (quad[i], quad[(i + 1) % 4]);
    let middle = (a + b) * 0.5;
    let along = b - a;
    let normal = Vec2::new(along.y, -along.x).try_normalize(1e-9)?;
    let pixels = side_pixels(picture, quad, i, blur)?;
    let mut lights: Vec<f64> = pixels.iter().map(|p| p.light).collect();
    lights.sort_by(f64::total_cmp);
    let mut start = SVector::<f64, COUNT>::zeros();
    start[2] = blur.ln();
    start[WHITE] = *lights.get(lights.len() * 5 / 6)?;
    start[BLACK] = lights[lights.len() / 6];
    let limit_px = (along.norm() / SIDE_CELLS).max(2.0);
    let fitted = fit::fit(&Edge { normal, limit_px }, &pixels, start)?;
    let p = fitted.parameters;
    let turned = turned(&normal, p[1]);
    let contrast = p[WHITE] - p[BLACK];
    Some(Side {
        line: Line {
            normal: turned,
            offset: p[0] + turned.dot(&middle),
        },
        middle: middle + turned * p[0],
        spread: distance_and_angle(&fitted.covariance.fixed_view::<2, 2>(0, 0).into_owned()),
        blur_px: p[2].exp(),
        contrast,
        misfit: fitted.rms / contrast.abs().max(1e-9),
    })
}

/// The model's angle turns the normal to the left, which moves the line by `-s` for a place `s` along the
/// turned normal's own left; the sign of the covariance follows.
fn distance_and_angle(covariance: &Matrix2<f64>) -> Matrix2<f64> {
    let c = covariance;
    Matrix2::new(c[(0, 0)], -c[(0, 1)], -c[(1, 0)], c[(1, 1)])
}

/// Well exposed pixels on both sides of side `i`, away from its ends and from the data cells, with places
/// relative to the side's middle.
fn side_pixels(picture: &GreyPicture, quad: &Quad, i: usize, blur: f64) -> Option<Vec<Pixel>> {
    let turned: Quad = std::array::from_fn(|k| quad[(i + k) % 4]);
    let s = SIDE_CELLS;
    let square = [(0.0, 0.0), (s, 0.0), (s, s), (0.0, s)].map(|(x, y)| Vec2::new(x, y));
    let cells_of = Homography::of_four(&turned, &square)?;
    let (a, b) = (turned[0], turned[1]);
    let middle = (a + b) * 0.5;
    let cell_along = (b - a).norm() / s;
    // Width of a cell across the side: how far the opposite side lies, corrected to this end by the map.
    let to_cells = cells_of.derivative(&middle);
    let cell_across = 1.0 / Vec2::new(to_cells[(1, 0)], to_cells[(1, 1)]).norm();
    let wanted = 3.0 * blur + 1.0;
    let inside = wanted.min(cell_across - 0.3 - 1.2 * blur).max(1.3) / cell_across;
    let outside = (wanted / cell_across).min(QUIET_CELLS).max(1.3 / cell_across);
    let ends = (2.0 * blur + 0.7).min(2.0 * cell_along) / cell_along;
    let reach = outside.max(inside) * cell_across + 2.0;
    let x_range = (a.x.min(b.x) - reach).max(0.0) as usize..=(a.x.max(b.x) + reach).max(0.0) as usize;
    let y_range = (a.y.min(b.y) - reach).max(0.0) as usize..=(a.y.max(b.y) + reach).max(0.0) as usize;
    let mut out = Vec::new();
    for y in y_range {
        if y >= picture.height() {
            break;
        }
        let row = picture.row(y);
        for x in x_range.clone() {
            let Some(&value) = row.get(x) else { break };
            let at = Vec2::new(x as f64, y as f64);
            let cell = cells_of.apply(&at);
            let fits = cell.x > ends && cell.x < s - ends && cell.y > -outside && cell.y < inside;
            if fits {
                let d = at - middle;
                out.push(Pixel::new(d.x, d.y, value));
            }
        }
    }
    Some(out)
}
