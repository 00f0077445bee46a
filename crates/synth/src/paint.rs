//! What a surface looks like: how much light it gives back, its grain and its gloss.

use crate::print::Print;
use shimwright_geom::Vec2;
use shimwright_geom::mixed;

/// Uneven brightness of a surface: random from place to place, smooth over `size`.
#[derive(Clone, Copy, Debug)]
pub struct Grain {
    /// Standard deviation as a share of the light.
    pub amount: f64,
    /// Its size along x and along y of the surface, mm; different ones make a brushed look.
    pub size: Vec2,
    /// Seed, so that no two surfaces look alike.
    pub seed: u64,
}

/// How a surface gives back light.
#[derive(Clone, Debug)]
pub struct Paint {
    /// Share of the light that is scattered back, 0..1.
    pub albedo: f64,
    /// Mirror-like part, added to it, and the exponent that says how narrow it is.
    pub gloss: (f64, f64),
    /// Grain.
    pub grain: Grain,
    /// A print on it, with the share of light that its black gives back.
    pub print: Option<(Print, f64)>,
}

impl Paint {
    /// Plain, dull and without grain.
    pub fn plain(albedo: f64) -> Self {
        Self {
            albedo,
            gloss: (0.0, 1.0),
            grain: Grain {
                amount: 0.0,
                size: Vec2::repeat(1.0),
                seed: 0,
            },
            print: None,
        }
    }

    /// With a grain.
    pub fn grained(albedo: f64, amount: f64, size: Vec2, seed: u64) -> Self {
        Self {
            grain: Grain { amount, size, seed },
            ..Self::plain(albedo)
        }
    }

    /// Whether the print is black at a place.
    pub(crate) fn is_black(&self, place: &Vec2) -> bool {
        self.print
            .as_ref()
            .is_some_and(|(print, _)| print.is_black(place))
    }

    /// Share of the light scattered back at a place, grain included.
    pub(crate) fn albedo_at(&self, place: &Vec2, black: bool) -> f64 {
        let base = match &self.print {
            Some((_, ink)) if black => *ink,
            _ => self.albedo,
        };
        base * (1.0 + self.grain.at(place))
    }
}

impl Grain {
    /// Relative deviation of the light at a place: value noise, straight between random values on a lattice.
    fn at(&self, place: &Vec2) -> f64 {
        if self.amount == 0.0 {
            return 0.0;
        }
        let p = place.component_div(&self.size);
        let (x, y) = (p.x.floor(), p.y.floor());
        let (fx, fy) = (p.x - x, p.y - y);
        let value = |dx: i64, dy: i64| {
            let key = ((x as i64 + dx) as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15)
                ^ ((y as i64 + dy) as u64).wrapping_mul(0xc2b2_ae3d_27d4_eb4f)
                ^ self.seed;
            // Uniform in -1..1 has a standard deviation of 1/sqrt(3).
            (mixed(key) >> 40) as f64 / f64::from(1u32 << 23) - 1.0
        };
        let top = value(0, 0) * (1.0 - fx) + value(1, 0) * fx;
        let bottom = value(0, 1) * (1.0 - fx) + value(1, 1) * fx;
        // Straight lines between lattice values lower the mean variance to 4/9 of theirs.
        self.amount * 3f64.sqrt() * 1.5 * (top * (1.0 - fy) + bottom * fy)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grain_has_its_stated_size() {
        let grain = Grain {
            amount: 0.05,
            size: Vec2::new(0.2, 0.3),
            seed: 5,
        };
        let values: Vec<f64> = (0..40_000)
            .map(|i| grain.at(&Vec2::new(f64::from(i % 200) * 0.137, f64::from(i / 200) * 0.211)))
            .collect();
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / values.len() as f64;
        assert!(mean.abs() < 0.002, "{mean}");
        assert!((variance.sqrt() / 0.05 - 1.0).abs() < 0.05, "{}", variance.sqrt());
    }
}
