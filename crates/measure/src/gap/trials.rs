//! The gap's uncertainty by Monte Carlo trials (JCGM 101:2008): everything that was told is disturbed at random and
//! solved again. Trials need no straight line between what was told and the gap; they cost a solve each.

use super::chamfer::UNKNOWN_CHAMFER_SIGMA;
use super::problem::Problem;
use super::refine::Refined;
use super::result::EDGE_MODEL;
use crate::{Error, Watch};
use shimwright_geom::Random;
use shimwright_record::Phrase;
use shimwright_say::say;
use shimwright_solve::{EdgeSight, JointProblem, JointState, Options, Priors, Trials, solve_again};

/// Fewest and most trials that may be asked for. JCGM 101, 7.2.2, has 10^6 as a rule for two digits; 200 tell the
/// standard uncertainty to 5 %.
pub(crate) const FEWEST: u32 = 200;
pub(crate) const MOST: u32 = 100_000;
/// Share of the trials that may have no solution.
const MOST_LOST: f64 = 0.02;
/// Trials between two looks at whether the user wants to stop.
const AT_ONCE: u32 = 50;
/// The same job gives the same trials.
const SEED: u64 = 0x7472_6961;
/// Each trial begins at the solution, so few rounds bring it to rest.
const OPTIONS: Options = Options {
    iterations: 30,
    relative_fall: 1e-9,
};

/// What is disturbed.
pub(crate) struct Disturbed<'a> {
    pub problem: &'a Problem,
    pub refined: &'a Refined,
    /// Factor by which the edges' standard deviations are widened.
    pub edges: f64,
}

impl Disturbed<'_> {
    /// Draws the gap `count` times; `gap_of` takes it from a state, mm.
    ///
    /// # Errors
    /// Cancelled; or the solution cannot be disturbed.
    pub fn run(
        &self,
        count: u32,
        gap_of: &dyn Fn(&JointState) -> f64,
        watch: &dyn Watch,
    ) -> Result<Trials, Error> {
        let refined = self.refined;
        let edges: Vec<EdgeSight> = refined.edges.iter().map(|e| self.widened(e)).collect();
        let own = &refined.start.priors;
        let priors = Priors {
            edge_shift_sigma: own.edge_shift_sigma.map(|sigma| sigma * self.edges),
            ..own.clone()
        };
        let joint = JointProblem {
            priors: &priors,
            ..refined.start.joint(self.problem, &edges, &refined.solution.state)
        };
        let settled = gap_of(&refined.solution.state);
        let mut random = Random::new(SEED);
        let mut gaps = Vec::with_capacity(count as usize);
        let mut lost = 0;
        while gaps.len() < count as usize {
            if watch.cancelled() {
                return Err(Error::cancelled());
            }
            let part = AT_ONCE.min(count - gaps.len() as u32);
            let states = solve_again(&joint, &refined.solution, &OPTIONS, part as usize, random.bits())
                .map_err(|error| impossible(error.halves().0))?;
            lost += part - states.len() as u32;
            // An interval of those that could be solved alone would be too narrow.
            if f64::from(lost) > MOST_LOST * f64::from(count) {
                return Err(impossible(say!("{lost} trials have no solution")));
            }
            gaps.extend(states.iter().map(|state| {
                gap_of(state) + self.outcome(gap_of, &mut random) - settled + self.edge(&mut random)
            }));
            watch.step(
                say!("trying the uncertainty"),
                gaps.len() as f64 / f64::from(count),
            );
        }
        Trials::of(gaps).ok_or_else(|| impossible(say!("a trial gives no number")))
    }

    fn widened(&self, edge: &EdgeSight) -> EdgeSight {
        EdgeSight {
            sigma_px: edge.sigma_px * self.edges,
            ..*edge
        }
    }

    /// The gap of one of the outcomes that were weighed, each as often as its weight says.
    fn outcome(&self, gap_of: &dyn Fn(&JointState) -> f64, random: &mut Random) -> f64 {
        let outcomes = &self.refined.outcomes;
        let mut left = random.unit();
        let drawn = outcomes.iter().find(|(_, weight)| {
            left -= weight;
            left < 0.0
        });
        drawn
            .or(outcomes.last())
            .map_or(f64::NAN, |(state, _)| gap_of(state))
    }

    /// Where the two edges "are" on their chamfers, mm.
    fn edge(&self, random: &mut Random) -> f64 {
        let drive = &self.problem.drive;
        [drive.mount_chamfer, drive.rim_chamfer]
            .iter()
            .map(|chamfer| {
                let unknown = if chamfer.is_some() {
                    0.0
                } else {
                    UNKNOWN_CHAMFER_SIGMA
                };
                EDGE_MODEL * random.normal() + unknown * random.normal()
            })
            .sum()
    }
}

/// Whether the linear budget holds by the trials: the ends of both 95 % intervals agree to half a unit of the first
/// digit of the standard uncertainty `u` (JCGM 101, 8.2). Lengths in mm.
pub(crate) fn agree(value: f64, u: f64, trials: &Trials) -> bool {
    let unit = 10f64.powf(u.log10().floor());
    let (low, high) = trials.symmetric_interval(0.95);
    let most = 0.5 * unit;
    (value - 1.96 * u - low).abs() <= most && (value + 1.96 * u - high).abs() <= most
}

fn impossible(why: Phrase) -> Error {
    Error::unmeasurable(
        None,
        say!("the uncertainty cannot be tried ({why})"),
        say!("leave out `trials`, or take the photos again from further left and right"),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Trials of a normal distribution agree with its own budget, and not with one twice as wide or off by two units.
    #[test]
    fn a_budget_is_held_against_its_trials() {
        let trials = Trials::run(20_000, 3, |random| 1.5 + 0.031 * random.normal()).unwrap();
        assert!(agree(1.5, 0.031, &trials));
        assert!(!agree(1.5, 0.062, &trials));
        assert!(!agree(1.52, 0.031, &trials));
    }
}
