//! Verified bundles, the shop, and what is written down of visits.

use super::{paragraph, table};
use shimwright_app::record::{Shop, VisitNotes};
use shimwright_app::{ChainState, NumberState, RecordState, SignatureState, Verification, told};

/// What still holds of a bundle.
pub fn verification(of: &Verification) -> String {
    let mut text = format!("{}\n", of.file);
    let rows = [
        ("board", of.board.clone()),
        (
            "record",
            format!(
                "{}, sealed {} by shimwright {}",
                of.number, of.sealed_at, of.program
            ),
        ),
        ("fingerprint", of.fingerprint.clone()),
        ("seal", of.seal.clone()),
        ("files", files(of)),
        ("signature", signature(of)),
        ("chain", chain(of)),
        ("record.pdf", record(of).to_owned()),
        ("numbers", numbers(of)),
    ];
    text += &table(&rows.map(|(label, words)| vec![label.to_owned(), words]));
    for finding in of.findings.iter().chain(&of.not_measured) {
        text += &paragraph(
            &format!("  CHANGED {}: ", finding.subject),
            "    ",
            &finding.message,
        );
    }
    for number in of
        .numbers
        .iter()
        .filter(|number| number.state != NumberState::Same)
    {
        let measured = number.measured.as_deref().unwrap_or("nothing");
        let words = format!(
            "stored {}, now {measured}: {}",
            number.stored,
            compared(number.state)
        );
        let mark = if number.state == NumberState::Differs {
            "DIFFERS "
        } else {
            ""
        };
        text += &paragraph(
            &format!("  {mark}{} {}: ", number.check, told::value_name(&number.name)),
            "    ",
            &words,
        );
    }
    text += if of.holds() {
        "  everything that was looked at holds\n"
    } else {
        "  THIS BUNDLE DOES NOT HOLD\n"
    };
    text
}

fn files(of: &Verification) -> String {
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

fn signature(of: &Verification) -> String {
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

fn chain(of: &Verification) -> String {
    match of.chain.state {
        ChainState::Broken => format!("BROKEN: {}", of.chain.text),
        _ => of.chain.text.clone(),
    }
}

fn record(of: &Verification) -> &'static str {
    match of.record {
        RecordState::Same => "drawn again from the evidence, it is the same byte for byte",
        RecordState::Differs => "DIFFERS from the one that the evidence gives",
        RecordState::OtherVersion => "drawn by another version of the program, so not compared",
        RecordState::NotCompared => "not compared, because the bundle was changed",
    }
}

fn numbers(of: &Verification) -> String {
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

fn compared(state: NumberState) -> &'static str {
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

/// The shop.
pub fn shop(shop: &Shop) -> String {
    let said = |text: &str| {
        if text.is_empty() {
            "not stated".to_owned()
        } else {
            text.replace('\n', ", ")
        }
    };
    table(&[
        vec!["name".into(), said(&shop.name)],
        vec!["address".into(), said(&shop.address)],
        vec!["technician".into(), said(&shop.technician)],
    ])
}

/// What is written down of a visit.
pub fn visit_notes(notes: &VisitNotes) -> String {
    let said = |text: &str| {
        if text.is_empty() {
            "not stated".to_owned()
        } else {
            text.to_owned()
        }
    };
    let mut rows = vec![
        vec![
            "odometer".into(),
            notes
                .odometer_km
                .map_or_else(|| said(""), |km| format!("{km} km")),
        ],
        vec!["technician".into(), said(&notes.technician)],
    ];
    rows.extend(
        notes
            .parts
            .iter()
            .map(|part| vec!["part".into(), format!("{} x {}", part.count, part.name)]),
    );
    rows.extend(notes.torques.iter().map(|torque| {
        vec![
            "torque".into(),
            format!(
                "{}: {} N m ({})",
                torque.screw,
                torque.newton_metres,
                said(&torque.source)
            ),
        ]
    }));
    rows.push(vec!["remarks".into(), said(&notes.remarks)]);
    table(&rows)
}
