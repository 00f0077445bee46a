//! Propagation of distributions by Monte Carlo trials (JCGM 101:2008), for any measurement function and for any
//! least-squares model.
//!
//! The linear budget of a solution is exact where the model is straight over the size of its uncertainties. Trials do
//! not ask for that; they cost a solve each.

use crate::least_squares::{residuals_at, solve_disturbed};
use crate::{Error, Model, Options, Solution};
use shimwright_geom::Random;

/// Values of a quantity in many trials.
#[derive(Clone, Debug, PartialEq)]
pub struct Trials {
    /// In rising order.
    sorted: Vec<f64>,
}

impl Trials {
    /// Sorts the values; `None` for fewer than two, or when one of them is no number.
    pub fn of(mut values: Vec<f64>) -> Option<Self> {
        if values.len() < 2 || values.iter().any(|v| !v.is_finite()) {
            return None;
        }
        values.sort_by(f64::total_cmp);
        Some(Self { sorted: values })
    }

    /// Draws a quantity again and again; the same seed gives the same trials. `None` as for [`Self::of`].
    pub fn run(count: usize, seed: u64, mut draw: impl FnMut(&mut Random) -> f64) -> Option<Self> {
        let mut random = Random::new(seed);
        Self::of((0..count).map(|_| draw(&mut random)).collect())
    }

    /// Number of trials.
    pub fn count(&self) -> usize {
        self.sorted.len()
    }

    /// Mean (JCGM 101, 7.6): the estimate.
    pub fn mean(&self) -> f64 {
        self.sorted.iter().sum::<f64>() / self.sorted.len() as f64
    }

    /// Standard deviation (JCGM 101, 7.6): the standard uncertainty.
    pub fn standard_uncertainty(&self) -> f64 {
        let mean = self.mean();
        let squares: f64 = self.sorted.iter().map(|v| (v - mean).powi(2)).sum();
        (squares / (self.sorted.len() - 1) as f64).sqrt()
    }

    /// The interval that holds a share of the trials and leaves out as many below as above (JCGM 101, 7.7).
    pub fn symmetric_interval(&self, share: f64) -> (f64, f64) {
        self.interval_from(share, |spare| spare / 2)
    }

    /// The shortest interval that holds a share of the trials (JCGM 101, 7.7).
    pub fn shortest_interval(&self, share: f64) -> (f64, f64) {
        self.interval_from(share, |spare| {
            let held = self.sorted.len() - 1 - spare;
            let length = |from: &usize| self.sorted[from + held] - self.sorted[*from];
            (0..=spare)
                .min_by(|a, b| length(a).total_cmp(&length(b)))
                .unwrap_or(0)
        })
    }

    /// The interval that holds a share of the trials and begins with the one that `first` picks, given how many may
    /// be left out.
    fn interval_from(&self, share: f64, first: impl Fn(usize) -> usize) -> (f64, f64) {
        let last = self.sorted.len() - 1;
        let held = ((share * self.sorted.len() as f64).round() as usize).clamp(1, last);
        let from = first(last - held);
        (self.sorted[from], self.sorted[from + held])
    }
}

/// Solves a model again and again with everything that it was told disturbed at random, and gives the states.
///
/// Residuals are in standard deviations, so a standard normal number added to each disturbs every observation and every
/// prior expectation by its own uncertainty. They are disturbed about what the solution says they should have been, so
/// that the scatter that is already in them does not count twice. The same seed gives the same states. Trials that
/// cannot be solved are left out. Half of them are solved on a second thread, which changes no state; what they are disturbed
/// by is kept for all of them at once, so many trials of a large model are better asked for in parts.
///
/// # Errors
/// [`Error::NotFinite`] when the solution itself is impossible.
pub fn solve_again<M>(
    model: &M,
    solution: &Solution<M::State>,
    options: &Options,
    trials: usize,
    seed: u64,
) -> Result<Vec<M::State>, Error>
where
    M: Model + Sync,
    M::State: Send + Sync,
{
    let rest = residuals_at(model, &solution.state).ok_or(Error::NotFinite)?;
    let mut random = Random::new(seed);
    let added: Vec<Vec<f64>> = (0..trials)
        .map(|_| rest.iter().map(|r| random.normal() - r).collect())
        .collect();
    let solved = |part: &[Vec<f64>]| -> Vec<M::State> {
        let again = part
            .iter()
            .map(|added| solve_disturbed(model, solution.state.clone(), options, added));
        again.filter_map(|again| Some(again.ok()?.state)).collect()
    };
    let (first, second) = added.split_at(trials / 2);
    let (mut states, others) = std::thread::scope(|scope| {
        let others = scope.spawn(|| solved(second));
        (solved(first), others.join())
    });
    // Half of the trials must not be missed in silence.
    states.extend(others.unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
    Ok(states)
}
