//! How an alignment is told: values, uncertainty and its budget, verdict, warnings, what is drawn.

use super::budget::{Parts, edge_model, width_part, wobble};
use super::problem::{Problem, Pulley};
use super::pulleys::{Pulleys, width};
use super::steps::Measured;
use crate::Error;
use crate::gap::view::View;
use crate::observe::Observed;
use crate::outline::Rounds;
use crate::scene::Scene;
use crate::told::{deg, mm};
use shimwright_record::conformity::{COVERAGE_95, at_most};
use shimwright_record::{CheckKind, CheckResult, Conformity, Drawn, Phrase, Quantity, Value, Verdict};
use shimwright_say::say;
use shimwright_solve::CurvesState;
use std::collections::BTreeMap;

/// Coverage factor of a length in a plane at 95 %: the root of the 95 % point of chi-squared with two degrees of freedom.
const COVERAGE_PLANE: f64 = 2.448;
/// Standard uncertainty of a measured width by its edges' model, mm.
const WIDTH_MODEL: f64 = 0.02;
/// Standard deviations by which a measured width may differ from the stated one.
const ODD_WIDTH: f64 = 3.0;

/// Tells the result.
pub(super) fn tell(
    problem: &Problem,
    scene: &Scene,
    photos: &[Observed],
    measured: &Measured,
) -> Result<CheckResult, Error> {
    let rounds = Rounds {
        scene,
        photos,
        known: &measured.known,
        edges: &measured.edges,
        names: &problem.names,
    };
    let telling = Telling::new(problem, &rounds, measured)?;
    let (misalignment, parts) = telling.misalignment();
    let mut values = BTreeMap::from([
        ("misalignment".to_owned(), Value::One(misalignment.clone())),
        ("belt_offset".to_owned(), Value::One(telling.offset())),
        ("axis_angle".to_owned(), Value::One(telling.angle())),
        (
            "axis_spread".to_owned(),
            Value::One(telling.turned(Pulleys::spread)),
        ),
        (
            "axis_twist".to_owned(),
            Value::One(telling.turned(Pulleys::twist)),
        ),
        ("pulley_distance".to_owned(), Value::One(telling.distance())),
    ]);
    let mut warnings = scene.warnings.clone();
    for (pulley, name) in [(Pulley::Driven, "driven_width"), (Pulley::Motor, "motor_width")] {
        if let Some(found) = telling.width(pulley) {
            warnings.extend(odd_width(problem, pulley, &found));
            values.insert(name.to_owned(), Value::One(found));
        }
    }
    warnings.extend(standing_warnings(problem));
    let state = &measured.best.solution.state;
    Ok(CheckResult {
        check: CheckKind::Alignment,
        verdict: verdict(problem, &misalignment, &telling),
        values,
        budget: parts.lines(problem),
        photos: scene.photo_lines(photos, &state.base, |k| drawn(problem, measured, k)),
        warnings,
    })
}

/// What the values are told from.
struct Telling<'a> {
    problem: &'a Problem,
    rounds: &'a Rounds<'a>,
    measured: &'a Measured,
    covariance: nalgebra::DMatrix<f64>,
}

impl<'a> Telling<'a> {
    fn new(problem: &'a Problem, rounds: &'a Rounds<'a>, measured: &'a Measured) -> Result<Self, Error> {
        let covariance = measured.best.solution.covariance().map_err(|error| {
            Error::unmeasurable(
                None,
                say!("the views leave the pulleys' places open ({error})"),
                say!("take another photo from further to one side"),
            )
        })?;
        Ok(Self {
            problem,
            rounds,
            measured,
            covariance,
        })
    }

    /// Variance of a number of the pulleys by source.
    fn solved(&self, value: impl Fn(&Pulleys) -> f64) -> Vec<f64> {
        let settled = &self.measured.best;
        let state = &settled.solution.state;
        let leg = self.measured.chamfer;
        self.rounds.problem(&settled.sights, state).uncertainty_of(
            &settled.solution,
            &self.covariance,
            |state| value(&Pulleys::of(self.problem, state, leg)),
        )
    }

    /// Mean of a number over the outcomes that were weighed, and its variance.
    fn weighed(&self, value: impl Fn(&CurvesState, f64) -> f64) -> (f64, f64) {
        let outcomes = &self.measured.outcomes;
        let mean: f64 = outcomes
            .iter()
            .map(|(state, leg, w)| w * value(state, *leg))
            .sum();
        let squares = outcomes
            .iter()
            .map(|(state, leg, w)| w * (value(state, *leg) - mean).powi(2));
        (mean, squares.sum())
    }

    fn mean(&self, value: impl Fn(&Pulleys) -> f64) -> (f64, f64) {
        self.weighed(|state, leg| value(&Pulleys::of(self.problem, state, leg)))
    }

    fn offset_parts(&self) -> (f64, Parts) {
        let (mean, chamfers) = self.mean(Pulleys::offset);
        let distance = self.mean(Pulleys::distance).0;
        let parts = Parts {
            solved: self.solved(Pulleys::offset),
            edges: chamfers + edge_model(self.problem),
            widths: width_part(self.problem),
            runout: wobble(self.problem) * distance * distance,
        };
        (mean, parts)
    }

    fn offset(&self) -> Quantity {
        let (mean, parts) = self.offset_parts();
        mm(mean, COVERAGE_95 * parts.u())
    }

    fn turned_parts(&self, value: impl Fn(&Pulleys) -> f64) -> (f64, Parts) {
        let (mean, chamfers) = self.mean(&value);
        let parts = Parts {
            solved: self.solved(value),
            edges: chamfers,
            widths: 0.0,
            runout: wobble(self.problem),
        };
        (mean, parts)
    }

    fn turned(&self, value: impl Fn(&Pulleys) -> f64) -> Quantity {
        let (mean, parts) = self.turned_parts(value);
        deg(mean.to_degrees(), (COVERAGE_95 * parts.u()).to_degrees())
    }

    /// The angle between the axes: the worse component's uncertainty counts, whichever way it points.
    fn angle(&self) -> Quantity {
        let (spread, by_spread) = self.turned_parts(Pulleys::spread);
        let (twist, by_twist) = self.turned_parts(Pulleys::twist);
        let u = by_spread.u().max(by_twist.u());
        deg(
            spread.hypot(twist).to_degrees(),
            (COVERAGE_PLANE * u).to_degrees(),
        )
    }

    fn distance(&self) -> Quantity {
        let mean = self.mean(Pulleys::distance).0;
        let u2: f64 = self
            .solved(Pulleys::distance)
            .iter()
            .map(|part| part.max(0.0))
            .sum();
        mm(mean, COVERAGE_95 * u2.sqrt())
    }

    fn width(&self, pulley: Pulley) -> Option<Quantity> {
        let problem = self.problem;
        let leg = self.measured.chamfer;
        width(problem, &self.measured.best.solution.state, pulley, leg)?;
        let value = |state: &CurvesState, leg: f64| width(problem, state, pulley, leg).unwrap_or(f64::NAN);
        let (mean, chamfers) = self.weighed(value);
        let settled = &self.measured.best;
        let parts = self
            .rounds
            .problem(&settled.sights, &settled.solution.state)
            .uncertainty_of(&settled.solution, &self.covariance, |state| value(state, leg));
        let u2 = parts.iter().map(|part| part.max(0.0)).sum::<f64>() + chamfers + WIDTH_MODEL * WIDTH_MODEL;
        Some(mm(mean, COVERAGE_95 * u2.sqrt()))
    }

    /// Slant of the offset and angle of the axes, added. Where both are near nothing their signs are open, so the worst of the
    /// four ways in which they may add up tells the uncertainty.
    fn misalignment(&self) -> (Quantity, Parts) {
        let (slant, spread, twist) = (
            self.mean(Pulleys::slant).0,
            self.mean(Pulleys::spread).0,
            self.mean(Pulleys::twist).0,
        );
        let value = slant.abs() + spread.hypot(twist);
        let ways = [(1.0, false), (-1.0, false), (1.0, true), (-1.0, true)];
        let added = |(sign, twisted): (f64, bool)| {
            move |pulleys: &Pulleys| {
                let turned = if twisted {
                    pulleys.twist()
                } else {
                    pulleys.spread()
                };
                pulleys.slant() + sign * turned
            }
        };
        let solved = ways
            .map(|way| self.solved(added(way)))
            .into_iter()
            .max_by(|a, b| a.iter().sum::<f64>().total_cmp(&b.iter().sum()))
            .unwrap_or_default();
        let chamfers = ways
            .map(|way| self.mean(added(way)).1)
            .into_iter()
            .fold(0.0, f64::max);
        let per_mm = 1.0 / self.mean(Pulleys::distance).0.powi(2);
        let parts = Parts {
            solved,
            edges: chamfers + edge_model(self.problem) * per_mm,
            widths: width_part(self.problem) * per_mm,
            // A tilt of the wheel's pulley turns both the axis and the slant.
            runout: 4.0 * wobble(self.problem),
        }
        .scaled(1f64.to_degrees());
        (deg(value.to_degrees(), COVERAGE_95 * parts.u()), parts)
    }
}

fn verdict(problem: &Problem, misalignment: &Quantity, telling: &Telling) -> Verdict {
    let (state, probability) = at_most(misalignment.value, misalignment.u95, problem.limit);
    let limit = problem.limit;
    let (offset, angle) = (telling.offset(), telling.angle());
    let made_of = say!(
        "{:.2} mm of offset and {:.2} degrees between the axes",
        offset.value.abs(),
        angle.value
    );
    let text = match state {
        Conformity::Within => say!("the belt runs straight: {made_of} together keep {limit} degrees"),
        Conformity::Outside => {
            say!("the belt does not run straight: {made_of} together exceed {limit} degrees")
        }
        Conformity::Undecided => {
            let twist = telling.turned(Pulleys::twist).u95;
            let spread = telling.turned(Pulleys::spread).u95;
            let where_from = if twist > spread {
                say!("from lower down, in front of the motor")
            } else {
                say!("from straight above")
            };
            say!(
                "{made_of} are too near to the limit of {limit} degrees to say; one more photo {where_from} would help most"
            )
        }
    };
    Verdict {
        state,
        text,
        limit,
        probability,
    }
}

fn odd_width(problem: &Problem, pulley: Pulley, found: &Quantity) -> Option<Phrase> {
    let stated = problem.width(pulley)?;
    let sigma = found.u95.hypot(stated.u95) / COVERAGE_95;
    let off = (found.value - stated.value).abs();
    (off > ODD_WIDTH * sigma).then(|| {
        say!(
            "{} is stated to be {:.2} mm wide and the photos show {:.2} mm: check the width, the print scale, and that \
             both marks lie on its outer edges",
            pulley.words(),
            stated.value,
            found.value
        )
    })
}

fn standing_warnings(problem: &Problem) -> Vec<Phrase> {
    let mut warnings = Vec::new();
    if problem.drive.axial_runout.is_none() {
        warnings.push(
            say!("the alignment is that of the wheel as it stands: an axial run-out of its pulley is not in it; turn the wheel half \
             round and measure again, or state it as `axial_runout`"),
        );
    }
    if problem.drive.rim_chamfer.is_none() {
        warnings.push(
            say!("the chamfer of the pulleys' edges is not known, which widens the uncertainty; state it as `rim_chamfer` if you \
             can"),
        );
    }
    warnings
}

fn drawn(problem: &Problem, measured: &Measured, photo: usize) -> Vec<Drawn> {
    let state = &measured.best.solution.state;
    let view = View::of(&state.base, photo);
    let mut drawn = Vec::new();
    for (curve, name) in problem.names.iter().enumerate() {
        let (from, to) = measured.edges[curve].range;
        let points = (0..=48).filter_map(|i| {
            let t = from + (to - from) * f64::from(i) / 48.0;
            view.see(&state.curves[curve].point(t)).map(|p| [p.x, p.y])
        });
        drawn.push(Drawn {
            what: (*name).into(),
            points: points.collect(),
        });
        let sights = measured.best.sights.iter();
        drawn.push(Drawn {
            what: "edge_point".into(),
            points: sights
                .filter(|sight| sight.photo == photo && sight.curve == curve)
                .map(|sight| [sight.at.x, sight.at.y])
                .collect(),
        });
    }
    drawn
}
