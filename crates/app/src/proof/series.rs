//! Numbers beside others: before and after, against the limit, and over the visits.

use super::package::main_value;
use super::words;
use crate::bridge::Failure;
use crate::told;
use shimwright_evidence::{Evidence, EvidenceCheck};
use shimwright_record::{CheckKind, CheckResult, Corner, Job, Quantity};
use shimwright_report::{Scale, ScaleMark, SummaryLine, Trend, TrendPoint};
use std::collections::BTreeMap;

/// A check with its job and result.
pub(super) struct Measured<'a> {
    pub check: &'a EvidenceCheck,
    pub job: Job,
    pub result: CheckResult,
}

/// A main number at a moment.
pub(super) struct Point<'a> {
    pub corner: Corner,
    pub kind: CheckKind,
    pub at: &'a str,
    pub value: &'a Quantity,
}

/// Main numbers of earlier visits and of this one, oldest first.
pub(super) fn points<'a>(evidence: &'a Evidence, checks: &'a [Measured]) -> Vec<Point<'a>> {
    let earlier = evidence.earlier.iter().map(|point| Point {
        corner: point.corner,
        kind: point.check,
        at: &point.at,
        value: &point.value,
    });
    let now = checks.iter().filter_map(|measured| {
        Some(Point {
            corner: measured.check.corner,
            kind: measured.result.check,
            at: &measured.check.at,
            value: main_value(&measured.result)?,
        })
    });
    earlier.chain(now).collect()
}

/// Whether a limit is the lowest allowed number: what keeps it lies above it, and what does not below.
pub(super) fn limit_is_lowest(value: &Quantity, result: &CheckResult) -> bool {
    (result.verdict.probability >= 0.5) == (value.value >= result.verdict.limit)
}

pub(super) fn has_limit(result: &CheckResult) -> bool {
    result.verdict.limit.is_finite() && result.verdict.limit > 0.0
}

pub(super) fn limit_words(value: &Quantity, result: &CheckResult) -> String {
    if !has_limit(result) {
        return "none".to_owned();
    }
    let side = if limit_is_lowest(value, result) {
        "at least"
    } else {
        "at most"
    };
    let digits = if value.unit == "mm" { 2 } else { 3 };
    format!("{side} {:.digits$} {}", result.verdict.limit, value.unit)
}

/// The number without its second unit.
pub(super) fn short(quantity: &Quantity) -> String {
    let text = told::quantity(quantity);
    text.split(" (").next().unwrap_or(&text).to_owned()
}

/// The last number of each corner and kind, with the one before the work.
pub(super) fn summary(checks: &[Measured], points: &[Point]) -> Vec<SummaryLine> {
    let mut lines: BTreeMap<(Corner, CheckKind), SummaryLine> = BTreeMap::new();
    for measured in checks {
        let Some(value) = main_value(&measured.result) else {
            continue;
        };
        let key = (measured.check.corner, measured.result.check);
        let before =
            before(points, measured).map_or_else(|| "\u{2013}".to_owned(), |point| short(point.value));
        // What stood before the visit's first check is what it was before the work.
        let before = lines.get(&key).map_or(before, |line| {
            if line.before == "\u{2013}" {
                line.now.clone()
            } else {
                line.before.clone()
            }
        });
        let line = SummaryLine {
            what: words::check(key.0, key.1),
            before,
            now: short(value),
            limit: limit_words(value, &measured.result),
            state: measured.result.verdict.state,
        };
        lines.insert(key, line);
    }
    lines.into_values().collect()
}

/// The number of the same corner and kind that came before a check.
pub(super) fn before<'a>(points: &'a [Point<'a>], measured: &Measured) -> Option<&'a Point<'a>> {
    let mut same = points
        .iter()
        .filter(|point| point.corner == measured.check.corner && point.kind == measured.result.check)
        .take_while(|point| point.at != measured.check.at);
    let mut last = None;
    for point in same.by_ref() {
        last = Some(point);
    }
    last
}

pub(super) fn scale(measured: &Measured, value: &Quantity, points: &[Point]) -> Scale {
    let mark = |label: &str, value: &Quantity| ScaleMark {
        label: label.to_owned(),
        value: value.value,
        u95: value.u95,
    };
    let before = before(points, measured).map(|point| mark("before", point.value));
    let marks: Vec<ScaleMark> = before.into_iter().chain([mark("this check", value)]).collect();
    let told: Vec<String> = marks
        .iter()
        .map(|m| format!("{} {:.3} ± {:.3} {}", m.label, m.value, m.u95, value.unit))
        .collect();
    Scale {
        limit: measured.result.verdict.limit,
        limit_is_lowest: limit_is_lowest(value, &measured.result),
        unit: value.unit.clone(),
        told: format!(
            "Scale with the limit, {}: {}",
            limit_words(value, &measured.result),
            told.join(", ")
        ),
        marks,
    }
}

/// A trend for each corner and kind with at least two numbers.
///
/// # Errors
/// Bad input for a stored moment that cannot be read.
pub(super) fn trends(checks: &[Measured], points: &[Point]) -> Result<Vec<Trend>, Failure> {
    let mut kinds: Vec<(Corner, CheckKind)> = points.iter().map(|point| (point.corner, point.kind)).collect();
    kinds.sort_unstable();
    kinds.dedup();
    kinds
        .into_iter()
        .filter_map(|(corner, kind)| trend(corner, kind, checks, points).transpose())
        .collect()
}

fn trend(
    corner: Corner,
    kind: CheckKind,
    checks: &[Measured],
    points: &[Point],
) -> Result<Option<Trend>, Failure> {
    let same: Vec<&Point> = points
        .iter()
        .filter(|point| (point.corner, point.kind) == (corner, kind))
        .collect();
    let [first, _, ..] = same[..] else {
        return Ok(None);
    };
    let unit = first.value.unit.clone();
    let set = |point: &&Point| {
        Ok(TrendPoint {
            day: words::days(&words::stored_moment(&words::check(corner, kind), point.at)?),
            date: words::short_day(point.at),
            value: point.value.value,
            u95: point.value.u95,
        })
    };
    let limit = checks
        .iter()
        .filter(|measured| (measured.check.corner, measured.result.check) == (corner, kind))
        .filter(|measured| has_limit(&measured.result))
        .map(|measured| measured.result.verdict.limit)
        .next_back();
    let told: Vec<String> = same
        .iter()
        .map(|p| format!("{}: {}", words::short_day(p.at), short(p.value)))
        .collect();
    Ok(Some(Trend {
        title: words::check(corner, kind),
        unit,
        points: same.iter().map(set).collect::<Result<_, Failure>>()?,
        limit,
        told: format!("{} over time. {}", words::check(corner, kind), told.join("; ")),
    }))
}
