//! How a turn is told: values, uncertainty and its budget, verdict, warnings, what is drawn.

use super::photos::{SeenInPhotos, photo_lines};
use super::problem::Problem;
use super::rim::{Located, Measured, PIECES, chamfer};
use super::start::widest_gap;
use super::steady::Steady;
use super::trials::DisturbedTurn;
use super::vector::{Polar, polar};
use crate::observe::Observed;
use crate::told::{deg, mm};
use crate::trials::{disagreement, unit_along};
use crate::{Error, Watch};
use nalgebra::{DMatrix, DVector, Matrix2, Vector2};
use shimwright_geom::Vec3;
use shimwright_record::{
    BudgetLine, CheckKind, CheckResult, Conformity, Phrase, Quantity, Value, Verdict, conformity,
};
use shimwright_say::say;
use shimwright_solve::{Group, TurnProblem, TurnState};
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// Standard uncertainty of where an edge "is" when its chamfer is known, mm: rounding and burrs.
const EDGE_MODEL: f64 = 0.012;
/// Standard deviation of a chamfer that nobody stated, mm.
const UNKNOWN_CHAMFER_SIGMA: f64 = 0.06;
/// Least part of the chamfer by which the light on it may shift the edge all round (standard deviation): what the pixels tell
/// of it is not believed closer than this.
const CHAMFER_LIGHT: f64 = 0.1;
/// Bins around the rim in which its form is judged.
const BINS: usize = 24;
/// A part of the turn without a photo wider than this is warned of, rad.
const WIDE_GAP: f64 = 2.1;
/// A rim this far from its stated diameter may be another edge, mm.
const OTHER_RIM: f64 = 0.6;

/// A vector square to the axis with what it depends on.
pub(super) struct Measurand {
    pub value: Vector2<f64>,
    /// The same in the turning frame, for its direction.
    direction: Vec3,
    pub covariance: Matrix2<f64>,
    /// Variance of its size by group of residuals.
    parts: Vec<f64>,
}

/// The numbers of a turn with their standard uncertainties.
pub(super) struct Numbers {
    /// The rim's centre off the axis, mm.
    pub centre: Measurand,
    /// How far the rim rises over its diameter, mm.
    pub tilt: Measurand,
    pub diameter: f64,
    pub diameter_u: f64,
}

/// Tells the result.
///
/// # Errors
/// The views leave the run-out open; or cancelled while the uncertainty was tried.
pub(crate) fn tell(
    problem: &Problem,
    photos: &[Observed],
    measured: &Measured,
    steady: &Steady,
    watch: &dyn Watch,
) -> Result<CheckResult, Error> {
    let state = &measured.solution.state;
    let (Some(rim), Some(eccentricity), Some(slope)) = (state.rim, state.eccentricity(), state.rim_slope())
    else {
        return Err(open(say!("no rim was found")));
    };
    let joint = measured.start.joint(problem, &measured.sights, state);
    let covariance = measured
        .solution
        .covariance()
        .map_err(|error| open(error.halves().0))?;
    let told = Told {
        measured,
        joint,
        covariance,
        spread: steady.spread,
    };
    let form = form(&measured.located);
    let radius = rim.radius + measured.size.grown + chamfer(problem);
    let edge = edge_model(problem, measured).sqrt();
    let mut told_of = Numbers {
        centre: told.measurand(eccentricity, 1.0, form, &|s| s.eccentricity()),
        tilt: told.measurand(slope, 2.0 * radius, 0.0, &|s| s.rim_slope()),
        diameter: 2.0 * radius,
        diameter_u: 2.0 * told.radius_u().hypot(edge),
    };
    let disturbed = DisturbedTurn {
        problem,
        measured,
        spread: steady.spread,
        form,
        edge,
    };
    let tried = problem
        .trials
        .map(|count| disturbed.run(count, &told_of, watch))
        .transpose()?;
    let disagree = tried.as_ref().is_some_and(|tried| !tried.agree(&told_of));
    if let Some(tried) = &tried {
        told_of = tried.widened(told_of);
    }
    let diameter = mm(told_of.diameter, 1.96 * told_of.diameter_u);
    let (off, high) = (told_of.centre.polar(), told_of.tilt.polar());
    let mut warnings = warnings(problem, &told, steady, &off, &diameter);
    warnings.extend(disagree.then(disagreement));
    let mut values = BTreeMap::from([
        ("eccentricity", Value::One(mm(off.size, off.size_u95))),
        ("eccentricity_direction", Value::One(direction(&off))),
        (
            "radial_runout",
            Value::One(mm(2.0 * off.size, 2.0 * off.size_u95)),
        ),
        ("axial_runout", Value::One(mm(high.size, high.size_u95))),
        ("axial_high_direction", Value::One(direction(&high))),
        ("rim_diameter", Value::One(diameter)),
        ("angles", Value::Many(told.angles())),
    ]);
    values.extend(tried.iter().flat_map(|tried| tried.values()));
    Ok(CheckResult {
        check: CheckKind::Turn,
        values: values
            .into_iter()
            .map(|(name, value)| (name.to_owned(), value))
            .collect(),
        verdict: verdict(problem, &off),
        budget: budget(&told_of.centre, form, steady),
        photos: photo_lines(
            problem,
            photos,
            &SeenInPhotos {
                used: &measured.start.used,
                state,
                joint: &told.joint,
                located: &measured.located,
            },
        ),
        warnings,
    })
}

fn open(error: Phrase) -> Error {
    Error::unmeasurable(
        None,
        say!("the views leave the run-out open ({error})"),
        say!("take more photos all the way round, some from a little further left, right, above and below"),
    )
}

/// A direction in the turning frame, counter-clockwise from its x axis as seen from its printed side: the frame's y
/// points down there.
fn direction(of: &Polar) -> Quantity {
    deg(of.direction.to_degrees(), of.direction_u95.to_degrees())
}

impl Measurand {
    fn polar(&self) -> Polar {
        let own = polar(&self.value, &self.covariance);
        Polar {
            direction: (-self.direction.y).atan2(self.direction.x),
            ..own
        }
    }
}

/// The solution with its covariance.
struct Told<'a> {
    measured: &'a Measured,
    joint: TurnProblem<'a>,
    covariance: DMatrix<f64>,
    /// Factor on the standard deviations of corners.
    spread: f64,
}

impl Told<'_> {
    fn state(&self) -> &TurnState {
        &self.measured.solution.state
    }

    /// Variance of a gradient by group, that of the corners widened by the wheel's unsteadiness.
    fn parts(&self, gradient: &DVector<f64>) -> Vec<f64> {
        let mut parts = self
            .measured
            .solution
            .variance_by_group(&self.covariance, gradient);
        parts[Group::Corners as usize] *= self.spread * self.spread;
        parts
    }

    /// A vector of the turning frame, times a factor, with `form` (standard deviation a component) added.
    fn measurand(
        &self,
        at: Vec3,
        factor: f64,
        form: f64,
        of: &dyn Fn(&TurnState) -> Option<Vec3>,
    ) -> Measurand {
        let component = |s: &TurnState, k: usize| factor * across_axis(s, of(s))[k];
        let state = self.state();
        let gradients = [0, 1].map(|k| self.joint.gradient_of(state, |s| component(s, k)));
        let value = Vector2::new(component(state, 0), component(state, 1));
        let unit = unit_along(&value);
        let parts = self.parts(&(&gradients[0] * unit.x + &gradients[1] * unit.y));
        let total = |g: &DVector<f64>| self.parts(g).iter().sum::<f64>();
        let (xx, yy) = (total(&gradients[0]), total(&gradients[1]));
        let xy = (total(&(&gradients[0] + &gradients[1])) - xx - yy) / 2.0;
        let form = form * form;
        Measurand {
            value,
            direction: at,
            covariance: Matrix2::new(xx + form, xy, xy, yy + form),
            parts,
        }
    }

    /// Standard uncertainty of the radius that was solved for, mm.
    fn radius_u(&self) -> f64 {
        let gradient = self
            .joint
            .gradient_of(self.state(), |s| s.rim.map_or(f64::NAN, |rim| rim.radius));
        self.parts(&gradient).iter().sum::<f64>().sqrt()
    }

    /// Angles of the wheel against the first photo, about the axis that points into the printed side.
    fn angles(&self) -> Vec<Quantity> {
        let state = self.state();
        let first = self.joint.angle_at(0);
        (0..state.photos.len())
            .map(|k| {
                let mut gradient = DVector::zeros(self.covariance.nrows());
                gradient[self.joint.angle_at(k)] += 1.0;
                gradient[first] -= 1.0;
                let u = self.parts(&gradient).iter().sum::<f64>().max(0.0).sqrt();
                let turned = (state.photos[k].angle - state.photos[0].angle).rem_euclid(TAU);
                deg(turned.to_degrees(), 1.96 * u.to_degrees())
            })
            .collect()
    }
}

/// A vector of the turning frame by its components across the axis.
pub(super) fn across_axis(state: &TurnState, vector: Option<Vec3>) -> Vector2<f64> {
    let own = vector.map(|v| state.turning_from_axis.inverse().direction(&v));
    own.map_or(Vector2::repeat(f64::NAN), |v| v.xy())
}

/// Variance of the rim's radius from where its edge "is" and which line of its chamfer was seen, mm^2.
fn edge_model(problem: &Problem, measured: &Measured) -> f64 {
    // The outer of the chamfer's two lines mostly shows; where it does, a leg that is not known does not matter.
    let unknown = if problem.drive.rim_chamfer.is_some() {
        0.0
    } else {
        0.5 * UNKNOWN_CHAMFER_SIGMA
    };
    let light = measured.size.open.max(CHAMFER_LIGHT * chamfer(problem));
    EDGE_MODEL.powi(2) + light * light + unknown * unknown
}

/// Standard uncertainty in each component of the rim's centre from its form, mm: what the same place of the rim shows in
/// all photos does not average out.
fn form(located: &[Located]) -> f64 {
    let (mut sums, mut weights) = ([0.0; BINS], [0.0; BINS]);
    for piece in located.iter().filter(|l| l.residual.is_finite()) {
        let sigma = piece.sight.sigma_px / piece.per_mm;
        let weight = 1.0 / (sigma * sigma * (1.0 + piece.residual * piece.residual / 9.0));
        let bin = piece.place * BINS / PIECES;
        sums[bin] += weight * piece.residual * sigma;
        weights[bin] += weight;
    }
    let seen: Vec<usize> = (0..BINS).filter(|&b| weights[b] > 0.0).collect();
    // Centre, radius and tilt took six of them.
    let freedom = (seen.len() as f64 - 6.0).max(1.0);
    let scatter: f64 = seen.iter().map(|&b| (sums[b] / weights[b]).powi(2)).sum::<f64>() / freedom;
    let noise: f64 = seen.iter().map(|&b| 1.0 / weights[b]).sum::<f64>() / seen.len().max(1) as f64;
    ((scatter - noise).max(0.0) * 2.0 / seen.len().max(1) as f64).sqrt()
}

/// The budget of the radial run-out.
fn budget(centre: &Measurand, form: f64, steady: &Steady) -> Vec<BudgetLine> {
    let part = |group: Group| centre.parts[group as usize].max(0.0);
    let corners = if steady.spread > 1.2 {
        say!("how well the corners of card and ring were located, and how steadily the wheel turns")
    } else {
        say!("how well the corners of card and ring were located")
    };
    let mut lines: Vec<BudgetLine> = [
        (say!("corner noise"), part(Group::Corners), corners),
        (
            say!("edge noise"),
            part(Group::Edges),
            say!("how well the rim was located"),
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
            part(Group::Flatness),
            say!("how flat card and ring are taken to be"),
        ),
        (
            say!("model choice"),
            part(Group::Features) + part(Group::EdgeShift) + form * form,
            say!("light around the rim, and its form"),
        ),
    ]
    .into_iter()
    .map(|(name, variance, note)| BudgetLine {
        part: name,
        u: 2.0 * variance.sqrt(),
        note,
    })
    .collect();
    lines.sort_by(|a, b| b.u.total_cmp(&a.u));
    lines
}

pub(super) fn verdict(problem: &Problem, off: &Polar) -> Verdict {
    let limit = problem.runout_limit;
    let (state, probability) = conformity::at_most(2.0 * off.size, 2.0 * off.size_u95, limit);
    let text = match state {
        Conformity::Within => say!("the radial run-out keeps the limit of {limit:.2} mm"),
        Conformity::Outside => say!("the radial run-out is above the limit of {limit:.2} mm"),
        Conformity::Undecided => say!(
            "the radial run-out is too near to the limit of {limit:.2} mm to say; more photos at other wheel angles \
             would help most"
        ),
    };
    Verdict {
        state,
        text,
        limit,
        probability,
    }
}

fn warnings(
    problem: &Problem,
    told: &Told,
    steady: &Steady,
    off: &Polar,
    diameter: &Quantity,
) -> Vec<Phrase> {
    let mut warnings = told.measured.start.warnings.clone();
    warnings.extend(steady.warning.clone());
    if problem.drive.runout_limit.is_none() {
        warnings.push(say!(
            "no run-out limit was given; the verdict is against {:.2} mm, which is ours",
            problem.runout_limit
        ));
    }
    if !problem.scale_checked {
        warnings.push(
            say!("the print scale was never checked: an error of 1 % of the printer is allowed for; measure both bars \
             on the sheet with callipers and enter their lengths"),
        );
    }
    if problem.drive.rim_chamfer.is_none() {
        warnings.push(say!(
            "the rim's chamfer is not known, which widens the rim diameter's uncertainty"
        ));
    }
    let gap = widest_gap(told.state());
    if gap > WIDE_GAP {
        warnings.push(say!(
            "no photo was taken over {:.0} degrees of the turn; spread them all the way round",
            gap.to_degrees()
        ));
    }
    if let Some(stated) = problem.drive.rim_diameter
        && (diameter.value - stated).abs() > OTHER_RIM.max(1.5 * diameter.u95)
    {
        warnings.push(say!(
            "the rim measures {:.2} mm across and {stated:.2} mm were stated: another edge may have been marked",
            diameter.value
        ));
    }
    warnings.extend(toward_screw(problem, off));
    warnings
}

/// Where the rim stands out, told from screw 1.
fn toward_screw(problem: &Problem, off: &Polar) -> Option<Phrase> {
    let screw = problem.drive.mark_screw_angle?;
    let from = (off.direction.to_degrees() - screw).rem_euclid(360.0);
    Some(if off.direction_u95 > 1.6 {
        say!("the eccentricity is too small to tell its direction from screw 1")
    } else {
        say!(
            "the rim stands out farthest {from:.0} degrees counter-clockwise from screw 1, give or take {:.0}",
            off.direction_u95.to_degrees()
        )
    })
}
