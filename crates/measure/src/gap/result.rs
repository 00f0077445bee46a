//! How a gap is told: value, uncertainty and its budget, verdict, warnings, what is drawn.

use super::agree;
use super::chamfer::{self, UNKNOWN_CHAMFER_SIGMA};
use super::over_turn;
use super::problem::Problem;
use super::refine::Refined;
use super::start::card_corners;
use super::trials::DisturbedGap;
use super::view::View;
use crate::observe::Observed;
use crate::told::{deg, drawn_target, mm};
use crate::trials::{self, by_trials, wider};
use crate::{Error, Watch};
use shimwright_geom::Vec3;
use shimwright_record::{
    BudgetLine, CheckKind, CheckResult, Conformity, Drawn, PhotoUse, Phrase, Value, Verdict, conformity,
};
use shimwright_say::say;
use shimwright_solve::{Circle, FeatureId, Group, JointState, Line};
use std::collections::BTreeMap;

/// Standard uncertainty of where an edge "is" when its chamfer is known, mm: rounding and burrs of each edge.
pub(crate) const EDGE_MODEL: f64 = 0.012;
/// How much wider the edges' part is when one view stands alone: how bright the chamfers are, all along the rim, is
/// then told by that view only. On rendered single views errors were 1.6 times what the noise foretells.
const ONE_VIEW: f64 = 1.6;
/// Photos that contradict each other by more than this times what is usual are told of.
const STRAINED: f64 = 1.5;
/// Edges that still moved by more than this in the last round of settling are told of, px.
const UNREST: f64 = 0.05;
/// How far beyond the marks the edges are taken to go on, mm.
const BEYOND_MARKS: f64 = 5.0;

/// Tells the result.
///
/// # Errors
/// The views leave the gap open; or cancelled while the uncertainty was tried.
pub(crate) fn tell(
    problem: &Problem,
    photos: &[Observed],
    refined: &Refined,
    watch: &dyn Watch,
) -> Result<CheckResult, Error> {
    let state = &refined.solution.state;
    let (Some(line), Some(circle)) = (state.line, state.circle) else {
        return Err(Error::unmeasurable(
            None,
            say!("no edges were found"),
            say!("mark both edges"),
        ));
    };
    let range = facing(&line, &circle, refined.mount_range);
    let at = smallest(&line, &circle, range);
    let gap_of = |state: &JointState| gap_at(state, at);
    let tilt_of = |state: &JointState| tilt(state);
    let joint = refined.start.joint(problem, &refined.edges, state);
    let covariance = refined.solution.covariance().map_err(|error| {
        Error::unmeasurable(
            None,
            say!("the views leave the gap open ({error})"),
            say!("take another photo from further left or right"),
        )
    })?;
    let (gap, spread) = weighed(refined, &gap_of);
    let alone = if refined.start.used.len() == 1 {
        ONE_VIEW
    } else {
        1.0
    };
    let spread = alone * spread;
    let strain = agree::strain(refined);
    let mut parts = joint.uncertainty_of(&refined.solution, &covariance, gap_of);
    parts[Group::Edges as usize] *= (alone * strain).powi(2);
    let budget = budget(problem, &parts, spread);
    let u = budget.iter().map(|line| line.u * line.u).sum::<f64>().sqrt();
    let mut tilt_parts = joint.uncertainty_of(&refined.solution, &covariance, tilt_of);
    tilt_parts[Group::Edges as usize] *= strain * strain;
    let tilt_u = tilt_parts.iter().sum::<f64>().sqrt();
    let disturbed = DisturbedGap {
        problem,
        refined,
        edges: alone * strain,
    };
    let trials = problem
        .trials
        .map(|count| disturbed.run(count, &gap_of, watch))
        .transpose()?;
    let agree = trials.as_ref().is_none_or(|t| trials::agree(gap, u, t));
    let u95 = trials.as_ref().map_or(1.96 * u, |t| wider(gap, 1.96 * u, t));
    let gap_quantity = mm(gap, u95);
    let over_turn = over_turn::smallest(problem, gap, u95);
    let mut warnings = warnings(problem, refined, tilt_of(state), tilt_u);
    warnings.extend(over_turn::warning(problem, over_turn.as_ref()));
    if !agree {
        warnings.push(trials::disagreement());
    }
    let mut values = BTreeMap::from([
        ("gap".to_owned(), Value::One(gap_quantity)),
        (
            "axis_tilt".to_owned(),
            Value::One(deg(tilt_of(state).to_degrees(), (1.96 * tilt_u).to_degrees())),
        ),
    ]);
    values.extend(
        trials
            .as_ref()
            .map(|t| ("gap_by_trials".to_owned(), Value::One(by_trials(t)))),
    );
    values.extend(over_turn.map(|smallest| ("gap_over_turn".to_owned(), Value::One(smallest))));
    Ok(CheckResult {
        check: CheckKind::Gap,
        values,
        verdict: verdict(problem, gap, u95),
        budget,
        photos: photo_lines(problem, photos, refined, at),
        warnings,
    })
}

/// A value at the outcome that is told, and how far from it the others that were weighed lie (root mean square). Their mean
/// would be drawn by outcomes that do not hold.
fn weighed(refined: &Refined, value: &impl Fn(&JointState) -> f64) -> (f64, f64) {
    let told = refined
        .outcomes
        .first()
        .map_or(f64::NAN, |(state, _)| value(state));
    let away = refined
        .outcomes
        .iter()
        .map(|(state, weight)| weight * (value(state) - told).powi(2));
    (told, away.sum::<f64>().sqrt())
}

/// The part of the mount's edge that faces the rim, mm along it: inside the rim's disc, and not far beyond the marks.
fn facing(line: &Line, circle: &Circle, marked: (f64, f64)) -> (f64, f64) {
    let d = line.point - circle.centre;
    let flat = |v: &Vec3| v - circle.normal * v.dot(&circle.normal);
    let (p, u) = (flat(&d), flat(&line.direction));
    let (a, b, c) = (u.dot(&u), p.dot(&u), p.dot(&p) - circle.radius * circle.radius);
    let root = b * b - a * c;
    let marked = (marked.0 - BEYOND_MARKS, marked.1 + BEYOND_MARKS);
    if root <= 0.0 {
        return marked;
    }
    let (low, high) = ((-b - root.sqrt()) / a, (-b + root.sqrt()) / a);
    let range = (low.max(marked.0), high.min(marked.1));
    if range.0 < range.1 { range } else { marked }
}

/// Where along the edge the gap is smallest: it is linear along a straight edge, so at one of the ends.
fn smallest(line: &Line, circle: &Circle, range: (f64, f64)) -> f64 {
    let at = |t: f64| gap_between(line, circle, t);
    if at(range.0) < at(range.1) {
        range.0
    } else {
        range.1
    }
}

/// Distance along the axis from a place on the mount's edge to the rim's plane, mm.
pub(crate) fn gap_between(line: &Line, circle: &Circle, t: f64) -> f64 {
    let axis = chamfer::axis(line, circle);
    let from = line.point + line.direction * t;
    (circle.centre - from).dot(&circle.normal) / axis.dot(&circle.normal)
}

/// The same in a state, mm.
pub(crate) fn gap_at(state: &JointState, t: f64) -> f64 {
    match (&state.line, &state.circle) {
        (Some(line), Some(circle)) => gap_between(line, circle, t),
        _ => f64::NAN,
    }
}

/// Angle by which the rim's plane fails to stand along the mount's edge, rad, signed.
fn tilt(state: &JointState) -> f64 {
    match (&state.line, &state.circle) {
        (Some(line), Some(circle)) => circle.normal.dot(&line.direction).clamp(-1.0, 1.0).asin(),
        _ => f64::NAN,
    }
}

/// The budget: the joint covariance split by source, and what no residual shows.
fn budget(problem: &Problem, parts: &[f64], spread: f64) -> Vec<BudgetLine> {
    let part = |group: Group| parts[group as usize].max(0.0);
    let chamfer = |known: Option<f64>| {
        if known.is_some() {
            0.0
        } else {
            UNKNOWN_CHAMFER_SIGMA
        }
    };
    let edge_model = 2.0 * EDGE_MODEL * EDGE_MODEL
        + spread * spread
        + chamfer(problem.drive.mount_chamfer).powi(2)
        + chamfer(problem.drive.rim_chamfer).powi(2);
    let chamfer_note = if problem.drive.mount_chamfer.is_some() && problem.drive.rim_chamfer.is_some() {
        say!("rounding of the edges, and the rim's stated size")
    } else {
        say!(
            "chamfer sizes are not known: which line of the edge is seen stays open; state them to narrow this"
        )
    };
    let mut lines: Vec<BudgetLine> = [
        (
            say!("corner noise"),
            part(Group::Corners),
            say!("how well the card's corners were located"),
        ),
        (
            say!("edge noise"),
            part(Group::Edges),
            say!("how well the two edges were located"),
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
            say!("how flat the card is taken to be"),
        ),
        (
            say!("model choice"),
            part(Group::Features) + part(Group::EdgeShift) + edge_model,
            chamfer_note,
        ),
    ]
    .into_iter()
    .map(|(name, variance, note)| BudgetLine {
        part: name,
        u: variance.sqrt(),
        note,
    })
    .collect();
    lines.sort_by(|a, b| b.u.total_cmp(&a.u));
    lines
}

fn verdict(problem: &Problem, gap: f64, u95: f64) -> Verdict {
    let limit = problem.minimum_gap;
    let (state, probability) = conformity::at_least(gap, u95, limit);
    let text = match state {
        Conformity::Within => say!("the gap keeps the minimum of {limit:.2} mm"),
        Conformity::Outside if gap + u95 < 0.0 => say!("mount and rim touch"),
        Conformity::Outside => say!("the gap is below the minimum of {limit:.2} mm"),
        Conformity::Undecided => say!(
            "the gap is too near to the minimum of {limit:.2} mm to say; one more photo from nearer or from another \
             side would help most"
        ),
    };
    Verdict {
        state,
        text,
        limit,
        probability,
    }
}

fn warnings(problem: &Problem, refined: &Refined, tilt: f64, tilt_u: f64) -> Vec<Phrase> {
    let mut warnings = refined.start.warnings.clone();
    if !problem.scale_checked {
        warnings.push(
            say!("the print scale was never checked: an error of 1 % of the printer is allowed for; measure both bars \
             on the sheet with callipers and enter their lengths"),
        );
    }
    if problem.drive.mount_chamfer.is_none() || problem.drive.rim_chamfer.is_none() {
        warnings.push(say!(
            "chamfer sizes are not known, which widens the uncertainty; state them if you can"
        ));
    }
    let unmarked = unmarked(problem, refined);
    if unmarked > 0 {
        warnings.push(say!(
            "the rim is not marked in {} of the {} photos, where what the search took for it may be another edge; mark \
             both edges in every photo",
            unmarked,
            refined.start.used.len()
        ));
    }
    if agree::strain(refined) > STRAINED {
        warnings.push(
            say!("the edges in the photos fit together poorly, which widens the uncertainty; mark both edges in every photo, \
             or take the photos again with more even light"),
        );
    }
    if refined.unrest > UNREST {
        warnings.push(say!(
            "the edges did not come quite to rest where the photos put them; take another photo from further left or \
             right, and compare"
        ));
    }
    if problem.drive.rim_diameter.is_none() {
        warnings.push(say!(
            "the rim diameter is not known; stating it narrows the uncertainty"
        ));
    }
    if tilt.abs() > 1.96 * tilt_u && tilt.abs() > 0.1f64.to_radians() {
        warnings.push(say!(
            "the rim stands {:.2} degrees askew to the mount's edge: the gap changes as the wheel turns; do a turn check",
            tilt.to_degrees().abs()
        ));
    }
    warnings
}

/// How many photos that were used bear no mark of the rim. Of made-up scenes marked in one photo three times as many as of others
/// had the truth outside the interval (6 of 64 with a camera profile, and 2 of 81).
fn unmarked(problem: &Problem, refined: &Refined) -> usize {
    let used = refined.start.used.iter();
    used.filter(|&&i| problem.marks[i].rim.is_empty()).count()
}

fn photo_lines(problem: &Problem, photos: &[Observed], refined: &Refined, at: f64) -> Vec<PhotoUse> {
    photos
        .iter()
        .enumerate()
        .map(
            |(i, photo)| match refined.start.used.iter().position(|&u| u == i) {
                Some(k) => used_photo(problem, photo, refined, k, at),
                None => PhotoUse {
                    file: photo.name.clone(),
                    corners: 0,
                    rms_px: 0.0,
                    used: false,
                    note: Some(say!("no {} with enough corners in view", problem.fixed)),
                    drawn: photo.found.targets.iter().map(drawn_target).collect(),
                },
            },
        )
        .collect()
}

fn used_photo(problem: &Problem, photo: &Observed, refined: &Refined, k: usize, at: f64) -> PhotoUse {
    let state = &refined.solution.state;
    let corners = card_corners(problem, photo).unwrap_or_default();
    let joint = refined.start.joint(problem, &refined.edges, state);
    let view = View::of(state, k);
    let squares: f64 = corners
        .iter()
        .filter_map(|c| Some((view.see(&joint.corner_place(state, &c.place).0)? - c.at).norm_squared()))
        .sum();
    PhotoUse {
        file: photo.name.clone(),
        corners: corners.len(),
        rms_px: (squares / (2 * corners.len().max(1)) as f64).sqrt(),
        used: true,
        note: None,
        drawn: drawn(photo, refined, &view, k, at),
    }
}

fn drawn(photo: &Observed, refined: &Refined, view: &View, k: usize, at: f64) -> Vec<Drawn> {
    let state = &refined.solution.state;
    let mut drawn: Vec<Drawn> = photo.found.targets.iter().map(drawn_target).collect();
    let (Some(line), Some(circle)) = (state.line, state.circle) else {
        return drawn;
    };
    let on_line = |t: f64| line.point + line.direction * t;
    let on_rim = |t: f64| circle.centre + circle.radial(t) * circle.radius;
    let mut curve = |what: &str, range: (f64, f64), point: &dyn Fn(f64) -> Vec3| {
        let points: Vec<[f64; 2]> = (0..=40)
            .filter_map(|i| view.see(&point(range.0 + (range.1 - range.0) * f64::from(i) / 40.0)))
            .map(|p| [p.x, p.y])
            .collect();
        drawn.push(Drawn {
            what: what.into(),
            points,
        });
    };
    curve("mount_edge", refined.mount_range, &on_line);
    curve("rim_edge", refined.rim_range, &on_rim);
    let axis = chamfer::axis(&line, &circle);
    let gap = gap_between(&line, &circle, at);
    curve("gap", (0.0, gap), &|s| on_line(at) + axis * s);
    let seen = |feature: FeatureId| -> Vec<[f64; 2]> {
        refined
            .located
            .iter()
            .filter(|l| l.sight.photo == k && l.sight.feature == feature && l.residual.abs() < 4.0)
            .map(|l| [l.sight.at.x, l.sight.at.y])
            .collect()
    };
    for feature in [FeatureId::Line, FeatureId::Circle] {
        drawn.push(Drawn {
            what: "edge_point".into(),
            points: seen(feature),
        });
    }
    drawn
}
