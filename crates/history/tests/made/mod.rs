//! A board and a check to save.
#![allow(dead_code)]

use shimwright_history::{NewCheck, NewPhoto, Time};
use shimwright_record::*;

/// 2026-03-08 10:00 in a zone half an hour off, plus some minutes.
pub fn minute(minutes: i64) -> Time {
    let start = chrono::DateTime::parse_from_rfc3339("2026-03-08T10:00:00+05:30").unwrap();
    start + chrono::Duration::minutes(minutes)
}

pub fn board() -> Board {
    Board {
        id: String::new(),
        name: "Kestrel 2".into(),
        owner: "Ada".into(),
        notes: "rear drive".into(),
        drive: Drive {
            mount_chamfer: Some(0.15),
            located: Located::Hub,
            ..Drive::default()
        },
        corners: [
            CornerState {
                spacer_label: "7/16 in".into(),
                spacer_thickness: 11.1125,
                belt_offset: 0.2,
                belt_offset_u95: 0.1,
            },
            CornerState::default(),
        ],
    }
}

pub fn result(gap: f64) -> CheckResult {
    let value = Value::One(Quantity {
        value: gap,
        u95: 0.05,
        unit: "mm".into(),
    });
    CheckResult {
        check: CheckKind::Gap,
        values: [("gap".to_owned(), value)].into(),
        verdict: Verdict {
            state: Conformity::Within,
            text: "it clears".into(),
            limit: 0.5,
            probability: 0.99,
        },
        budget: vec![BudgetLine {
            part: "edge noise".into(),
            u: 0.02,
            note: "scatter".into(),
        }],
        photos: vec![PhotoUse {
            file: "a.jpg".into(),
            corners: 14,
            rms_px: 0.1,
            used: true,
            note: None,
            drawn: vec![Drawn {
                what: "gap".into(),
                points: vec![[1.5, 2.5], [3.0, 4.0]],
            }],
        }],
        warnings: vec!["print scale not checked".into()],
    }
}

pub fn photo(name: &str, bytes: &[u8]) -> NewPhoto {
    NewPhoto {
        name: name.into(),
        bytes: bytes.into(),
        facts: serde_json::json!({"make": "Tidewheel"}),
    }
}

pub fn check(board: &Board, corner: Corner, gap: f64, photos: Vec<NewPhoto>) -> NewCheck {
    let job = Job {
        check: CheckKind::Gap,
        photos: photos
            .iter()
            .map(|p| JobPhoto {
                file: p.name.clone(),
                marks: Default::default(),
            })
            .collect(),
        targets: None,
        print_scale: Some(PrintScale {
            x: 1.0,
            y: 1.001,
            u95: 0.001,
        }),
        camera: None,
        drive: None,
        height: None,
        sound: None,
        belt: None,
    };
    NewCheck {
        board: board.clone(),
        corner,
        job,
        camera: Some("{\"fx\": 2290.0}".into()),
        result: result(gap),
        advice: None,
        work_done: String::new(),
        photos,
    }
}
