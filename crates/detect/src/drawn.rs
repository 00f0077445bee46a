//! Pictures with exact sub-pixel truth for the tests of the fits: each pixel is the integral over its area of the
//! blurred print, in linear light, encoded in eight bits.

use crate::fit::{BLOCK, LightModel, Lights, Places};
use crate::step::{density, step};
use nalgebra::SVector;
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_target::tag36h11::{self, CELLS};

const WHITE: f64 = 0.75;
const BLACK: f64 = 0.05;

/// Integral from minus infinity to `x` of a blurred half plane that begins at zero.
fn ramp(x: f64, blur: f64) -> f64 {
    let t = x / blur;
    blur * (t * step().at(t).0 + density(t))
}

/// Mean over the pixel at `x` of a blurred half line from `from` to the right.
fn mean_step(x: f64, from: f64, blur: f64) -> f64 {
    ramp(x + 0.5 - from, blur) - ramp(x - 0.5 - from, blur)
}

/// Mean over the pixel at `x` of a blurred stretch.
fn mean_stretch(x: f64, from: f64, to: f64, blur: f64) -> f64 {
    mean_step(x, from, blur) - mean_step(x, to, blur)
}

/// The byte that holds a linear light, by the sRGB transfer function (IEC 61966-2-1).
fn encoded(light: f64) -> u8 {
    let v = if light <= 0.003_130_8 {
        12.92 * light
    } else {
        1.055 * light.powf(1.0 / 2.4) - 0.055
    };
    (255.0 * v).round().clamp(0.0, 255.0) as u8
}

/// A square drawing in linear light.
pub(crate) struct Drawing {
    size: usize,
    light: Vec<f64>,
}

impl Drawing {
    /// From the share of ink at each pixel.
    fn of(size: usize, ink: impl Fn(f64, f64) -> f64) -> Self {
        let at = |i: usize| ink((i % size) as f64, (i / size) as f64);
        Self {
            size,
            light: (0..size * size)
                .map(|i| WHITE + (BLACK - WHITE) * at(i))
                .collect(),
        }
    }

    /// With paper grain: each pixel's light changes by a share with this standard deviation, smoothed over
    /// neighbours as a lens does when `smooth`.
    pub(crate) fn with_grain(mut self, share: f64, smooth: bool, seed: u64) -> Self {
        let mut random = Random(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
        let n = self.size;
        let raw: Vec<f64> = (0..n * n).map(|_| random.normal()).collect();
        for y in 0..n {
            for x in 0..n {
                let grain = if smooth {
                    smoothed(&raw, n, x, y)
                } else {
                    raw[y * n + x]
                };
                self.light[y * n + x] *= 1.0 + share * grain;
            }
        }
        self
    }

    pub(crate) fn picture(&self) -> GreyPicture {
        let data = self.light.iter().map(|&l| encoded(l)).collect();
        GreyPicture::new(self.size, self.size, data).expect("as many bytes as pixels")
    }
}

/// Mean of a pixel and its neighbours with weights 1 2 1, scaled to unit variance.
fn smoothed(raw: &[f64], n: usize, x: usize, y: usize) -> f64 {
    let weight = |d: i64| if d == 0 { 2.0 } else { 1.0 };
    let wrap = |v: usize, d: i64| (v as i64 + d).rem_euclid(n as i64) as usize;
    let mut sum = 0.0;
    for dy in -1..=1 {
        for dx in -1..=1 {
            sum += weight(dx) * weight(dy) * raw[wrap(y, dy) * n + wrap(x, dx)];
        }
    }
    sum / 6.0
}

/// A small seeded generator (xorshift64*, Vigna 2016) for repeatable tests.
struct Random(u64);

impl Random {
    fn uniform(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Nearly normal with unit variance: the sum of twelve uniform numbers.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

/// Two black squares that meet at a corner, upright, towards (+x, +y) and (-x, -y); in the white squares a black
/// square begins at `margin` pixels, as a tag does.
pub(crate) struct Corner {
    pub(crate) centre: Vec2,
    pub(crate) blur: f64,
    /// How far ink reaches beyond its sides, pixels.
    pub(crate) growth: f64,
    pub(crate) margin: f64,
}

impl Corner {
    pub(crate) fn drawing(&self, size: usize) -> Drawing {
        let Self {
            centre: c,
            blur,
            growth: g,
            margin: m,
        } = *self;
        Drawing::of(size, |x, y| {
            let right = |x: f64, c: f64, m: f64| mean_step(x, c + m - g, blur);
            let left = |x: f64, c: f64, m: f64| 1.0 - mean_step(x, c - m + g, blur);
            right(x, c.x, 0.0) * right(y, c.y, 0.0)
                + left(x, c.x, 0.0) * left(y, c.y, 0.0)
                + right(x, c.x, m) * left(y, c.y, m)
                + left(x, c.x, m) * right(y, c.y, m)
        })
    }
}

/// An upright tag.
pub(crate) struct Tag {
    pub(crate) id: u32,
    /// Its top-left corner.
    pub(crate) corner: Vec2,
    /// Side of a cell, pixels.
    pub(crate) cell: f64,
    pub(crate) blur: f64,
    /// How far ink reaches beyond its cells, pixels; negative where paper eats into it.
    pub(crate) growth: f64,
}

impl Tag {
    pub(crate) fn corners(&self) -> [Vec2; 4] {
        let s = self.cell * CELLS as f64;
        [(0.0, 0.0), (s, 0.0), (s, s), (0.0, s)].map(|(x, y)| self.corner + Vec2::new(x, y))
    }

    /// Ink grows along each row of cells by the row's runs, and across rows by the rows' own growth, which is
    /// right but at the corners of cells.
    pub(crate) fn drawing(&self, size: usize) -> Drawing {
        let cells = tag36h11::cells(self.id).expect("an id of the family");
        let black = |i: i32, j: i32| {
            let inside = 0..CELLS as i32;
            inside.contains(&i) && inside.contains(&j) && !cells[j as usize][i as usize]
        };
        let lattice = |k: i32, origin: f64| origin + self.cell * f64::from(k);
        Drawing::of(size, |x, y| {
            let mut ink = 0.0;
            for j in 0..CELLS as i32 {
                let (top, bottom) = (lattice(j, self.corner.y), lattice(j + 1, self.corner.y));
                let row = mean_stretch(y, top, bottom, self.blur);
                for i in 0..CELLS as i32 {
                    let (left, right) = (lattice(i, self.corner.x), lattice(i + 1, self.corner.x));
                    let column = mean_stretch(x, left, right, self.blur);
                    if black(i, j) {
                        ink += row * column;
                    }
                }
            }
            ink + self.grown_ink(x, y, &black)
        })
    }

    /// The strips that growth adds along the sides between black and white cells.
    fn grown_ink(&self, x: f64, y: f64, black: &impl Fn(i32, i32) -> bool) -> f64 {
        let at = |k: i32, origin: f64| origin + self.cell * f64::from(k);
        let strip = |x: f64, at: f64, towards: f64| {
            let (a, b) = (at.min(at + towards), at.max(at + towards));
            mean_stretch(x, a, b, self.blur) * self.growth.signum()
        };
        let mut ink = 0.0;
        for j in -1..=CELLS as i32 {
            for i in -1..=CELLS as i32 {
                let (left, top) = (at(i, self.corner.x), at(j, self.corner.y));
                let (right, bottom) = (at(i + 1, self.corner.x), at(j + 1, self.corner.y));
                if black(i, j) != black(i - 1, j) {
                    let outwards = if black(i, j) { -self.growth } else { self.growth };
                    ink += strip(x, left, outwards) * mean_stretch(y, top, bottom, self.blur);
                }
                if black(i, j) != black(i, j - 1) {
                    let outwards = if black(i, j) { -self.growth } else { self.growth };
                    ink += strip(y, top, outwards) * mean_stretch(x, left, right, self.blur);
                }
            }
        }
        ink
    }
}

/// Largest disagreement of a model's derivatives with central differences.
pub(crate) fn difference<const N: usize>(
    model: &impl LightModel<N>,
    parameters: &SVector<f64, N>,
    x: f64,
    y: f64,
) -> f64 {
    const STEP: f64 = 1e-6;
    let lights = |p: &SVector<f64, N>| {
        let places = Places {
            x: [x; BLOCK],
            y: [y; BLOCK],
        };
        let mut out = Lights {
            light: [0.0; BLOCK],
            slopes: [[0.0; BLOCK]; N],
        };
        model.lights(&model.prepare(p), &places, &mut out);
        out
    };
    let slopes = lights(parameters).slopes;
    (0..N)
        .map(|k| {
            let light = |sign: f64| {
                let mut p = *parameters;
                p[k] += sign * STEP;
                lights(&p).light[0]
            };
            ((light(1.0) - light(-1.0)) / (2.0 * STEP) - f64::from(slopes[k][0])).abs()
        })
        .fold(0.0, f64::max)
}
