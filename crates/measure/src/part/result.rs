//! How a part is told: sizes, their uncertainty and its budget, verdict, warnings, what is drawn.

use super::problem::{INNER, OUTER, Problem};
use super::steps::Measured;
use super::values::{self, Size};
use crate::Error;
use crate::gap::view::View;
use crate::observe::Observed;
use crate::outline::Rounds;
use crate::scene::Scene;
use crate::told::mm;
use shimwright_record::conformity::{COVERAGE_95, GUARD_FACTOR, normal_cdf};
use shimwright_record::{
    BudgetLine, CheckKind, CheckResult, Conformity, Drawn, Phrase, Quantity, Value, Verdict,
};
use shimwright_say::say;
use shimwright_solve::{CurvesState, Group, Known};
use std::collections::BTreeMap;

/// Standard uncertainty of where an edge "is" when its chamfer is known, mm: rounding and burrs of each edge.
const EDGE_MODEL: f64 = 0.008;
/// The same when the chamfer was found from the photos: the legs tried lie some hundredths apart.
const UNKNOWN_CHAMFER: f64 = 0.03;
/// Standard uncertainty of the leg itself then, mm: the face stands that far above the wall's end.
const UNKNOWN_LEG: f64 = 0.1;
/// Expanded uncertainty that is good enough where the job names no tolerance, mm: a tenth is what callipers in a workshop
/// are trusted to (common practice, no source).
const GOOD_MM: f64 = 0.1;
/// A size that is known worse than this is not told, mm: a rule held beside the part tells as much (ours).
const LEAST_KNOWN: f64 = 2.0;
/// Coverage factor of a length in a plane at 95 %: the root of the 95 % point of chi-squared with two degrees of freedom.
const COVERAGE_PLANE: f64 = 2.448;

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
    let sizes = values::sizes(problem);
    let mut told: BTreeMap<String, Value> = sizes
        .iter()
        .map(|(name, size)| ((*name).to_owned(), Value::One(telling.size(*size).0)))
        .collect();
    if let Some(offset) = telling.centre_offset() {
        told.insert("centre_offset".into(), Value::One(offset));
    }
    told.insert("height".into(), Value::One(telling.height()));
    let (main, size) = sizes[0];
    let (quantity, parts) = telling.size(size);
    check_known(main, &quantity)?;
    let state = &measured.best.solution.state;
    Ok(CheckResult {
        check: CheckKind::Part,
        values: told,
        verdict: verdict(problem, main, &quantity),
        budget: budget(problem, &parts),
        photos: scene.photo_lines(photos, &state.base, |k| drawn(problem, measured, k)),
        warnings: telling.warnings(),
    })
}

/// A size in a sentence.
fn words(size: &str) -> Phrase {
    match size {
        "outer_diameter" => say!("outer diameter"),
        "inner_diameter" => say!("inner diameter"),
        _ => say!("width"),
    }
}

/// Refuses a size that is no better known than by a look.
fn check_known(main: &str, quantity: &Quantity) -> Result<(), Error> {
    if quantity.u95 <= LEAST_KNOWN {
        return Ok(());
    }
    Err(Error::unmeasurable(
        None,
        say!(
            "the photos leave the {} open by {:.1} mm either way, and {LEAST_KNOWN} mm is the limit",
            words(main),
            quantity.u95
        ),
        say!("take another photo from a slant and from nearer, and state the part's `height`"),
    ))
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
                say!("the views leave the part's size open ({error})"),
                say!("take another photo from a slant, or state the part's `height`"),
            )
        })?;
        Ok(Self {
            problem,
            rounds,
            measured,
            covariance,
        })
    }

    /// Variance of a value by source.
    fn parts(&self, value: impl Fn(&CurvesState) -> f64) -> Vec<f64> {
        let settled = &self.measured.best;
        let state = &settled.solution.state;
        self.rounds
            .problem(&settled.sights, state)
            .uncertainty_of(&settled.solution, &self.covariance, value)
    }

    /// Mean of a value over the outcomes that were weighed, and its variance.
    fn weighed(&self, value: impl Fn(&CurvesState, f64) -> f64) -> (f64, f64) {
        let outcomes = &self.measured.outcomes;
        let mean: f64 = outcomes
            .iter()
            .map(|(state, leg, w)| w * value(state, *leg))
            .sum();
        let variance = outcomes
            .iter()
            .map(|(state, leg, w)| w * (value(state, *leg) - mean).powi(2));
        (mean, variance.sum())
    }

    /// Variance of a length for a chamfer that the job does not state, from its standard uncertainty then.
    fn unless_stated(&self, u: f64) -> f64 {
        match self.problem.drive.rim_chamfer {
            Some(_) => 0.0,
            None => u * u,
        }
    }

    /// A size with its uncertainty, and the parts of its variance: those of the solve, then that of the edges' model.
    fn size(&self, size: Size) -> (Quantity, Vec<f64>) {
        let mut parts = self.parts(|state| size.of(state));
        let (mean, chamfers) = self.weighed(|state, _| size.of(state));
        // Two edges, one on each side.
        let open = size.open(&self.measured.best.open);
        parts.push(chamfers + open + 2.0 * EDGE_MODEL * EDGE_MODEL + self.unless_stated(UNKNOWN_CHAMFER));
        let u = parts.iter().map(|part| part.max(0.0)).sum::<f64>().sqrt();
        (mm(mean, COVERAGE_95 * u), parts)
    }

    /// Distance between the centres of outer rim and bore.
    fn centre_offset(&self) -> Option<Quantity> {
        let (outer, inner) = (self.problem.curve(OUTER)?, self.problem.curve(INNER)?);
        let state = &self.measured.best.solution.state;
        let offset = values::offset(state, outer, inner);
        let along = |k: usize| {
            self.parts(move |state| values::offset(state, outer, inner)[k])
                .iter()
                .sum::<f64>()
        };
        // Either axis may be the one along the offset: the worse one counts. A chamfer or burr moves each centre little.
        let u = (along(0).max(along(1)) + EDGE_MODEL * EDGE_MODEL).sqrt();
        Some(mm(offset.norm(), COVERAGE_PLANE * u))
    }

    /// Height of the upper face above the sheet, by the first curve.
    fn height(&self) -> Quantity {
        let problem = |state: &CurvesState| {
            let sights = &self.measured.best.sights;
            self.rounds.problem(sights, state).height_of(state, 0)
        };
        let u2: f64 = self.parts(problem).iter().sum();
        let (mean, chamfers) = self.weighed(|state, leg| problem(state) + leg);
        // The chamfer's two lines lie as far apart in height as they do outward.
        let open = self.measured.best.open[0];
        let model = EDGE_MODEL * EDGE_MODEL + open * open + self.unless_stated(UNKNOWN_LEG);
        mm(mean, COVERAGE_95 * (u2 + chamfers + model).sqrt())
    }

    fn warnings(&self) -> Vec<Phrase> {
        let mut warnings = self.rounds.scene.warnings.clone();
        if self.problem.drive.rim_chamfer.is_none() {
            warnings.push(
                say!("the chamfer of the part's edges is not known, which widens the uncertainty; state it if you can"),
            );
        }
        let state = &self.measured.best.solution.state;
        for known in &self.measured.known {
            let Known::Height { curve, height, sigma } = *known else {
                continue;
            };
            let solved = self.rounds.problem(&[], state).height_of(state, curve);
            let off = (solved - height).abs();
            if off > 2.0 * sigma && self.rounds.scene.used.len() > 1 {
                warnings.push(say!(
                    "the stated height of `{}` is {:.2} mm and the photos show {:.2} mm: measure it again, or leave it out",
                    self.problem.names[curve],
                    height + self.measured.chamfer,
                    solved + self.measured.chamfer
                ));
            }
        }
        warnings
    }
}

fn budget(problem: &Problem, parts: &[f64]) -> Vec<BudgetLine> {
    let part = |group: Group| parts[group as usize].max(0.0);
    let height = parts[Group::COUNT].max(0.0);
    let chamfer = parts[Group::COUNT + 1];
    let chamfer_note = if problem.drive.rim_chamfer.is_some() {
        say!("rounding and burrs of the edges")
    } else {
        say!("the chamfer is not known: which line of the edge is seen stays open; state it to narrow this")
    };
    let mut lines: Vec<BudgetLine> = [
        (
            say!("corner noise"),
            part(Group::Corners),
            say!("how well the sheet's corners were located"),
        ),
        (
            say!("edge noise"),
            part(Group::Edges) + part(Group::EdgeShift),
            say!("how well the part's edges were located, and what light may do to them"),
        ),
        (
            say!("camera"),
            part(Group::Camera),
            say!("what is known of the lens beforehand"),
        ),
        (
            say!("print scale"),
            part(Group::Scale),
            say!("how well the print's size is known"),
        ),
        (
            say!("target flatness"),
            part(Group::Flatness) + part(Group::Features),
            say!("how flat the sheet and the part's face are taken to be"),
        ),
        (
            say!("height"),
            height,
            say!("how well the stated height is known"),
        ),
        (say!("chamfer"), chamfer, chamfer_note),
    ]
    .into_iter()
    .filter(|(name, variance, _)| *name != "height" || *variance > 0.0)
    .map(|(name, variance, note)| BudgetLine {
        part: name,
        u: variance.sqrt(),
        note,
    })
    .collect();
    lines.sort_by(|a, b| b.u.total_cmp(&a.u));
    lines
}

/// Against the tolerance that the job names, or else whether the size is known well enough.
fn verdict(problem: &Problem, main: &str, quantity: &Quantity) -> Verdict {
    let name = words(main);
    let u = quantity.u95 / COVERAGE_95;
    let (Some(nominal), Some(tolerance)) = (problem.drive.nominal, problem.drive.tolerance) else {
        return measured_well(&name, quantity.u95);
    };
    let off = quantity.value - nominal;
    // JCGM 106:2012, two-sided.
    let probability = normal_cdf((tolerance - off) / u) - normal_cdf((-tolerance - off) / u);
    let limits = say!("{nominal:.2} +- {tolerance:.2} mm");
    let (state, text) = if probability >= 0.95 {
        (Conformity::Within, say!("the {name} keeps {limits}"))
    } else if off.abs() - tolerance >= GUARD_FACTOR * u {
        (Conformity::Outside, say!("the {name} is outside {limits}"))
    } else {
        (
            Conformity::Undecided,
            say!(
                "the {name} is too near to the limits {limits} to say; one more photo from nearer or from another side \
                 would help most"
            ),
        )
    };
    Verdict {
        state,
        text,
        limit: tolerance,
        probability,
    }
}

fn measured_well(name: &str, u95: f64) -> Verdict {
    // Rounded up: never told as better known than it is.
    let known = say!(
        "the {name} is known to {:.2} mm (95 %), and {GOOD_MM:.2} mm is good enough",
        (100.0 * u95).ceil() / 100.0
    );
    let (state, text) = if u95 <= GOOD_MM {
        (
            Conformity::Within,
            say!("{known}; the job names no size to judge it by"),
        )
    } else {
        (
            Conformity::Undecided,
            say!(
                "{known}: state what the warnings ask for, or take one more photo from nearer or from another side"
            ),
        )
    };
    Verdict {
        state,
        text,
        limit: GOOD_MM,
        probability: 2.0 * normal_cdf(GOOD_MM / (u95 / COVERAGE_95)) - 1.0,
    }
}

fn drawn(problem: &Problem, measured: &Measured, photo: usize) -> Vec<Drawn> {
    let state = &measured.best.solution.state;
    let view = View::of(&state.base, photo);
    let mut drawn = Vec::new();
    for (curve, name) in problem.names.iter().enumerate() {
        let (from, to) = measured.edges[curve].range;
        let points = (0..=72).filter_map(|i| {
            let t = from + (to - from) * f64::from(i) / 72.0;
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
