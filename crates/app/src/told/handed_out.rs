//! What was done with files, in the page's words.

use super::{value_name, verified as words};
use crate::bridge::{BundleVerified, FilesTold, NumberVerified, PointVerified};
use crate::{ChainState, NumberState, RecordState, SignatureState, Verification};
use shimwright_history::Merged;
use std::path::Path;

/// Photos that did not go along: those missing or damaged, and those that cannot lose their place.
pub(crate) fn left_out(missing: &[String], kept_back: &[String]) -> Vec<String> {
    let missing = missing
        .iter()
        .map(|photo| format!("photo {photo} is missing or damaged and was left out"));
    let kept_back = kept_back.iter().map(|photo| {
        format!("photo {photo} was left out: no copy without its place can be made of it, so take it along with its place")
    });
    missing.chain(kept_back).collect()
}

/// An import.
pub(crate) fn merged(outcome: &Merged) -> FilesTold {
    let added: u64 = outcome.added.values().sum();
    let mut lines = vec![format!(
        "{added} entries added, {} were here already",
        outcome.same
    )];
    lines.extend(
        outcome
            .conflicts
            .iter()
            .map(|one| format!("both kept: {} ({})", one.what, one.differs)),
    );
    let left = outcome.left_out.iter();
    FilesTold {
        file: None,
        lines,
        trouble: left
            .map(|one| format!("ours stays: {} ({})", one.what, one.differs))
            .collect(),
    }
}

/// A history that was replaced.
pub(crate) fn replaced(line: String, kept_aside: Option<&Path>) -> FilesTold {
    let aside = kept_aside.map(|path| format!("the database that was there is kept: {}", path.display()));
    FilesTold {
        file: None,
        lines: std::iter::once(line).chain(aside).collect(),
        trouble: Vec::new(),
    }
}

/// A verified bundle.
pub(crate) fn verified(of: &Verification) -> BundleVerified {
    let point = |what: &str, good: bool, text: String| PointVerified {
        what: what.to_owned(),
        good,
        text,
    };
    let mut points = vec![
        point("Files", of.unchanged, words::files(of)),
        point(
            "Signature",
            of.signature.state != SignatureState::Wrong,
            words::signature(of),
        ),
        point("Chain", of.chain.state != ChainState::Broken, words::chain(of)),
        point(
            "Record",
            of.record != RecordState::Differs,
            words::record(of).to_owned(),
        ),
        point("Numbers", of.unchanged && of.numbers_hold(), words::numbers(of)),
    ];
    for finding in of.findings.iter().chain(&of.not_measured) {
        points.push(point(&finding.subject, false, finding.message.clone()));
    }
    let numbers = of.numbers.iter().map(|number| NumberVerified {
        what: format!("{}, {}", number.check, value_name(&number.name)),
        stored: number.stored.clone(),
        measured: number.measured.clone().unwrap_or_else(|| "nothing".to_owned()),
        good: number.state != NumberState::Differs,
    });
    let outcome = if of.holds() {
        "Everything that was looked at holds."
    } else {
        "This bundle does not hold."
    };
    BundleVerified {
        file: of.file.clone(),
        holds: of.holds(),
        outcome: outcome.to_owned(),
        about: format!("record {} of {}, sealed {}", of.number, of.board, of.sealed_at),
        points,
        numbers: numbers.collect(),
        fingerprint: of.fingerprint.clone(),
    }
}
