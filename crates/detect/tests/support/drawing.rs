//! Targets drawn into a picture through a projective map, by many samples a pixel.

#![allow(dead_code, reason = "each test file uses a part")]

use shimwright_geom::{GreyPicture, Vec2};
use shimwright_target::{Kind, Target, tag36h11};

/// Samples a pixel along each side.
const SAMPLES: usize = 6;

/// A view of a target.
pub struct View {
    pub width: usize,
    pub height: usize,
    /// Where the target's middle is seen, pixels.
    pub middle: Vec2,
    /// Pixels a millimetre at the middle.
    pub scale: f64,
    /// Turn in the picture and tilt about the turned y axis, radians.
    pub turn: f64,
    pub tilt: f64,
    /// Blur, standard deviation in pixels.
    pub blur: f64,
    /// Linear light of paper and of ink at the middle, and how much it changes over the width as a share.
    pub light: (f64, f64),
    pub light_slope: f64,
    /// Standard deviation of the noise in linear light, and its seed.
    pub noise: f64,
    pub seed: u64,
}

impl Default for View {
    fn default() -> Self {
        Self {
            width: 900,
            height: 620,
            middle: Vec2::new(447.3, 311.7),
            scale: 9.0,
            turn: 0.3,
            tilt: 0.2,
            blur: 0.8,
            light: (0.7, 0.05),
            light_slope: 0.0,
            noise: 0.0,
            seed: 1,
        }
    }
}

impl View {
    /// Camera distance in pixels: a moderate perspective.
    const DISTANCE: f64 = 2200.0;

    /// Where a point of the target, given from its middle in mm, is seen.
    pub fn project(&self, from_middle: &Vec2) -> Vec2 {
        let p = from_middle * self.scale;
        let (x, z) = (p.x * self.tilt.cos(), p.x * self.tilt.sin());
        let near = Self::DISTANCE / (Self::DISTANCE + z);
        let (sin, cos) = self.turn.sin_cos();
        self.middle + Vec2::new(cos * x - sin * p.y, sin * x + cos * p.y) * near
    }

    /// The point of the target, from its middle, seen at a place.
    fn unproject(&self, at: &Vec2) -> Vec2 {
        let d = at - self.middle;
        let (sin, cos) = self.turn.sin_cos();
        let (u, v) = (cos * d.x + sin * d.y, -sin * d.x + cos * d.y);
        // u = x cos(tilt) near and near = D / (D + x sin(tilt)).
        let x = u * Self::DISTANCE / (Self::DISTANCE * self.tilt.cos() - u * self.tilt.sin());
        let near = Self::DISTANCE / (Self::DISTANCE + x * self.tilt.sin());
        Vec2::new(x, v / near) / self.scale
    }

    /// Draws the target on white paper.
    pub fn draw(&self, target: &Target) -> GreyPicture {
        let ink = Ink::of(target);
        let middle = middle(target);
        let mut light = Vec::with_capacity(self.width * self.height);
        for y in 0..self.height {
            for x in 0..self.width {
                let mut black = 0;
                for k in 0..SAMPLES * SAMPLES {
                    let part = |k: usize| (k as f64 + 0.5) / SAMPLES as f64 - 0.5;
                    let at = Vec2::new(x as f64 + part(k % SAMPLES), y as f64 + part(k / SAMPLES));
                    black += usize::from(ink.at(&(self.unproject(&at) + middle)));
                }
                let share = black as f64 / (SAMPLES * SAMPLES) as f64;
                let slope = 1.0 + self.light_slope * (x as f64 / self.width as f64 - 0.5);
                light.push(slope * (self.light.0 + (self.light.1 - self.light.0) * share));
            }
        }
        let light = blurred(&light, self.width, self.blur);
        let mut random = self.seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
        let data = light
            .iter()
            .map(|l| encoded(l + self.noise * normal(&mut random)))
            .collect();
        GreyPicture::new(self.width, self.height, data).expect("as many bytes as pixels")
    }
}

/// The middle of a target's tags, mm in its frame.
pub fn middle(target: &Target) -> Vec2 {
    let corners: Vec<&Vec2> = target.tags().iter().flat_map(|t| &t.corners).collect();
    corners.iter().fold(Vec2::zeros(), |s, c| s + *c) / corners.len() as f64
}

/// Where a target is black.
struct Ink<'a> {
    target: &'a Target,
    /// Columns, rows and side of a board's squares.
    board: Option<(u32, u32, f64)>,
}

impl<'a> Ink<'a> {
    fn of(target: &'a Target) -> Self {
        let board = match target.kind() {
            Kind::Board {
                columns,
                rows,
                square_mm,
                ..
            } => Some((columns, rows, square_mm)),
            _ => None,
        };
        Self { target, board }
    }

    fn at(&self, p: &Vec2) -> bool {
        if let Some((columns, rows, side)) = self.board {
            let (i, j) = ((p.x / side).floor(), (p.y / side).floor());
            if i < 0.0 || j < 0.0 || i >= f64::from(columns) || j >= f64::from(rows) {
                return false;
            }
            // The top-left square is black.
            if ((i + j) as u32).is_multiple_of(2) {
                return true;
            }
        }
        self.target.tags().iter().any(|t| in_tag(t.id, &t.corners, p))
    }
}

fn in_tag(id: u32, corners: &[Vec2; 4], p: &Vec2) -> bool {
    let (across, down) = (corners[1] - corners[0], corners[3] - corners[0]);
    let d = p - corners[0];
    let cells = tag36h11::CELLS as f64;
    let u = d.dot(&across) / across.norm_squared() * cells;
    let v = d.dot(&down) / down.norm_squared() * cells;
    if u < 0.0 || v < 0.0 || u >= cells || v >= cells {
        return false;
    }
    !tag36h11::cells(id).expect("an id of the family")[v as usize][u as usize]
}

/// Gaussian blur, rows then columns, repeated at the borders.
fn blurred(light: &[f64], width: usize, sigma: f64) -> Vec<f64> {
    let reach = (4.0 * sigma).ceil() as i64;
    let kernel: Vec<f64> = (-reach..=reach)
        .map(|k| (-0.5 * (k as f64 / sigma).powi(2)).exp())
        .collect();
    let total: f64 = kernel.iter().sum();
    let height = light.len() / width;
    let pass = |from: &[f64], dx: i64, dy: i64| -> Vec<f64> {
        (0..from.len())
            .map(|i| {
                let (x, y) = ((i % width) as i64, (i / width) as i64);
                let sum: f64 = (-reach..=reach)
                    .zip(&kernel)
                    .map(|(k, weight)| {
                        let x = (x + k * dx).clamp(0, width as i64 - 1) as usize;
                        let y = (y + k * dy).clamp(0, height as i64 - 1) as usize;
                        weight * from[y * width + x]
                    })
                    .sum();
                sum / total
            })
            .collect()
    };
    pass(&pass(light, 1, 0), 0, 1)
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

/// Nearly normal with unit variance: the sum of twelve uniform numbers (xorshift64*, Vigna 2016).
fn normal(state: &mut u64) -> f64 {
    let mut sum = -6.0;
    for _ in 0..12 {
        *state ^= *state >> 12;
        *state ^= *state << 25;
        *state ^= *state >> 27;
        sum += (state.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 11) as f64 / (1u64 << 53) as f64;
    }
    sum
}
