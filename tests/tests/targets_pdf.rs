//! The printed sheets, rasterised and measured by OpenCV, against the definitions of the targets.

use serde_json::{Value, json};
use shimwright_report::{Axis, Paper, SCALE_BAR_MM, Sheet, SheetPdf, target_sheets};
use shimwright_target::{TargetSet, tag36h11};
use shimwright_tests::outside;
use std::path::{Path, PathBuf};
use std::process::Command;

const DEFINITIONS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../calibration/targets.json");

#[test]
fn every_tag_saddle_and_bar_is_where_its_definition_says() {
    if !outside::is_ready(&["cv2"], &["pdftoppm"]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let targets = TargetSet::built_in();
    let mut sheets = Vec::new();
    for paper in Paper::ALL {
        sheets.extend(target_sheets(Sheet::All, paper, &targets).unwrap());
    }
    assert_eq!(sheets.len(), 6);
    let list = write(folder.path(), &sheets);
    let verdict = judge(&list, Path::new(DEFINITIONS), &[]);
    println!("{}", verdict.words);
    assert!(verdict.agrees, "{}", verdict.words);
    assert!(sheets.iter().all(|s| verdict.words.contains(&s.file_name)));
}

/// What "fit to page" does: everything one per cent smaller.
#[test]
fn a_page_printed_too_small_is_rejected() {
    if !outside::is_ready(&["cv2"], &["pdftoppm"]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let sheets = target_sheets(Sheet::HubRing, Paper::A4, &TargetSet::built_in()).unwrap();
    let list = write(folder.path(), &sheets);
    let verdict = judge(&list, Path::new(DEFINITIONS), &["--render-scale", "0.99"]);
    assert!(!verdict.agrees, "{}", verdict.words);
    assert!(verdict.words.contains("bar"), "{}", verdict.words);
}

/// Right page, right bars, but a pattern of other measures: tags a tenth of a millimetre smaller.
#[test]
fn a_pattern_of_other_measures_is_rejected() {
    if !outside::is_ready(&["cv2"], &["pdftoppm"]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let other = json!({ "family": "tag36h11", "units": "mm", "targets": { "mount-card": {
        "kind": "charuco", "squares": [8, 3], "square_mm": 8.0, "marker_mm": 5.5, "first_id": 100,
        "page_mm": [70.0, 30.0], "page_origin_in_frame_mm": [-3.0, -3.0] } } });
    let other = TargetSet::from_json(&other.to_string()).unwrap();
    let sheets = target_sheets(Sheet::MountCard, Paper::Letter, &other).unwrap();
    let list = write(folder.path(), &sheets);
    let verdict = judge(&list, Path::new(DEFINITIONS), &[]);
    assert!(!verdict.agrees, "{}", verdict.words);
    assert!(
        verdict.words.contains("tag corner 100.0 of copy 0: 0.0"),
        "{}",
        verdict.words
    );
}

#[test]
fn the_codes_of_the_family_are_those_of_opencv() {
    if !outside::is_ready(&["cv2"], &[]) {
        return;
    }
    let output = Command::new(outside::python())
        .arg(outside::scripts().join("tag_codes.py"))
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let codes: Vec<u64> = text
        .lines()
        .map(|line| u64::from_str_radix(line, 16).unwrap())
        .collect();
    let ours: Vec<u64> = (0..tag36h11::COUNT)
        .map(|id| tag36h11::bits(id).unwrap())
        .collect();
    assert_eq!(codes, ours);
}

/// Writes the PDFs and the list of what lies where on them; returns the list's path.
fn write(folder: &Path, sheets: &[SheetPdf]) -> PathBuf {
    for sheet in sheets {
        std::fs::write(folder.join(&sheet.file_name), &sheet.bytes).expect("the folder is writable");
    }
    let list: Vec<Value> = sheets.iter().map(described).collect();
    let path = folder.join("sheets.json");
    std::fs::write(&path, Value::from(list).to_string()).expect("the folder is writable");
    path
}

fn described(sheet: &SheetPdf) -> Value {
    let plan = &sheet.plan;
    let target = sheet.file_name.rsplit_once('-').map_or("", |(name, _)| name);
    let bars = plan.bars.map(|bar| {
        let axis = match bar.axis {
            Axis::X => "x",
            Axis::Y => "y",
        };
        let (start, end) = (bar.start, bar.end());
        json!({ "axis": axis, "start": [start.x, start.y], "end": [end.x, end.y],
            "end_line_mm": bar.end_line_mm, "length_mm": SCALE_BAR_MM })
    });
    let origins: Vec<_> = plan.origins.iter().map(|p| [p.x, p.y]).collect();
    json!({ "file": sheet.file_name, "target": target, "page_mm": [plan.page_mm.0, plan.page_mm.1],
        "origins_mm": origins, "bars": bars })
}

struct Verdict {
    agrees: bool,
    words: String,
}

fn judge(list: &Path, definitions: &Path, options: &[&str]) -> Verdict {
    let script = outside::scripts().join("targets_pdf.py");
    let mut command = Command::new(outside::python());
    let output = command
        .arg(script)
        .arg(list)
        .arg(definitions)
        .args(options)
        .output()
        .expect("Python runs");
    let error = String::from_utf8_lossy(&output.stderr);
    // A script that fell over has judged nothing.
    assert!(
        matches!(output.status.code(), Some(0 | 1)) && !error.contains("Traceback"),
        "{error}"
    );
    Verdict {
        agrees: output.status.success(),
        words: String::from_utf8_lossy(&output.stdout).into_owned(),
    }
}
