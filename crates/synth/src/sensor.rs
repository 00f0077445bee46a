//! Light into bytes: fall of light, noise, sRGB encoding, rounding.

use crate::shot::Shot;
use shimwright_geom::mixed;

/// Steps of the encoding table.
const STEPS: usize = 1 << 15;

/// What turns light into bytes.
pub(crate) struct Develop {
    exposure: f64,
    full_well: f64,
    read_noise: f64,
    vignette: f64,
    middle: (f64, f64),
    corner2: f64,
    seed: u64,
    table: Vec<f32>,
}

impl Develop {
    pub fn new(shot: &Shot, seed: u64) -> Self {
        let middle = (
            f64::from(shot.camera.width) / 2.0,
            f64::from(shot.camera.height) / 2.0,
        );
        Self {
            exposure: shot.sensor.exposure,
            full_well: shot.sensor.full_well,
            read_noise: shot.sensor.read_noise,
            vignette: shot.sensor.vignette,
            middle,
            corner2: middle.0 * middle.0 + middle.1 * middle.1,
            seed: mixed(seed ^ 0x2545_f491_4f6c_dd1d),
            table: (0..=STEPS + 1)
                .map(|i| encoded(i as f64 / STEPS as f64) as f32)
                .collect(),
        }
    }

    /// Writes a tile's pixels into the rows that hold it.
    pub fn tile(&self, light: &[f32], (x, y): (usize, usize), width: usize, rows: &mut [u8]) {
        let tile_width = (width - x).min(crate::render::TILE);
        let first_row = y / crate::render::TILE * crate::render::TILE;
        for (i, &value) in light.iter().enumerate() {
            let (px, py) = (x + i % tile_width, y + i / tile_width);
            rows[(py - first_row) * width + px] = self.byte(f64::from(value), px, py, width);
        }
    }

    fn byte(&self, light: f64, x: usize, y: usize, width: usize) -> u8 {
        let (dx, dy) = (x as f64 - self.middle.0, y as f64 - self.middle.1);
        let fall = 1.0 - self.vignette * (dx * dx + dy * dy) / self.corner2;
        let mut value = (light * self.exposure * fall).max(0.0);
        if self.full_well.is_finite() {
            let electrons = value * self.full_well;
            let sigma = (electrons + self.read_noise * self.read_noise).sqrt();
            value = (electrons + sigma * self.normal((y * width + x) as u64)) / self.full_well;
        }
        self.encode(value)
    }

    fn encode(&self, value: f64) -> u8 {
        let at = value.clamp(0.0, 1.0) * STEPS as f64;
        let i = at as usize;
        let share = (at - i as f64) as f32;
        (self.table[i] + (self.table[i + 1] - self.table[i]) * share + 0.5) as u8
    }

    /// A standard normal number of a pixel's own.
    fn normal(&self, pixel: u64) -> f64 {
        let bits = mixed(self.seed ^ pixel.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        let uniform = |bits: u64| (bits & 0xffff_ffff) as f64 / 4_294_967_296.0;
        let radius = (-2.0 * (uniform(bits) + 1e-10).ln()).sqrt();
        radius * (std::f64::consts::TAU * uniform(bits >> 32)).cos()
    }
}

/// The encoded value 0..255 of linear light, sRGB (IEC 61966-2-1).
fn encoded(light: f64) -> f64 {
    let light = light.min(1.0);
    255.0
        * if light <= 0.003_130_8 {
            12.92 * light
        } else {
            1.055 * light.powf(1.0 / 2.4) - 0.055
        }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_geom::linear_light;

    /// Encoding is the way back of the table that the measuring crates decode by.
    #[test]
    fn every_byte_comes_back() {
        let shot = crate::tests::square_shot(64, crate::Sensor::quiet(0.5));
        let develop = Develop::new(&shot, 1);
        for (byte, light) in linear_light().iter().enumerate() {
            assert_eq!(usize::from(develop.encode(f64::from(*light))), byte);
        }
    }
}
