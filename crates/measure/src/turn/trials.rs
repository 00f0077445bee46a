//! A turn's uncertainty by Monte Carlo trials (JCGM 101:2008).

use super::problem::Problem;
use super::result::{Numbers, across_axis};
use super::rim::Measured;
use crate::trials::{Disturbed, TriedVector, agree, by_trials, split, unit_along, wider};
use crate::{Error, Watch};
use shimwright_record::{Quantity, Value};
use shimwright_say::say;
use shimwright_solve::{CornerSight, Trials, TurnProblem};

/// What is disturbed.
pub(super) struct DisturbedTurn<'a> {
    pub problem: &'a Problem,
    pub measured: &'a Measured,
    /// Factor by which the corners' standard deviations are widened.
    pub spread: f64,
    /// Standard deviation of each component of the rim's centre from its form, mm.
    pub form: f64,
    /// Standard deviation of the rim's radius from where its edge "is", mm.
    pub edge: f64,
}

/// The numbers of a turn in the trials.
pub(super) struct TriedTurn {
    centre: TriedVector,
    tilt: TriedVector,
    diameter: Trials,
}

impl DisturbedTurn<'_> {
    /// Draws the numbers `count` times about `linear`.
    ///
    /// # Errors
    /// Cancelled; or the solution cannot be disturbed.
    pub fn run(&self, count: u32, linear: &Numbers, watch: &dyn Watch) -> Result<TriedTurn, Error> {
        let Measured {
            start,
            solution,
            sights,
            ..
        } = self.measured;
        let widened = |corners: &[CornerSight]| -> Vec<CornerSight> {
            corners.iter().map(|c| c.widened(self.spread)).collect()
        };
        let (fixed, turning) = (widened(&start.fixed), widened(&start.turning));
        let joint = TurnProblem {
            fixed: &fixed,
            turning: &turning,
            ..start.joint(self.problem, sights, &solution.state)
        };
        let disturbed = Disturbed {
            model: &joint,
            solution,
            hint: say!("leave out `trials`, or take more photos all the way round"),
        };
        let solved_radius = solution.state.rim.map_or(f64::NAN, |rim| rim.radius);
        let (centre, tilt) = (&linear.centre.value, &linear.tilt.value);
        let units = [centre, tilt].map(unit_along);
        let [along, across, rise, aside, diameter] = disturbed.run(count, watch, |state, random| {
            let [along, across] = split(&across_axis(state, state.eccentricity()), &units[0]);
            let lever = linear.diameter;
            let [rise, aside] = split(&(across_axis(state, state.rim_slope()) * lever), &units[1]);
            let grown = state.rim.map_or(f64::NAN, |rim| rim.radius) - solved_radius;
            [
                along + self.form * random.normal(),
                across + self.form * random.normal(),
                rise,
                aside,
                linear.diameter + 2.0 * (grown + self.edge * random.normal()),
            ]
        })?;
        Ok(TriedTurn {
            centre: TriedVector::of(centre, along, across),
            tilt: TriedVector::of(tilt, rise, aside),
            diameter,
        })
    }
}

impl TriedTurn {
    /// Whether the linear budget of each number holds by the trials.
    pub fn agree(&self, linear: &Numbers) -> bool {
        let Numbers { centre, tilt, .. } = linear;
        self.centre.agree(&centre.value, &centre.covariance)
            && self.tilt.agree(&tilt.value, &tilt.covariance)
            && agree(linear.diameter, linear.diameter_u, &self.diameter)
    }

    /// The numbers with the wider uncertainty of both.
    pub fn widened(&self, mut numbers: Numbers) -> Numbers {
        for (vector, tried) in [
            (&mut numbers.centre, &self.centre),
            (&mut numbers.tilt, &self.tilt),
        ] {
            vector.covariance = tried.widened(&vector.value, &vector.covariance);
        }
        let linear = 1.96 * numbers.diameter_u;
        numbers.diameter_u = wider(numbers.diameter, linear, &self.diameter) / 1.96;
        numbers
    }

    /// What the trials tell, by name, mm: of run-outs the part along the direction that was measured.
    pub fn values(&self) -> [(&'static str, Value); 3] {
        let off = by_trials(&self.centre.along);
        let radial = Quantity {
            value: 2.0 * off.value,
            u95: 2.0 * off.u95,
            ..off
        };
        [
            ("radial_runout_by_trials", Value::One(radial)),
            ("axial_runout_by_trials", Value::One(by_trials(&self.tilt.along))),
            ("rim_diameter_by_trials", Value::One(by_trials(&self.diameter))),
        ]
    }
}
