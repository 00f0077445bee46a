//! How a tension is told.

use super::problem::Problem;
use super::verdict::verdict;
use shimwright_record::conformity::COVERAGE_95;
use shimwright_record::{BudgetLine, CheckKind, CheckResult, Phrase, Quantity, Value};
use shimwright_say::say;
use shimwright_sound::{Heard, Recording, Tension, Unclear};
use std::collections::BTreeMap;

/// Fewer plucks than this say little of their spread.
const FEW_PLUCKS: usize = 3;
/// Belt makers want spans of 20 tooth pitches for this method (from memory); with the usual 5 mm pitch that is this long, m.
const SHORT_SPAN_M: f64 = 0.1;

/// Tells the result. Names: `tension` and `pull_to_slack` (N), `frequency` and `plucks` (Hz, one for each pluck that
/// counts), `inharmonicity` (B, no unit).
pub(super) fn tell(problem: &Problem, recording: &Recording, heard: &Heard) -> CheckResult {
    let tension = problem.span.tension(&heard.tone());
    let values = values(heard, &tension);
    let newtons = quantity(tension.newtons, tension.u(), "N");
    let hertz = quantity(heard.frequency_hz, heard.sigma_hz(), "Hz");
    CheckResult {
        check: CheckKind::Tension,
        values,
        verdict: verdict(problem, &newtons, &hertz),
        budget: budget(&tension),
        photos: Vec::new(),
        warnings: warnings(problem, recording, heard),
    }
}

fn quantity(value: f64, u: f64, unit: &str) -> Quantity {
    Quantity {
        value,
        u95: COVERAGE_95 * u,
        unit: unit.into(),
    }
}

fn values(heard: &Heard, tension: &Tension) -> BTreeMap<String, Value> {
    let plucks = heard
        .pitches()
        .map(|pitch| quantity(pitch.frequency_hz, pitch.sigma_hz, "Hz"))
        .collect();
    let mut values = BTreeMap::from([
        (
            "frequency".to_owned(),
            Value::One(quantity(heard.frequency_hz, heard.sigma_hz(), "Hz")),
        ),
        (
            "tension".to_owned(),
            Value::One(quantity(tension.newtons, tension.u(), "N")),
        ),
        // With the axes at rest, what one span gains the other loses, so the slack one is empty at a pull of 2 T.
        (
            "pull_to_slack".to_owned(),
            Value::One(quantity(2.0 * tension.newtons, 2.0 * tension.u(), "N")),
        ),
        ("plucks".to_owned(), Value::Many(plucks)),
    ]);
    if heard.pitches().any(|pitch| pitch.partials.len() > 1) {
        values.insert(
            "inharmonicity".to_owned(),
            Value::One(quantity(heard.stiffness, heard.stiffness_sigma, "1")),
        );
    }
    values
}

fn budget(tension: &Tension) -> Vec<BudgetLine> {
    let parts = &tension.parts;
    let line = |part: Phrase, u: f64, note: Phrase| BudgetLine { part, u, note };
    let mut lines = vec![
        line(
            say!("noise"),
            parts.noise,
            say!("how sharply the pitch stands out of the noise"),
        ),
        line(
            say!("pluck spread"),
            parts.spread,
            say!("how much one pluck differs from the next"),
        ),
        line(
            say!("span length"),
            parts.length,
            say!("the free length that was stated; it counts twice"),
        ),
        line(
            say!("belt mass"),
            parts.mass,
            say!("the mass for each metre that was stated"),
        ),
        line(
            say!("belt stiffness"),
            parts.stiffness,
            say!("a belt that resists bending sounds higher than its tension makes it"),
        ),
        line(
            say!("span ends"),
            parts.ends,
            say!("the pulleys hold the belt's ends between hinged and clamped"),
        ),
    ];
    lines.sort_by(|a, b| b.u.total_cmp(&a.u));
    lines
}

fn warnings(problem: &Problem, recording: &Recording, heard: &Heard) -> Vec<Phrase> {
    let mut warnings = Vec::new();
    if heard.used.len() < FEW_PLUCKS {
        warnings.push(say!(
            "only {}, and {FEW_PLUCKS} are needed to know their spread; pluck it again, and turn the wheel by hand a few \
             turns in between",
            if heard.used.len() == 1 { say!("one pluck counts") } else { say!("two plucks count") }
        ));
    }
    for (k, pluck) in heard.plucks.iter().enumerate() {
        if let Some(reason) = left_out(heard, k) {
            warnings.push(say!("the pluck at {:.1} s was left out: {reason}", pluck.at_s));
        }
    }
    if problem.span.length_m.value < SHORT_SPAN_M && problem.span.bending_n_m2.is_none() {
        warnings.push(say!(
            "a span of {:.0} mm is short for this method: the belt's stiffness and the way the pulleys hold it are a good part \
             of the uncertainty",
            1e3 * problem.span.length_m.value
        ));
    }
    if recording.is_clipped() {
        warnings.push(say!(
            "the recording is clipped; hold the phone a little further away"
        ));
    }
    if heard.pitches().all(|pitch| pitch.partials == [1]) {
        warnings.push(
            say!("only one partial was heard, and it was taken for the fundamental; if the tension looks four times too high, \
             pluck nearer to the middle of the span"),
        );
    }
    warnings.push(
        say!("at `pull_to_slack` the slack span goes empty (both axes at rest, from memory); at which pull this belt skips \
         nobody publishes, so no skip margin is given"),
    );
    warnings
}

/// Why a pluck does not count, in words; nothing when it does.
fn left_out(heard: &Heard, k: usize) -> Option<Phrase> {
    if heard.used.contains(&k) {
        return None;
    }
    Some(match heard.plucks[k].heard.as_ref().err()? {
        Unclear::NoRing => say!("nothing rings after it"),
        Unclear::Faint => say!("it is too faint"),
        Unclear::Blunt { .. } => say!("it died away too fast"),
        Unclear::TwoSounds { other_hz, .. } => say!("another sound at {other_hz:.0} Hz is as loud"),
        Unclear::Either { first_hz, second_hz } => say!("it may be {first_hz:.0} or {second_hz:.0} Hz"),
        _ => say!("it is not clear"),
    })
}
