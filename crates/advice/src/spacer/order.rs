//! Which of two sound choices is better: straighter belt first, then less work.

use super::predict::Fit;
use std::ops::Add;

/// Lengths are compared in whole millionths of a micrometre, so that ties are ties on every machine.
const STEPS_PER_MM: f64 = 1e9;

/// Longer than any drive; keeps sums inside the whole numbers.
const LONGEST: f64 = 1e6;

/// How far from straight the belt runs, comparable.
pub(super) fn crookedness(fit: &Fit) -> i64 {
    steps(fit.offset)
}

/// The work that a choice makes: fewest changes, then the smallest change of thickness, then the fewest rings, then
/// the straightest belt on all corners together. The order of the fields is the order of importance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Effort {
    changes: usize,
    step: i64,
    rings: usize,
    crookedness: i64,
}

impl Effort {
    /// The work at one corner.
    pub fn of(fit: &Fit) -> Self {
        Self {
            changes: usize::from(!fit.stays),
            step: steps(fit.step),
            rings: fit.rings,
            crookedness: crookedness(fit),
        }
    }
}

impl Add for Effort {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            changes: self.changes + other.changes,
            step: self.step + other.step,
            rings: self.rings + other.rings,
            crookedness: self.crookedness + other.crookedness,
        }
    }
}

fn steps(length: f64) -> i64 {
    // Bounded by `LONGEST`, so the cast loses nothing but the fraction.
    (length.abs().min(LONGEST) * STEPS_PER_MM).round() as i64
}
