//! Random numbers that are the same for the same seed on every machine.

/// SplitMix64 (Steele, Lea, Flood 2014; constants from memory): small, seeded, good enough for pictures
/// and trials, not for secrets.
#[derive(Clone, Debug)]
pub struct Random(u64);

impl Random {
    /// A generator of its own for each seed.
    pub fn new(seed: u64) -> Self {
        Self(mixed(seed ^ 0x5851_f42d_4c95_7f2d))
    }

    /// The next 64 random bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        mixed(self.0)
    }

    /// Uniform in 0..1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Uniform between two values.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Standard normal (Box and Muller).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * self.unit().max(1e-300).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// True with a given chance.
    pub fn chance(&mut self, chance: f64) -> bool {
        self.unit() < chance
    }
}

/// A bijection of 64 bits in which every output bit hangs on every input bit: a random number for every number.
pub fn mixed(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_numbers_have_the_moments_of_the_normal_distribution() {
        let mut random = Random::new(3);
        let n = 200_000;
        let (mut sum, mut square, mut beyond) = (0.0, 0.0, 0);
        for _ in 0..n {
            let x = random.normal();
            sum += x;
            square += x * x;
            beyond += i32::from(x.abs() > 1.96);
        }
        let n = f64::from(n);
        assert!((sum / n).abs() < 0.01, "mean {}", sum / n);
        assert!((square / n - 1.0).abs() < 0.02, "variance {}", square / n);
        assert!((f64::from(beyond) / n - 0.05).abs() < 0.003);
    }

    #[test]
    fn the_same_seed_gives_the_same_numbers() {
        let row = |seed| {
            let mut random = Random::new(seed);
            [random.unit(), random.between(2.0, 3.0), random.normal()]
        };
        assert_eq!(row(7), row(7));
        assert_ne!(row(7), row(8));
    }
}
