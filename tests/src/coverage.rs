//! How well stated uncertainties hold on made-up jobs whose truth is known.

use std::fmt;

/// What became of one job.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// Measured: value less truth, and the stated expanded uncertainty.
    Measured {
        /// Seed of the scene.
        seed: u64,
        /// Error.
        error: f64,
        /// Stated u95.
        u95: f64,
    },
    /// Refused, with the message.
    Refused {
        /// Seed of the scene.
        seed: u64,
        /// Why.
        why: String,
    },
}

/// Outcomes of many jobs of one kind.
#[derive(Clone, Debug, Default)]
pub struct Coverage {
    /// All of them, by seed.
    pub outcomes: Vec<Outcome>,
}

impl Coverage {
    /// Errors and stated uncertainties of what was measured.
    fn measured(&self) -> Vec<(u64, f64, f64)> {
        self.outcomes
            .iter()
            .filter_map(|outcome| match outcome {
                Outcome::Measured { seed, error, u95 } => Some((*seed, *error, *u95)),
                Outcome::Refused { .. } => None,
            })
            .collect()
    }

    /// Number of measured jobs.
    pub fn count(&self) -> usize {
        self.measured().len()
    }

    /// Number of refused jobs.
    pub fn refused(&self) -> usize {
        self.outcomes.len() - self.count()
    }

    /// The size of error that 95 % of the measured jobs do not exceed; zero when nothing was measured.
    pub fn error_at_95(&self) -> f64 {
        let mut sizes: Vec<f64> = self.measured().iter().map(|m| m.1.abs()).collect();
        sizes.sort_by(f64::total_cmp);
        let at = (0.95 * sizes.len() as f64).ceil() as usize;
        sizes.get(at.max(1) - 1).copied().unwrap_or(0.0)
    }

    /// Number of measured jobs whose interval holds the truth.
    pub fn covered(&self) -> usize {
        self.measured().iter().filter(|m| m.1.abs() <= m.2).count()
    }

    /// Share of measured jobs whose interval holds the truth.
    pub fn share_covered(&self) -> f64 {
        self.covered() as f64 / self.count().max(1) as f64
    }

    /// Root mean square of the errors.
    pub fn rms_error(&self) -> f64 {
        let squares: f64 = self.measured().iter().map(|m| m.1 * m.1).sum();
        (squares / self.count().max(1) as f64).sqrt()
    }

    /// Mean error.
    pub fn mean_error(&self) -> f64 {
        self.measured().iter().map(|m| m.1).sum::<f64>() / self.count().max(1) as f64
    }

    /// Mean stated uncertainty.
    pub fn mean_u95(&self) -> f64 {
        self.measured().iter().map(|m| m.2).sum::<f64>() / self.count().max(1) as f64
    }

    /// The measured jobs with the largest errors for their uncertainty: seed, error, u95.
    pub fn worst(&self, count: usize) -> Vec<(u64, f64, f64)> {
        let mut all = self.measured();
        all.sort_by(|a, b| (b.1.abs() / b.2).total_cmp(&(a.1.abs() / a.2)));
        all.truncate(count);
        all
    }
}

impl fmt::Display for Coverage {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        writeln!(
            f,
            "  {} measured, {} refused; error at 95 % {:.4}, mean {:+.4}, rms {:.4}; u95 holds in {:.1} %, mean {:.4}, \
             {:.2} times the rms error",
            self.count(),
            self.refused(),
            self.error_at_95(),
            self.mean_error(),
            self.rms_error(),
            100.0 * self.share_covered(),
            self.mean_u95(),
            self.mean_u95() / self.rms_error().max(1e-12),
        )?;
        for (seed, error, u95) in self.worst(12) {
            writeln!(f, "  worst: seed {seed} error {error:+.4} u95 {u95:.4}")?;
        }
        for outcome in &self.outcomes {
            if let Outcome::Refused { seed, why } = outcome {
                writeln!(f, "  refused: seed {seed}: {why}")?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_and_quantiles_are_counted() {
        let measured = |seed: u64| Outcome::Measured {
            seed,
            error: seed as f64 / 100.0 * if seed.is_multiple_of(2) { 1.0 } else { -1.0 },
            u95: 0.9,
        };
        let mut coverage = Coverage {
            outcomes: (1..=100).map(measured).collect(),
        };
        coverage.outcomes.push(Outcome::Refused {
            seed: 101,
            why: "too dark".into(),
        });
        assert_eq!(
            (coverage.count(), coverage.refused(), coverage.covered()),
            (100, 1, 90)
        );
        assert_eq!(coverage.error_at_95(), 0.95);
        assert_eq!(coverage.worst(1), [(100, 1.0, 0.9)]);
        assert!((coverage.mean_error() - 0.005).abs() < 1e-12);
    }
}
