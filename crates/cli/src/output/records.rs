//! Verified bundles, the shop, and what is written down of visits.

use super::{paragraph, table};
use shimwright_app::record::{Shop, VisitNotes};
use shimwright_app::told::verified::{chain, compared, files, numbers, record, signature};
use shimwright_app::{NumberState, Verification, told};

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
        ("files", files(of).into()),
        ("signature", signature(of).into()),
        ("chain", chain(of).into()),
        ("record.pdf", record(of).into()),
        ("numbers", numbers(of).into()),
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

/// What is written down of a visit; `shop` says who works there when the visit does not.
pub fn visit_notes(notes: &VisitNotes, shop: &Shop) -> String {
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
        vec![
            "technician".into(),
            match (notes.technician.as_str(), shop.technician.as_str()) {
                ("", "") => said(""),
                ("", of_shop) => format!("{of_shop}, as the shop says"),
                (named, _) => named.to_owned(),
            },
        ],
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
