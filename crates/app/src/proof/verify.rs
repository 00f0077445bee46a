//! What still holds of a bundle.

use super::measured_again::measure_again;
use super::page::{Issue, draw_record};
use crate::bridge::{Failure, ProgressNote};
use crate::measuring::Cancel;
use serde::Serialize;
use shimwright_evidence::{Finding, Limits, OpenedBundle, Place, Signature, open_bundle};
use shimwright_record::Phrase;
use shimwright_report::Paper;
use shimwright_say::say;

/// What still holds of a bundle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Verification {
    /// The bundle's file name.
    pub file: String,
    /// Name of the board.
    pub board: String,
    /// Number among the board's sealed records.
    pub number: u32,
    /// When it was sealed, RFC 3339 with offset.
    pub sealed_at: String,
    /// Version of the program that sealed it.
    pub program: String,
    /// SHA-256 of the evidence, as the printed record shows it.
    pub fingerprint: String,
    /// SHA-256 of the manifest, as the next record names it.
    pub seal: String,
    /// How many files were checked.
    pub files: usize,
    /// Whether every byte is as it was sealed.
    pub unchanged: bool,
    /// What is not.
    pub findings: Vec<FindingTold>,
    /// The signature.
    pub signature: SignatureTold,
    /// The link to the record before.
    pub chain: Chain,
    /// Whether the photos are copies without place data, or untouched.
    pub place: Place,
    /// Every number beside the one that came out now; empty when nothing was measured.
    pub numbers: Vec<NumberTold>,
    /// Checks that could not be measured again, and why.
    pub not_measured: Vec<FindingTold>,
    /// Whether the record says what the evidence says.
    pub record: RecordState,
}

/// Something that is not as it was sealed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FindingTold {
    /// The file concerned.
    pub subject: String,
    /// What is wrong with it.
    pub message: Phrase,
}

/// The signature.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SignatureTold {
    /// What it says.
    pub state: SignatureState,
    /// The key, 64 hexadecimal digits.
    pub key: Option<String>,
}

/// What a signature says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SignatureState {
    /// Not signed.
    None,
    /// Signed by the key of this program's own shop.
    OwnKey,
    /// Signed by another key: compare it with the one that you have from the shop.
    OtherKey,
    /// Not by the key that it names.
    Wrong,
}

/// The link to the record before.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Chain {
    /// What is known of it.
    pub state: ChainState,
    /// The same in a sentence.
    pub text: Phrase,
}

/// What is known of the link to the record before.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ChainState {
    /// It is the board's first record.
    First,
    /// The record before has the seal that this one names.
    Linked,
    /// The record before is not at hand.
    NotAtHand,
    /// The record before has another seal.
    Broken,
}

/// A number beside the one that came out now.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct NumberTold {
    /// The check's folder in the bundle.
    pub check: String,
    /// The value's name.
    pub name: String,
    /// As it was stored.
    pub stored: Phrase,
    /// As it came out now; absent when it did not.
    pub measured: Option<Phrase>,
    /// How they compare.
    pub state: NumberState,
}

/// How a number compares with the one that came out now.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum NumberState {
    /// The same to the last digit.
    Same,
    /// The same but for the rounding of another machine.
    Rounding,
    /// Within the stated uncertainty, by another version of the program.
    WithinUncertainty,
    /// Not the same.
    Differs,
}

/// Whether the record says what the evidence says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RecordState {
    /// Drawn again from the evidence, it is the same byte for byte.
    Same,
    /// It is another one.
    Differs,
    /// Another version of the program drew it, so it was not compared.
    OtherVersion,
    /// The bundle was changed, so it was not compared.
    NotCompared,
}

/// What is known beside the bundle itself.
#[derive(Default)]
pub(crate) struct ChainKnown {
    /// Seals of the board's records by their numbers, from the history and from other bundles.
    pub seals: Vec<(u32, String)>,
    /// The shop's own public key.
    pub own_key: Option<String>,
    /// Version of this program.
    pub program: String,
}

impl Verification {
    /// Whether everything that was looked at holds.
    pub fn holds(&self) -> bool {
        self.is_as_sealed() && self.numbers_hold()
    }

    /// Whether bytes, signature, chain and record are as they were sealed.
    pub fn is_as_sealed(&self) -> bool {
        self.unchanged
            && self.signature.state != SignatureState::Wrong
            && self.chain.state != ChainState::Broken
            && self.record != RecordState::Differs
    }

    /// Whether every number came out again.
    pub fn numbers_hold(&self) -> bool {
        self.not_measured.is_empty()
            && self
                .numbers
                .iter()
                .all(|number| number.state != NumberState::Differs)
    }
}

/// Checks a bundle, and measures again unless it was changed or nobody asks for it.
///
/// # Errors
/// Bad input when it cannot be read at all; cancelled.
pub(crate) fn verify_bundle(
    file: &str,
    bytes: &[u8],
    known: &ChainKnown,
    measure: bool,
    progress: &(dyn Fn(ProgressNote) + Sync),
    cancel: &Cancel,
) -> Result<Verification, Failure> {
    let opened = open_bundle(bytes, &Limits::default()).map_err(|error| Failure::from(error).about(file))?;
    let unchanged = opened.findings.is_empty();
    let mut verification = Verification {
        file: file.to_owned(),
        board: opened.evidence.board.name.clone(),
        number: opened.manifest.number,
        sealed_at: opened.manifest.sealed_at.clone(),
        program: opened.manifest.program.clone(),
        fingerprint: opened.manifest.fingerprint.clone(),
        seal: opened.seal.clone(),
        files: opened.files.len(),
        unchanged,
        findings: opened.findings.iter().map(told).collect(),
        signature: signature(&opened, known),
        chain: chain(&opened, known),
        place: opened.manifest.place,
        numbers: Vec::new(),
        not_measured: Vec::new(),
        record: RecordState::NotCompared,
    };
    if !unchanged {
        return Ok(verification);
    }
    verification.record = record(&opened, known);
    if measure {
        for check in &opened.evidence.checks {
            match measure_again(&opened.files, check, &known.program, progress, cancel) {
                Ok(numbers) => verification.numbers.extend(numbers),
                Err(failure) if failure.code == crate::bridge::FailureCode::Cancelled => return Err(failure),
                Err(failure) => verification.not_measured.push(FindingTold {
                    subject: check.folder.clone(),
                    message: failure.message,
                }),
            }
        }
    }
    Ok(verification)
}

fn told(finding: &Finding) -> FindingTold {
    FindingTold {
        subject: finding.subject.clone(),
        message: finding.message.clone(),
    }
}

fn signature(opened: &OpenedBundle, known: &ChainKnown) -> SignatureTold {
    let (state, key) = match &opened.signature {
        Signature::None => (SignatureState::None, None),
        Signature::Wrong => (SignatureState::Wrong, opened.manifest.public_key.clone()),
        Signature::By(key) if Some(key.to_text()) == known.own_key => {
            (SignatureState::OwnKey, Some(key.to_text()))
        }
        Signature::By(key) => (SignatureState::OtherKey, Some(key.to_text())),
    };
    SignatureTold { state, key }
}

fn chain(opened: &OpenedBundle, known: &ChainKnown) -> Chain {
    let manifest = &opened.manifest;
    let seal_of = |number: u32| {
        known
            .seals
            .iter()
            .filter(move |(known, _)| *known == number)
            .map(|(_, seal)| seal)
    };
    let chain = |state, text: Phrase| Chain { state, text };
    if seal_of(manifest.number).any(|seal| *seal != opened.seal) {
        let text = say!(
            "another record {} of this board is known, with another seal",
            manifest.number
        );
        return chain(ChainState::Broken, text);
    }
    let before = manifest.number.saturating_sub(1);
    match &manifest.previous {
        None if before == 0 => chain(
            ChainState::First,
            say!("it is the first sealed record of the board"),
        ),
        None => chain(
            ChainState::Broken,
            say!("it is record {} and names none before it", manifest.number),
        ),
        Some(_) if before == 0 => chain(
            ChainState::Broken,
            say!("it is the first record and names one before it"),
        ),
        Some(previous) => {
            let mut known = seal_of(before).peekable();
            if known.peek().is_none() {
                let text = say!("record {before}, which it follows, is not at hand: hand in its bundle too");
                return chain(ChainState::NotAtHand, text);
            }
            if known.all(|seal| seal == previous) {
                chain(
                    ChainState::Linked,
                    say!("it follows record {before}, whose seal it names"),
                )
            } else {
                chain(
                    ChainState::Broken,
                    say!("record {before} has another seal than the one it names"),
                )
            }
        }
    }
}

/// Draws the record again.
fn record(opened: &OpenedBundle, known: &ChainKnown) -> RecordState {
    let manifest = &opened.manifest;
    if manifest.program != known.program {
        return RecordState::OtherVersion;
    }
    let issue = Issue {
        at: manifest.sealed_at.clone(),
        program: manifest.program.clone(),
        fingerprint: manifest.fingerprint.clone(),
        sealed: Some((manifest.number, manifest.previous.clone())),
        public_key: manifest.public_key.clone(),
    };
    let paper = Paper::from_name(&manifest.paper).unwrap_or(Paper::A4);
    let again = draw_record(&opened.evidence, &opened.files, &issue, paper);
    match (again, opened.files.get(shimwright_evidence::file::RECORD)) {
        (Ok(again), Some(stored)) if again == *stored => RecordState::Same,
        _ => RecordState::Differs,
    }
}
