//! Service records as other programs read them: poppler's pdftotext, pdfinfo, pdfimages and pdffonts, and pypdf.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use shimwright_record::{Conformity, Drawn};
use shimwright_report::*;
use std::process::Command;

fn fact(label: &str, text: &str) -> Fact {
    Fact {
        label: label.into(),
        text: text.into(),
    }
}

fn jpeg() -> Vec<u8> {
    let picture = image::RgbImage::from_fn(400, 300, |x, y| image::Rgb([(x / 2) as u8, (y / 2) as u8, 90]));
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Jpeg).unwrap();
    bytes.into_inner()
}

fn photo(name: &str) -> RecordPhoto {
    let drawn = |what: &str, points: Vec<[f64; 2]>| Drawn {
        what: what.into(),
        points,
    };
    RecordPhoto {
        jpeg: jpeg(),
        window: [1000.0, 600.0, 1800.0, 1200.0],
        drawn: vec![
            drawn("mount_edge", vec![[1000.0, 800.0], [1800.0, 760.0]]),
            drawn(
                "rim_edge",
                vec![[1000.0, 900.0], [1400.0, 880.0], [1800.0, 910.0]],
            ),
            drawn("gap", vec![[1400.0, 780.0], [1400.0, 880.0]]),
        ],
        gap: "0.36 ± 0.05 mm".into(),
        caption: format!("{name}: 14 corners, residual 0.02 px"),
        told: format!("Photo {name} with the edges of mount and rim as found"),
    }
}

fn check() -> CheckSheet {
    CheckSheet {
        title: "Left corner: gap".into(),
        about: "8 March 2026, 10:00 (+05:30), measured with Shimwright 0.1.0".into(),
        number: "0.36 ± 0.05 mm".into(),
        number_inch: "0.0142 ± 0.0020 in".into(),
        state: Conformity::Outside,
        verdict: "the gap is below the minimum of 0.50 mm".into(),
        scale: Some(Scale {
            marks: vec![
                ScaleMark {
                    label: "before".into(),
                    value: 0.36,
                    u95: 0.05,
                },
                ScaleMark {
                    label: "now".into(),
                    value: 1.42,
                    u95: 0.05,
                },
            ],
            limit: 0.5,
            limit_is_lowest: true,
            unit: "mm".into(),
            told: "Scale: before 0.36 mm, now 1.42 mm, at least 0.50 mm".into(),
        }),
        values: vec![
            fact("Axis tilt", "0.31 ± 0.10°"),
            fact("Spacer fitted", "7/16 in of 11.113 mm"),
        ],
        budget: vec![[
            "edge noise".into(),
            "0.0210 mm".into(),
            "scatter of the points along both edges".into(),
        ]],
        photos: ["a.jpg", "b.jpg", "c.jpg"].map(photo).to_vec(),
        warnings: vec!["the print scale was never checked".into()],
        advice: vec![
            "Fit 31/64 in on both sides.".into(),
            "left: 31/64 in, gap after 1.55 ± 0.07 mm".into(),
        ],
        steps: vec![
            "Switch off and disconnect the battery.".into(),
            "Take the wheel off.".into(),
        ],
        work_done: "Fitted 31/64 in, greased the axle.".into(),
    }
}

fn record() -> ServiceRecord {
    ServiceRecord {
        shop: "Tidewheel Works".into(),
        shop_lines: vec!["Harbour Lane 4".into(), "Port Elm".into()],
        board: "Kestrel 2".into(),
        facts: vec![
            fact("Owner", "Ada Löwe"),
            fact("Odometer", "812.5 km"),
            fact("Technician", "Ben"),
        ],
        summary: vec![SummaryLine {
            what: "Left gap".into(),
            before: "0.36 ± 0.05 mm".into(),
            now: "1.42 ± 0.05 mm".into(),
            limit: "at least 0.50 mm".into(),
            state: Conformity::Within,
        }],
        checks: vec![check()],
        trends: vec![Trend {
            title: "Left gap".into(),
            unit: "mm".into(),
            points: [
                (0.0, "1 Feb 2026", 0.30),
                (35.0, "8 Mar 2026", 0.36),
                (35.3, "8 Mar 2026", 1.42),
            ]
            .map(|(day, date, value)| TrendPoint {
                day,
                date: date.into(),
                value,
                u95: 0.05,
            })
            .to_vec(),
            limit: Some(0.5),
            told: "Left gap over three checks".into(),
        }],
        work: vec!["Belt looks fine.".into()],
        parts: vec![["2".into(), "spacer 31/64 in".into()]],
        torques: vec![[
            "pulley screws".into(),
            "6.0 N m".into(),
            "the board's manual".into(),
        ]],
        cautions: vec!["Switch the board off and disconnect the battery before a hand goes near.".into()],
        evidence: EvidenceSheet {
            fingerprint: "ab".repeat(32),
            facts: vec![
                fact("Record", "2 of this board"),
                fact("Seal of the record before", &"cd".repeat(32)),
            ],
            photos: vec![["a.jpg".into(), "ef".repeat(32)]],
            how: vec!["Run shimwright verify over the bundle.".into()],
        },
        made: Moment {
            year: 2026,
            month: 3,
            day: 8,
            hour: 18,
            minute: 30,
            second: 12,
            offset_minutes: 330,
        },
        program: "Shimwright 0.1.0".into(),
    }
}

/// What a program of poppler says of a PDF; `None` where it is not installed.
fn poppler(program: &str, options: &[&str], pdf: &[u8]) -> Option<String> {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("record.pdf");
    std::fs::write(&path, pdf).unwrap();
    let output = Command::new(program)
        .args(options)
        .arg(&path)
        .args(["-"].iter().filter(|_| program == "pdftotext"))
        .output();
    let Ok(output) = output else {
        println!("skipped: there is no {program}");
        return None;
    };
    // Poppler takes the mark "nothing in here is suspect", which PDF/UA asks for, for an error of type.
    let complaints = String::from_utf8(output.stderr).unwrap();
    let complaints: Vec<&str> = complaints
        .lines()
        .filter(|line| !line.contains("Suspects"))
        .collect();
    assert!(output.status.success() && complaints.is_empty(), "{complaints:?}");
    Some(String::from_utf8(output.stdout).unwrap())
}

#[test]
fn every_word_and_number_is_text_and_every_picture_is_there() {
    for paper in Paper::ALL {
        let pdf = service_record(&record(), paper).unwrap();
        assert_eq!(
            service_record(&record(), paper).unwrap(),
            pdf,
            "the same record gives the same bytes"
        );
        if let Ok(folder) = std::env::var("SHIMWRIGHT_KEEP_PICTURES") {
            std::fs::write(format!("{folder}/record-{}.pdf", paper.name()), &pdf).unwrap();
        }
        let Some(text) = poppler("pdftotext", &["-layout"], &pdf) else {
            return;
        };
        let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let (fingerprint, seal) = ("ab".repeat(32), "cd".repeat(32));
        for part in [
            "Tidewheel Works",
            "Harbour Lane 4",
            "Service record: Kestrel 2",
            "Ada Löwe",
            "812.5 km",
            "0.36 ± 0.05 mm",
            "0.0142 ± 0.0020 in",
            "1.42 ± 0.05 mm",
            "at least 0.50 mm",
            "outside",
            "within",
            "edge noise",
            "0.0210 mm",
            "the print scale was never checked",
            "Fit 31/64 in on both sides.",
            "1. Switch off",
            "Fitted 31/64 in",
            "pulley screws",
            "6.0 N m",
            "the board's manual",
            "disconnect the battery",
            "1 Feb 2026",
            "page 1 of",
            "a.jpg: 14 corners",
            &fingerprint,
            &seal,
            "signature of the technician",
        ] {
            assert!(
                words.contains(part),
                "{part:?} is not in the text of the {} record:\n{text}",
                paper.title()
            );
        }
        let info = poppler("pdfinfo", &[], &pdf).unwrap();
        let size = match paper {
            Paper::A4 => "595.276 x 841.89 pts (A4)",
            Paper::Letter => "612 x 792 pts (letter)",
        };
        for part in [
            "Tagged:          yes",
            "Title:           Service record: Kestrel 2",
            "Encrypted:       no",
            size,
        ] {
            assert!(info.contains(part), "{part:?} is not in\n{info}");
        }
        assert!(
            info.contains("Author:          Tidewheel Works") && info.contains("JavaScript:      no"),
            "{info}"
        );
        let images = poppler("pdfimages", &["-list"], &pdf).unwrap();
        assert_eq!(
            images.lines().filter(|line| line.contains("jpeg")).count(),
            3,
            "{images}"
        );
        let fonts = poppler("pdffonts", &[], &pdf).unwrap();
        let rows: Vec<&str> = fonts.lines().skip(2).collect();
        assert!(
            rows.len() == 2 && rows.iter().all(|row| row.contains("yes yes yes")),
            "not embedded: {fonts}"
        );
    }
}

/// The structure as a screen reader walks it.
#[test]
fn headings_tables_lists_and_pictures_are_told_as_such() {
    let pdf = service_record(&record(), Paper::A4).unwrap();
    let Some(structure) = poppler("pdfinfo", &["-struct-text"], &pdf) else {
        return;
    };
    let count = |kind: &str| {
        structure
            .lines()
            .filter(|line| line.trim_start().starts_with(kind))
            .count()
    };
    assert_eq!((count("H1"), count("H2")), (1, 6), "{structure}");
    assert_eq!(count("Table"), 5, "{structure}");
    assert_eq!(
        count("Figure"),
        5,
        "three photos, a scale and a trend\n{structure}"
    );
    assert!(
        count("TH") > 10 && count("TD") > 8 && count("LI") > 8 && count("Caption") == 3,
        "{structure}"
    );
    let told = poppler("pdfinfo", &["-struct"], &pdf).unwrap();
    assert!(told.contains("Document") && told.contains("Caption"), "{told}");
}

/// What PDF/UA-1 asks and a program can see, seen by a library that knows nothing of the one that wrote the record.
#[test]
fn another_library_finds_what_pdf_ua_asks_for() {
    let python = std::env::var("SHIMWRIGHT_PYTHON").unwrap_or_else(|_| "python3".into());
    let has = Command::new(&python).args(["-c", "import pypdf"]).output();
    if !has.is_ok_and(|output| output.status.success()) {
        let required = std::env::var("SHIMWRIGHT_REQUIRE_OUTSIDE").is_ok_and(|asked| asked == "1");
        assert!(!required, "Python's module pypdf is missing");
        println!("skipped: Python's module pypdf is missing");
        return;
    }
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/outside/record_tags.py");
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("record.pdf");
    let looked_at = |pdf: &[u8]| {
        std::fs::write(&file, pdf).unwrap();
        let output = Command::new(&python).arg(script).arg(&file).output().unwrap();
        let trouble = String::from_utf8(output.stderr).unwrap();
        assert_eq!(trouble, "", "the script itself failed");
        (output.status.success(), String::from_utf8(output.stdout).unwrap())
    };
    let mut pdf = service_record(&record(), Paper::Letter).unwrap();
    assert_eq!(looked_at(&pdf), (true, String::new()));
    // It sees what is missing: the same record with the mark of tagged files under another name.
    let place = pdf.windows(9).position(|part| part == b"/MarkInfo").unwrap();
    pdf[place + 1] = b'X';
    assert_eq!(looked_at(&pdf), (false, "it is not marked as tagged\n".into()));
}

#[test]
fn long_odd_and_empty_records_come_out_whole() {
    let mut long = record();
    long.board = "板 \u{202e} Kestrel\t2".into();
    long.shop = String::new();
    long.checks = vec![check(); 6];
    long.work = vec!["A sentence that goes on. ".repeat(600), "x".repeat(2000)];
    long.evidence.photos = (0..120)
        .map(|i| [format!("{i}-{}.jpg", "long name ".repeat(8)), "0f".repeat(32)])
        .collect();
    for check in &mut long.checks {
        check.photos = vec![photo("a.jpg"); 8];
    }
    for paper in Paper::ALL {
        let pdf = service_record(&long, paper).unwrap();
        let Some(text) = poppler("pdftotext", &[], &pdf) else {
            return;
        };
        assert_eq!(text.matches("sentence").count(), 600);
        let only_x = |line: &&str| !line.is_empty() && line.chars().all(|c| c == 'x');
        assert_eq!(
            text.split(['\n', '\u{c}'])
                .filter(only_x)
                .map(str::len)
                .sum::<usize>(),
            2000
        );
        assert!(text.contains("119-long name"));
    }
    let empty = ServiceRecord {
        summary: vec![],
        checks: vec![],
        trends: vec![],
        work: vec![],
        parts: vec![],
        torques: vec![],
        facts: vec![],
        ..record()
    };
    assert!(service_record(&empty, Paper::A4).is_ok());
    let mut broken = record();
    broken.checks[0].photos[0].jpeg = b"no picture".to_vec();
    assert!(matches!(
        service_record(&broken, Paper::A4),
        Err(Error::Picture { .. })
    ));
}
