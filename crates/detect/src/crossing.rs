//! The model of a board's corner: two blurred edges that cross.

use crate::fit::{BLOCK, LightModel, Lights, Places};
use crate::step::{Step, step};
use nalgebra::SVector;
use shimwright_geom::Vec2;

// Parameters in order: centre x and y, the direction angles of the two edge normals, logarithms of the blur
// across each, growth of the black squares; then the light of white and of black, each with its two slopes.
pub(crate) const COUNT: usize = 13;
pub(crate) const CENTRE: usize = 0;
pub(crate) const ANGLE: usize = 2;
pub(crate) const BLUR: usize = 4;
pub(crate) const GROWTH: usize = 6;
pub(crate) const WHITE: usize = 7;
pub(crate) const BLACK: usize = 10;

/// The model: two black squares that meet, each the product of two blurred half planes, and the two tags in the
/// white squares beside them, which matter when blur carries their black into the strip.
pub(crate) struct Crossing {
    /// How far from the middle the corner may lie, pixels.
    pub(crate) limit_px: f64,
    /// Distance from each edge at which the tags begin.
    pub(crate) tag_px: [f64; 2],
    /// Half the width of the strip of pixels along each edge.
    pub(crate) strip_px: f64,
}

pub(crate) struct Prepared {
    parameters: SVector<f64, COUNT>,
    normal: [Vec2; 2],
    per_blur: [f64; 2],
    /// Whether the tags are felt within the strip.
    tags_near: bool,
    step: Step,
}

/// How far the blur lets the black on one side of an edge reach to each place.
struct Side {
    /// Which side, 1 or -1.
    sign: f64,
    /// Distance into the black in blurs, the share of black, and its derivative.
    depth: [f64; BLOCK],
    share: [f64; BLOCK],
    slope: [f64; BLOCK],
}

impl Side {
    /// Of an edge at these distances; the black begins at `from`.
    #[inline]
    fn of(distance: &[f64; BLOCK], sign: f64, from: f64, per_blur: f64, step: Step) -> Self {
        let depth = distance.map(|d| (sign * d - from) * per_blur);
        let mut side = Self {
            sign,
            depth,
            share: [0.0; BLOCK],
            slope: [0.0; BLOCK],
        };
        for ((share, slope), t) in side.share.iter_mut().zip(&mut side.slope).zip(depth) {
            (*share, *slope) = step.at(t);
        }
        side
    }
}

/// The share of black at each place and its derivatives.
struct Dark {
    share: [f64; BLOCK],
    by_distance: [[f64; BLOCK]; 2],
    by_blur: [[f64; BLOCK]; 2],
    by_growth: [f64; BLOCK],
}

impl Dark {
    /// Adds a region that is black on one side of each edge.
    #[inline]
    fn add(&mut self, a: &Side, b: &Side, per_blur: [f64; 2]) {
        for k in 0..BLOCK {
            let (of_a, of_b) = (a.slope[k] * b.share[k], a.share[k] * b.slope[k]);
            self.share[k] += a.share[k] * b.share[k];
            self.by_distance[0][k] += a.sign * per_blur[0] * of_a;
            self.by_distance[1][k] += b.sign * per_blur[1] * of_b;
            self.by_growth[k] += per_blur[0] * of_a + per_blur[1] * of_b;
            self.by_blur[0][k] -= of_a * a.depth[k];
            self.by_blur[1][k] -= of_b * b.depth[k];
        }
    }
}

impl Crossing {
    fn dark(&self, prepared: &Prepared, distance: &[[f64; BLOCK]; 2]) -> Dark {
        let growth = prepared.parameters[GROWTH];
        let side = |edge: usize, sign: f64, from: f64| {
            let per_blur = prepared.per_blur[edge];
            Side::of(&distance[edge], sign, from - growth, per_blur, prepared.step)
        };
        let mut dark = Dark {
            share: [0.0; BLOCK],
            by_distance: [[0.0; BLOCK]; 2],
            by_blur: [[0.0; BLOCK]; 2],
            by_growth: [0.0; BLOCK],
        };
        for sign in [1.0, -1.0] {
            dark.add(&side(0, sign, 0.0), &side(1, sign, 0.0), prepared.per_blur);
        }
        if prepared.tags_near {
            let [across, along] = self.tag_px;
            for sign in [1.0, -1.0] {
                dark.add(&side(0, sign, across), &side(1, -sign, along), prepared.per_blur);
            }
        }
        dark
    }
}

impl LightModel<COUNT> for Crossing {
    type Prepared = Prepared;

    fn prepare(&self, p: &SVector<f64, COUNT>) -> Prepared {
        Prepared {
            parameters: *p,
            normal: [0, 1].map(|k| Vec2::new(p[ANGLE + k].cos(), p[ANGLE + k].sin())),
            per_blur: [0, 1].map(|k| (-p[BLUR + k]).exp()),
            // A tag that begins five blurs beyond the strip adds nothing.
            tags_near: (0..2).any(|k| self.tag_px[k] <= self.strip_px + 5.0 * p[BLUR + k].exp()),
            step: step(),
        }
    }

    fn lights(&self, prepared: &Prepared, places: &Places, out: &mut Lights<COUNT>) {
        let p = &prepared.parameters;
        let (dx, dy) = (
            places.x.map(|x| x - p[CENTRE]),
            places.y.map(|y| y - p[CENTRE + 1]),
        );
        let mut distance = [[0.0; BLOCK]; 2];
        for (distance, n) in distance.iter_mut().zip(&prepared.normal) {
            for k in 0..BLOCK {
                distance[k] = n.x * dx[k] + n.y * dy[k];
            }
        }
        let dark = self.dark(prepared, &distance);
        let [n, m] = prepared.normal;
        for k in 0..BLOCK {
            let (x, y) = (places.x[k], places.y[k]);
            let white = p[WHITE] + p[WHITE + 1] * x + p[WHITE + 2] * y;
            let black = p[BLACK] + p[BLACK + 1] * x + p[BLACK + 2] * y;
            let by_dark = black - white;
            let share = dark.share[k];
            let (a, b) = (by_dark * dark.by_distance[0][k], by_dark * dark.by_distance[1][k]);
            out.light[k] = white + by_dark * share;
            let s = &mut out.slopes;
            s[CENTRE][k] = -(a * n.x + b * m.x) as f32;
            s[CENTRE + 1][k] = -(a * n.y + b * m.y) as f32;
            s[ANGLE][k] = (a * (n.x * dy[k] - n.y * dx[k])) as f32;
            s[ANGLE + 1][k] = (b * (m.x * dy[k] - m.y * dx[k])) as f32;
            s[BLUR][k] = (by_dark * dark.by_blur[0][k]) as f32;
            s[BLUR + 1][k] = (by_dark * dark.by_blur[1][k]) as f32;
            s[GROWTH][k] = (by_dark * dark.by_growth[k]) as f32;
            for (i, v) in [1.0, x, y].into_iter().enumerate() {
                s[WHITE + i][k] = ((1.0 - share) * v) as f32;
                s[BLACK + i][k] = (share * v) as f32;
            }
        }
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
    use crate::drawn::difference;

    #[test]
    fn the_models_derivatives_agree_with_differences() {
        let model = Crossing {
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
