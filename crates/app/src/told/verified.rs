//! A verified bundle in words.

use crate::{ChainState, NumberState, RecordState, SignatureState, Verification};
use shimwright_record::Phrase;
use shimwright_say::say;

/// Whether the files are as they were sealed.
pub fn files(of: &Verification) -> Phrase {
    if of.unchanged {
        say!(
            "all {} are as they were sealed, and so is every byte of the archive",
            of.files
        )
    } else {
        say!(
            "CHANGED, see below ({} of {} or more)",
            of.findings.len(),
            of.files
        )
    }
}

/// What the signature says.
pub fn signature(of: &Verification) -> Phrase {
    let key = of.signature.key.as_deref().unwrap_or_default();
    match of.signature.state {
        SignatureState::None => say!("none: the sums show that the bundle is whole, not who made it"),
        SignatureState::OwnKey => say!("good, by this shop's own key {key}"),
        SignatureState::OtherKey => {
            say!("good, by the key {key}; compare it with the one you have from the shop")
        }
        SignatureState::Wrong => say!("WRONG: not by the key that the bundle names"),
    }
}

/// How it follows the record before.
pub fn chain(of: &Verification) -> Phrase {
    match of.chain.state {
        ChainState::Broken => say!("BROKEN: {}", of.chain.text),
        _ => of.chain.text.clone(),
    }
}

/// Whether the record says what the evidence says.
pub fn record(of: &Verification) -> Phrase {
    match of.record {
        RecordState::Same => say!("drawn again from the evidence, it is the same byte for byte"),
        RecordState::Differs => say!("DIFFERS from the one that the evidence gives"),
        RecordState::OtherVersion => say!("drawn by another version of the program, so not compared"),
        RecordState::NotCompared => say!("not compared, because the bundle was changed"),
    }
}

/// How many numbers came out again.
pub fn numbers(of: &Verification) -> Phrase {
    let count = |state: NumberState| of.numbers.iter().filter(|number| number.state == state).count();
    if of.numbers.is_empty() {
        return say!("not measured again");
    }
    let mut parts = vec![say!(
        "measured again from the photos: {} of {} the same to the last digit",
        count(NumberState::Same),
        of.numbers.len()
    )];
    let rounded = count(NumberState::Rounding);
    if rounded > 0 {
        parts.push(say!("{rounded} the same but for the rounding of another machine"));
    }
    let near = count(NumberState::WithinUncertainty);
    if near > 0 {
        parts.push(say!(
            "{near} within their uncertainty (another version of the program)"
        ));
    }
    let other = count(NumberState::Differs);
    if other > 0 {
        parts.push(say!("{other} NOT the same"));
    }
    Phrase::joined(parts, ", ")
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
pub fn seal_trouble(of: &Verification) -> Phrase {
    if of.chain.state == ChainState::Broken {
        of.chain.text.clone()
    } else if of.record == RecordState::Differs {
        say!("record.pdf is not the one that the evidence gives")
    } else {
        say!("its signature is not by the key that it names")
    }
}
