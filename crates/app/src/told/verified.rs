//! A verified bundle in words.

use crate::{ChainState, NumberState, RecordState, SignatureState, Verification};

/// Whether the files are as they were sealed.
pub fn files(of: &Verification) -> String {
    if of.unchanged {
        format!(
            "all {} are as they were sealed, and so is every byte of the archive",
            of.files
        )
    } else {
        format!(
            "CHANGED, see below ({} of {} or more)",
            of.findings.len(),
            of.files
        )
    }
}

/// What the signature says.
pub fn signature(of: &Verification) -> String {
    let key = of.signature.key.as_deref().unwrap_or_default();
    match of.signature.state {
        SignatureState::None => "none: the sums show that the bundle is whole, not who made it".to_owned(),
        SignatureState::OwnKey => format!("good, by this shop's own key {key}"),
        SignatureState::OtherKey => {
            format!("good, by the key {key}; compare it with the one you have from the shop")
        }
        SignatureState::Wrong => "WRONG: not by the key that the bundle names".to_owned(),
    }
}

/// How it follows the record before.
pub fn chain(of: &Verification) -> String {
    match of.chain.state {
        ChainState::Broken => format!("BROKEN: {}", of.chain.text),
        _ => of.chain.text.clone(),
    }
}

/// Whether the record says what the evidence says.
pub fn record(of: &Verification) -> &'static str {
    match of.record {
        RecordState::Same => "drawn again from the evidence, it is the same byte for byte",
        RecordState::Differs => "DIFFERS from the one that the evidence gives",
        RecordState::OtherVersion => "drawn by another version of the program, so not compared",
        RecordState::NotCompared => "not compared, because the bundle was changed",
    }
}

/// How many numbers came out again.
pub fn numbers(of: &Verification) -> String {
    let count = |state: NumberState| of.numbers.iter().filter(|number| number.state == state).count();
    if of.numbers.is_empty() {
        return "not measured again".to_owned();
    }
    let mut parts = vec![format!(
        "measured again from the photos: {} of {} the same to the last digit",
        count(NumberState::Same),
        of.numbers.len()
    )];
    for (state, words) in [
        (
            NumberState::Rounding,
            "the same but for the rounding of another machine",
        ),
        (
            NumberState::WithinUncertainty,
            "within their uncertainty (another version of the program)",
        ),
        (NumberState::Differs, "NOT the same"),
    ] {
        if count(state) > 0 {
            parts.push(format!("{} {words}", count(state)));
        }
    }
    parts.join(", ")
}

/// How a number compares with the one that came out now.
pub fn compared(state: NumberState) -> &'static str {
    match state {
        NumberState::Same => "the same",
        NumberState::Rounding => "the same but for the rounding of another machine",
        NumberState::WithinUncertainty => "within its uncertainty",
        NumberState::Differs => "not the same",
    }
}

/// What is wrong with a bundle whose files are all as they were sealed.
pub fn seal_trouble(of: &Verification) -> &str {
    if of.chain.state == ChainState::Broken {
        &of.chain.text
    } else if of.record == RecordState::Differs {
        "record.pdf is not the one that the evidence gives"
    } else {
        "its signature is not by the key that it names"
    }
}
