//! From evidence and its files to the words and numbers of the record.

use super::measured_again::read_check;
use super::package::main_value;
use super::pictures::{Shown, record_photos};
use super::series::{Measured, Point, has_limit, points, scale, short, summary, trends};
use super::words;
use crate::bridge::Failure;
use crate::told;
use shimwright_evidence::Evidence;
use shimwright_record::{CheckResult, Corner, Quantity, SpacerAdvice, Value};
use shimwright_report::{CheckSheet, EvidenceSheet, Fact, Paper, RecordPhoto, ServiceRecord, service_record};
use std::collections::BTreeMap;

/// What a record says of its own making.
pub(crate) struct Issue {
    /// When it is made, RFC 3339 with offset.
    pub at: String,
    /// Version of the program.
    pub program: String,
    /// SHA-256 of the evidence.
    pub fingerprint: String,
    /// Its number and the seal before it, when it is sealed.
    pub sealed: Option<(u32, Option<String>)>,
    /// The key that it is signed with.
    pub public_key: Option<String>,
}

/// Draws the record of evidence.
///
/// # Errors
/// Bad input for a photo that cannot be decoded, or a job or result that cannot be read.
pub(crate) fn draw_record(
    evidence: &Evidence,
    files: &BTreeMap<String, Vec<u8>>,
    issue: &Issue,
    paper: Paper,
) -> Result<Vec<u8>, Failure> {
    let mut checks = Vec::with_capacity(evidence.checks.len());
    for check in &evidence.checks {
        let (job, result) = read_check(files, check)?;
        checks.push(Measured { check, job, result });
    }
    let record = page(evidence, &checks, files, issue)?;
    Ok(service_record(&record, paper)?)
}

fn page(
    evidence: &Evidence,
    checks: &[Measured],
    files: &BTreeMap<String, Vec<u8>>,
    issue: &Issue,
) -> Result<ServiceRecord, Failure> {
    let points = points(evidence, checks);
    let notes = &evidence.visit.notes;
    let made = words::stored_moment("the record", &issue.at)?;
    let mut sheets = Vec::with_capacity(checks.len());
    for measured in checks {
        sheets.push(sheet(measured, files, &points)?);
    }
    Ok(ServiceRecord {
        shop: evidence.shop.name.clone(),
        shop_lines: evidence.shop.address.lines().map(str::to_owned).collect(),
        board: evidence.board.name.clone(),
        facts: opening_facts(evidence, issue),
        summary: summary(checks, &points),
        checks: sheets,
        trends: trends(checks, &points)?,
        work: work(evidence),
        parts: notes
            .parts
            .iter()
            .map(|part| [part.count.to_string(), part.name.clone()])
            .collect(),
        torques: notes
            .torques
            .iter()
            .map(|torque| {
                let source = if torque.source.trim().is_empty() {
                    "nobody said"
                } else {
                    &torque.source
                };
                [
                    torque.screw.clone(),
                    format!("{} N\u{b7}m", torque.newton_metres),
                    source.to_owned(),
                ]
            })
            .collect(),
        cautions: cautions(evidence),
        evidence: evidence_sheet(evidence, issue),
        made: words::clock(&made),
        program: format!("Shimwright {}", issue.program),
    })
}

/// Service done by hand, then what the technician wrote.
fn work(evidence: &Evidence) -> Vec<String> {
    let done = evidence.visit.service.iter().map(|done| {
        let at = done
            .odometer_km
            .map_or_else(String::new, |km| format!(" at {km} km"));
        let note = if done.note.trim().is_empty() {
            String::new()
        } else {
            format!(": {}", done.note.trim())
        };
        format!(
            "Service check done{at}: {}{note}",
            told::value_name(&done.check).replace('-', " ")
        )
    });
    let remarks = evidence.visit.notes.remarks.trim();
    done.chain((!remarks.is_empty()).then(|| remarks.to_owned()))
        .collect()
}

fn fact(label: &str, text: impl Into<String>) -> Fact {
    let text = text.into();
    Fact {
        label: label.to_owned(),
        text: if text.trim().is_empty() {
            "not stated".to_owned()
        } else {
            text
        },
    }
}

fn opening_facts(evidence: &Evidence, issue: &Issue) -> Vec<Fact> {
    let notes = &evidence.visit.notes;
    let technician = if notes.technician.trim().is_empty() {
        &evidence.shop.technician
    } else {
        &notes.technician
    };
    let number = issue
        .sealed
        .as_ref()
        .map_or_else(|| "not sealed".to_owned(), |(number, _)| number.to_string());
    vec![
        fact("Owner", &evidence.board.owner),
        fact("Date of the visit", words::day(&evidence.visit.day)),
        fact(
            "Odometer",
            notes
                .odometer_km
                .map_or_else(String::new, |km| format!("{km} km")),
        ),
        fact("Technician", technician),
        fact("Spacer left, now", spacer(&evidence.board.corners[0])),
        fact("Spacer right, now", spacer(&evidence.board.corners[1])),
        fact("Record number", number),
        fact(
            "Made",
            format!("{}, Shimwright {}", words::moment(&issue.at), issue.program),
        ),
    ]
}

fn spacer(corner: &shimwright_record::CornerState) -> String {
    if corner.spacer_label.is_empty() && corner.spacer_thickness == 0.0 {
        return String::new();
    }
    format!(
        "{}: {}",
        corner.spacer_label,
        told::set_length(corner.spacer_thickness)
    )
}

fn sheet(
    measured: &Measured,
    files: &BTreeMap<String, Vec<u8>>,
    points: &[Point],
) -> Result<CheckSheet, Failure> {
    let Measured { check, result, .. } = measured;
    let title = words::check(check.corner, result.check);
    // Told as it was stored below, and it must be a moment.
    words::stored_moment(&title, &check.at)?;
    let value = main_value(result);
    let (number, number_inch) = value.map_or_else(
        || ("no number".to_owned(), String::new()),
        |value| {
            let both = told::quantity(value);
            match both.strip_suffix(')').and_then(|text| text.split_once(" (")) {
                Some((first, second)) => (first.to_owned(), second.to_owned()),
                None => (both, String::new()),
            }
        },
    );
    Ok(CheckSheet {
        about: format!(
            "{}, measured with Shimwright {}",
            words::moment(&check.at),
            check.program
        ),
        scale: value
            .filter(|_| has_limit(result))
            .map(|value| scale(measured, value, points)),
        state: result.verdict.state,
        verdict: result.verdict.text.to_string(),
        values: values(measured, value),
        budget: budget(result, value),
        photos: photos(measured, files, &title, &number)?,
        warnings: result.warnings.iter().map(ToString::to_string).collect(),
        advice: check.advice.as_ref().map(advice_lines).unwrap_or_default(),
        steps: check
            .advice
            .as_ref()
            .map(|advice| words(advice, "steps"))
            .unwrap_or_default(),
        work_done: check.work_done.clone(),
        title,
        number,
        number_inch,
    })
}

/// All other values, and what was known when it was measured.
fn values(measured: &Measured, main: Option<&Quantity>) -> Vec<Fact> {
    let result = &measured.result;
    let mut facts = Vec::new();
    for (name, value) in &result.values {
        let mut label = told::value_name(name);
        if let Some(first) = label.get(..1).map(str::to_uppercase) {
            label.replace_range(..1, &first);
        }
        match value {
            Value::One(quantity) if main.is_some_and(|main| std::ptr::eq(main, quantity)) => {}
            Value::One(quantity) => facts.push(fact(&label, told::quantity(quantity))),
            Value::Many(list) => facts.push(fact(
                &label,
                list.iter().map(short).collect::<Vec<_>>().join(", "),
            )),
        }
    }
    let corner = match measured.check.corner {
        Corner::Left => &measured.check.board.corners[0],
        Corner::Right => &measured.check.board.corners[1],
    };
    facts.push(fact("Spacer fitted then", spacer(corner)));
    let scale = measured.job.print_scale.map_or_else(
        || "not checked".to_owned(),
        |scale| format!("{} by {}, ± {}", scale.x, scale.y, scale.u95),
    );
    facts.push(fact("Print scale of the card", scale));
    let used = result.photos.iter().filter(|photo| photo.used).count();
    facts.push(fact("Photos used", format!("{used} of {}", result.photos.len())));
    let camera = if measured.check.camera.is_some() {
        "calibrated"
    } else {
        "found from these photos"
    };
    facts.push(fact("Camera", camera));
    facts
}

fn budget(result: &CheckResult, main: Option<&Quantity>) -> Vec<[String; 3]> {
    let unit = main.map_or("mm", |value| value.unit.as_str());
    let line = |line: &shimwright_record::BudgetLine| {
        [
            line.part.to_string(),
            told::standard_uncertainty(line.u, unit, false),
            line.note.to_string(),
        ]
    };
    result.budget.iter().map(line).collect()
}

fn photos(
    measured: &Measured,
    files: &BTreeMap<String, Vec<u8>>,
    title: &str,
    number: &str,
) -> Result<Vec<RecordPhoto>, Failure> {
    let shown: Vec<Shown> = measured
        .result
        .photos
        .iter()
        .filter_map(|used| {
            let bytes = files.get(&format!("{}/{}", measured.check.folder, used.file))?;
            Some(Shown {
                bytes,
                used,
                number,
                check: title,
            })
        })
        .collect();
    record_photos(&shown)
}

fn advice_lines(advice: &SpacerAdvice) -> Vec<String> {
    let mut lines = words(advice, "headline");
    for choice in &advice.choices {
        lines.push(format!(
            "{}: {}, {}. Expected afterwards: gap {}, belt offset {}. Chance that it rubs: now {}, afterwards {}.",
            choice.corner.name(),
            choice.rings.join(" and "),
            told::set_length(choice.thickness),
            short(&choice.gap_after),
            short(&choice.belt_offset_after),
            told::chance(choice.rub_chance_now),
            told::chance(choice.rub_chance_after),
        ));
    }
    for ideal in &advice.ideal {
        lines.push(format!(
            "{}: would need {}.",
            ideal.corner.name(),
            told::set_length(ideal.thickness)
        ));
    }
    lines.extend(words(advice, "notes"));
    lines
}

/// A part of the words of advice; the record's own page of cautions goes with all of them.
fn words(advice: &SpacerAdvice, part: &str) -> Vec<String> {
    let sections = advice.guidance.sections();
    let lines = sections.iter().filter(|section| section.title == part);
    let texts = lines.flat_map(|section| section.lines);
    texts.map(ToString::to_string).collect()
}

/// Every caution once, those of the advice first; the standing ones when there is no advice.
fn cautions(evidence: &Evidence) -> Vec<String> {
    let mut cautions: Vec<String> = Vec::new();
    let given = evidence.checks.iter().filter_map(|check| check.advice.as_ref());
    let standing = shimwright_record::Cautions::for_drive_work();
    for caution in given
        .flat_map(|advice| advice.guidance.cautions().iter())
        .chain(standing.iter())
    {
        if !cautions.iter().any(|known| caution == known) {
            cautions.push(caution.to_string());
        }
    }
    cautions
}

fn evidence_sheet(evidence: &Evidence, issue: &Issue) -> EvidenceSheet {
    let mut facts = Vec::new();
    match &issue.sealed {
        Some((number, previous)) => {
            facts.push(fact(
                "Record",
                format!("{number} in this board's chain of sealed records"),
            ));
            let before = previous.as_deref().unwrap_or("none: this is the first one");
            facts.push(fact("Seal of the record before", before));
        }
        None => facts.push(fact(
            "Record",
            "not sealed: an evidence bundle seals it into the board's chain",
        )),
    }
    if let Some(key) = &issue.public_key {
        facts.push(fact("Public key of the shop (Ed25519)", key));
    }
    let photos = evidence.checks.iter().flat_map(|check| {
        check.photos.iter().map(|photo| {
            [
                format!("{} ({})", photo.name, check.corner.name()),
                photo.original.clone(),
            ]
        })
    });
    EvidenceSheet {
        fingerprint: issue.fingerprint.clone(),
        facts,
        photos: photos.collect(),
        how: vec![
            "The fingerprint is the SHA-256 of evidence.json in the evidence bundle of this record; that file names every \
             photo, job and result by its own SHA-256. `shimwright verify` checks all of them and measures again from the \
             photos. Without the program, unpack the bundle and run sha256sum -c SHA256SUMS."
                .to_owned(),
            "The pictures in this record are re-encoded, and tell nothing of where they were taken.".to_owned(),
        ],
    }
}
