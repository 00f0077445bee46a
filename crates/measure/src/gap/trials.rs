//! The gap's uncertainty by Monte Carlo trials (JCGM 101:2008).

use super::chamfer::UNKNOWN_CHAMFER_SIGMA;
use super::problem::Problem;
use super::refine::Refined;
use super::result::EDGE_MODEL;
use crate::trials::Disturbed;
use crate::{Error, Watch};
use shimwright_geom::Random;
use shimwright_say::say;
use shimwright_solve::{EdgeSight, JointProblem, JointState, Priors, Trials};

/// What is disturbed.
pub(crate) struct DisturbedGap<'a> {
    pub problem: &'a Problem,
    pub refined: &'a Refined,
    /// Factor by which the edges' standard deviations are widened.
    pub edges: f64,
}

impl DisturbedGap<'_> {
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
        let disturbed = Disturbed {
            model: &joint,
            solution: &refined.solution,
            hint: say!("leave out `trials`, or take the photos again from further left and right"),
        };
        let [gaps] = disturbed.run(count, watch, |state, random| {
            [gap_of(state) + self.outcome(gap_of, random) - settled + self.edge(random)]
        })?;
        Ok(gaps)
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
