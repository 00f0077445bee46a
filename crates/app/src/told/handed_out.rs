//! What was done with files, in the page's words.

use super::verified as words;
use crate::bridge::{BundleVerified, FilesTold, NumberVerified, PointVerified};
use crate::{ChainState, NumberState, NumberTold, RecordState, SignatureState, Verification};
use shimwright_evidence::file;
use shimwright_history::Merged;
use shimwright_record::Phrase;
use shimwright_say::say;
use std::path::Path;

/// Photos that did not go along: those missing or damaged, and those that cannot lose their place.
pub(crate) fn left_out(missing: &[String], kept_back: &[String]) -> Vec<Phrase> {
    let missing = missing
        .iter()
        .map(|photo| say!("photo {photo} is missing or damaged and was left out"));
    let kept_back = kept_back.iter().map(|photo| {
        say!("photo {photo} was left out: no copy without its place can be made of it, so take it along with its place")
    });
    missing.chain(kept_back).collect()
}

/// An import.
pub(crate) fn merged(outcome: &Merged) -> FilesTold {
    let added: u64 = outcome.added.values().sum();
    let mut lines = vec![say!("{added} entries added, {} were here already", outcome.same)];
    lines.extend(
        outcome
            .conflicts
            .iter()
            .map(|one| say!("both kept: {} ({})", one.what, one.differs)),
    );
    let left = outcome.left_out.iter();
    FilesTold {
        file: None,
        lines,
        trouble: left
            .map(|one| say!("ours stays: {} ({})", one.what, one.differs))
            .collect(),
    }
}

/// A history that was replaced.
pub(crate) fn replaced(line: Phrase, kept_aside: Option<&Path>) -> FilesTold {
    let aside = kept_aside.map(|path| say!("the database that was there is kept: {}", path.display()));
    FilesTold {
        file: None,
        lines: std::iter::once(line).chain(aside).collect(),
        trouble: Vec::new(),
    }
}

/// A verified bundle.
pub(crate) fn verified(of: &Verification) -> BundleVerified {
    let point = |what: Phrase, good: bool, text: Phrase| PointVerified { what, good, text };
    let mut points = vec![
        point(say!("Files"), of.unchanged, words::files(of)),
        point(
            say!("Signature"),
            of.signature.state != SignatureState::Wrong,
            words::signature(of),
        ),
        point(
            say!("Chain"),
            of.chain.state != ChainState::Broken,
            words::chain(of),
        ),
        point(
            say!("Record"),
            of.record != RecordState::Differs,
            words::record(of),
        ),
        point(
            say!("Numbers"),
            of.unchanged && of.numbers_hold(),
            words::numbers(of),
        ),
    ];
    for finding in of.findings.iter().chain(&of.not_measured) {
        let subject = match finding.subject.as_str() {
            file::ARCHIVE => say!("the archive"),
            path => say!("{path}"),
        };
        points.push(point(subject, false, finding.message.clone()));
    }
    let numbers = of.numbers.iter().map(number);
    let outcome = if of.holds() {
        say!("Everything that was looked at holds.")
    } else {
        say!("This bundle does not hold.")
    };
    BundleVerified {
        file: of.file.clone(),
        holds: of.holds(),
        outcome,
        about: say!("record {} of {}, sealed {}", of.number, of.board, of.sealed_at),
        points,
        numbers: numbers.collect(),
        fingerprint: of.fingerprint.clone(),
    }
}

fn number(of: &NumberTold) -> NumberVerified {
    // Of a value with several numbers each has its place behind its name.
    let (value, place) = match of.name.split_once(' ') {
        Some((value, place)) => (value, place.parse().ok()),
        None => (of.name.as_str(), None),
    };
    NumberVerified {
        check: of.check.clone(),
        value: value.to_owned(),
        place,
        stored: of.stored.clone(),
        measured: of.measured.clone().unwrap_or_else(|| say!("nothing")),
        good: of.state != NumberState::Differs,
    }
}
