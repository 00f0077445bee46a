//! Axes: which numbers stand at them.

/// Numbers at an axis: from, step, and how many decimals they need.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ticks {
    pub low: f64,
    pub high: f64,
    pub step: f64,
    pub decimals: usize,
}

impl Ticks {
    /// Round numbers that hold `low` to `high`, about `count` of them.
    pub fn around(low: f64, high: f64, count: f64) -> Self {
        let span = if high - low > 1e-9 { high - low } else { 1.0 };
        let rough = span / count.max(1.0);
        let power = 10_f64.powf(rough.log10().floor());
        let off = |step: f64| (step / rough).ln().abs();
        let step = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .map(|times| times * power)
            .min_by(|a, b| off(*a).total_cmp(&off(*b)))
            .unwrap_or(rough);
        let decimals = (-step.log10().floor()).clamp(0.0, 6.0) as usize;
        Self {
            low: (low / step).floor() * step,
            high: (high / step).ceil() * step,
            step,
            decimals,
        }
    }

    pub fn numbers(&self) -> impl Iterator<Item = f64> {
        let (low, step) = (self.low, self.step);
        let count = ((self.high - self.low) / self.step).round().max(0.0) as u32;
        (0..=count).map(move |i| low + f64::from(i) * step)
    }

    pub fn text(&self, number: f64) -> String {
        // Adding nothing turns a negative zero into a plain one.
        format!("{:.*}", self.decimals, number + 0.0)
    }

    /// Where a number stands between the ends, 0 to 1.
    pub fn share(&self, number: f64) -> f64 {
        (number - self.low) / (self.high - self.low)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_round_and_hold_the_span() {
        for (low, high, numbers) in [
            (0.0, 1.42, vec![0.0, 0.5, 1.0, 1.5]),
            (0.31, 0.36, vec![0.3, 0.32, 0.34, 0.36]),
            (-0.4, 0.4, vec![-0.4, -0.2, 0.0, 0.2, 0.4]),
            (2.0, 2.0, vec![2.0]),
        ] {
            let ticks = Ticks::around(low, high, 3.0);
            let found: Vec<f64> = ticks.numbers().collect();
            assert_eq!(found.len(), numbers.len(), "{low} to {high}: {found:?}");
            assert!(
                found.iter().zip(&numbers).all(|(a, b)| (a - b).abs() < 1e-9),
                "{low} to {high}: {found:?}"
            );
        }
        assert_eq!(Ticks::around(0.0, 1.42, 3.0).text(0.5), "0.5");
        assert_eq!(Ticks::around(0.0, 30.0, 3.0).text(10.0), "10");
    }
}
