//! The whole job in the terminal: demo, measuring, keeping, advising, and what is printed.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod shop;

use serde_json::json;
use shop::{Shop, refused};

#[test]
fn the_demo_does_the_whole_job() {
    let shop = Shop::new();
    let output = shop.run(["demo", "--out", "seen", "--files"]);
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    for part in [
        "left corner",
        "right corner",
        "±",
        "mm",
        " in)",
        "uncertainty budget",
        "advice",
        "cautions",
        "disconnect the battery",
    ] {
        assert!(text.contains(part), "{part:?} is not in\n{text}");
    }
    for name in [
        "left-1-marked.jpg",
        "left-2-marked.jpg",
        "left-3-marked.jpg",
        "right-3-marked.jpg",
        "left.json",
    ] {
        assert!(shop.path("seen").join(name).is_file(), "{name}");
    }
    let boards = shop.json(["board", "list", "--json"]);
    assert_eq!(
        (&boards[0]["name"], &boards[0]["checks"]),
        (&json!("Kestrel 2"), &json!(2))
    );
    let record = shop.json(["record", "--board", "kestrel 2", "--json"]);
    assert_eq!(record["history"][0]["photo_ids"].as_array().unwrap().len(), 3);
    let advice = shop.json(["advise", "--board", "Kestrel 2", "--json"]);
    assert_eq!(advice["fits"], json!(true));
    assert!(!advice["cautions"].as_array().unwrap().is_empty());

    // Its files measure to the same number.
    let measured = shop.json(["measure", "seen/left.json", "--json"]);
    let kept = &record["history"][1]["result"]["values"]["gap"]["value"];
    assert_eq!(&measured["values"]["gap"]["value"], kept);
}

#[test]
fn a_job_is_measured_without_storing_anything_and_the_same_each_time() {
    let shop = Shop::new();
    let output = shop.run(["measure", "left.json", "--marked-dir", "seen"]);
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert!(
        output.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert!(text.contains("gap") && text.contains("left-3.jpg"), "{text}");
    assert!(shop.path("seen/left-1-marked.jpg").is_file());
    assert!(!shop.path("history").exists());
    let first = shop.run(["measure", "left.json", "--json"]).stdout;
    assert_eq!(
        shop.run(["measure", "left.json", "--json"]).stdout,
        first,
        "the same job gives the same bytes"
    );
    let document: serde_json::Value = serde_json::from_slice(&first).unwrap();
    assert_eq!(document["check"], json!("gap"));
    assert_eq!(document["values"]["gap"]["unit"], json!("mm"));
    assert_eq!(document["photos"].as_array().unwrap().len(), 3);
}

#[test]
fn a_measured_job_is_kept_with_advice() {
    let shop = Shop::new();
    let added = shop.run([
        "board",
        "add",
        "Marlin",
        "--owner",
        "Tidewheel Works",
        "--left",
        "7/16 in",
        "7/16in",
        "--right",
        "7/16 in",
        "7/16in",
        "--left-offset",
        "-0.5",
        "0.2",
        "--rim-chamfer",
        "0.1",
    ]);
    assert_eq!(
        added.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&added.stderr)
    );
    for (label, count) in [("7/16 in", "2"), ("31/64 in", "2")] {
        let line = shop.run(["stock", "add", label, &label.replace(' ', ""), "--count", count]);
        assert_eq!(line.status.code(), Some(0));
    }
    let stock = shop.json(["stock", "list", "--json"]);
    assert_eq!(stock[0]["thickness"], json!(11.1125));
    let entry = shop.json([
        "save",
        "left.json",
        "--board",
        "marlin",
        "--corner",
        "left",
        "--work-done",
        "ring ordered",
        "--json",
    ]);
    assert_eq!(
        (&entry["corner"], &entry["work_done"]),
        (&json!("left"), &json!("ring ordered"))
    );
    assert!(entry["advice"]["headline"].is_string());
    let text = String::from_utf8(shop.run(["record", "--board", "Marlin"]).stdout).unwrap();
    assert!(
        text.contains("left corner  gap") && text.contains("ring ordered"),
        "{text}"
    );
    let board = shop.json(["board", "show", "Marlin", "--json"]);
    assert_eq!(board["corners"][0]["belt_offset"], json!(-0.5));
}

#[test]
fn a_question_file_is_answered() {
    let shop = Shop::new();
    let mm = |value: f64, u95: f64| json!({"value": value, "u95": u95, "unit": "mm"});
    let question = json!({
        "drive": {"rim_diameter": 99.0, "mount_chamfer": null, "rim_chamfer": null, "located": "wheel",
                  "minimum_gap": 0.5, "motor_slide": [-0.5, 0.5], "same_spacer_everywhere": true, "stack_limit": 1},
        "corners": [{"corner": "left", "gap": mm(0.35, 0.06), "spacer_thickness": 11.1125,
                     "spacer_label": "7/16 in", "belt_offset": mm(-0.4, 0.2)}],
        "stock": [{"label": "31/64 in", "thickness": 12.303125, "u95": 0.03, "count": 2}],
    });
    shop.write("question.json", question.to_string().as_bytes());
    let advice = shop.json(["advise", "question.json", "--json"]);
    assert_eq!(advice["choices"][0]["rings"], json!(["31/64 in"]));
    let text = String::from_utf8(shop.run(["advise", "question.json"]).stdout).unwrap();
    assert!(text.contains("cautions") && text.contains("battery"), "{text}");

    let mut empty = question.clone();
    empty["stock"] = json!([]);
    shop.write("question.json", empty.to_string().as_bytes());
    assert!(refused(&shop.run(["advise", "question.json"]), 2).contains("stock"));
    let mut typo = question;
    typo["corner"] = json!([]);
    shop.write("question.json", typo.to_string().as_bytes());
    assert!(refused(&shop.run(["advise", "question.json"]), 2).contains("did you mean `corners`?"));
}

#[test]
fn targets_are_written_as_pdf() {
    let shop = Shop::new();
    let output = shop.run([
        "targets", "--sheet", "all", "--paper", "letter", "--out", "printed",
    ]);
    let names = String::from_utf8(output.stdout).unwrap();
    assert_eq!(names.lines().count(), 3, "{names}");
    for path in names.lines() {
        assert!(
            std::fs::read(shop.path(path)).unwrap().starts_with(b"%PDF"),
            "{path}"
        );
    }
}

#[test]
fn help_is_complete() {
    let shop = Shop::new();
    let help = String::from_utf8(shop.run(["--help"]).stdout).unwrap();
    for word in [
        "measure",
        "save",
        "advise",
        "record",
        "calibrate",
        "targets",
        "demo",
        "board",
        "stock",
        "Examples",
        "Exit status",
    ] {
        assert!(help.contains(word), "{word}");
    }
    for command in [
        "measure",
        "save",
        "advise",
        "record",
        "calibrate",
        "targets",
        "demo",
        "board",
        "stock",
    ] {
        let output = shop.run([command, "--help"]);
        assert_eq!(output.status.code(), Some(0), "{command}");
        assert!(output.stdout.len() > 100, "{command}");
    }
    assert!(
        String::from_utf8(shop.run(["--version"]).stdout)
            .unwrap()
            .starts_with("shimwright ")
    );
}

/// Ctrl-C stops a measurement: nothing is stored and the status says that it was interrupted.
#[cfg(unix)]
#[test]
fn an_interrupt_stops_a_measurement() {
    use std::process::{Command, Stdio};
    let shop = Shop::new();
    let child = Command::new(env!("CARGO_BIN_EXE_shimwright"))
        .args(["measure", "left.json"])
        .current_dir(shop.path("."))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(std::time::Duration::from_millis(150));
    let interrupted = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(interrupted.success());
    let output = child.wait_with_output().unwrap();
    if output.status.code() == Some(0) {
        println!("skipped: the measurement was over before the interrupt came");
        return;
    }
    assert!(refused(&output, 130).contains("cancelled"));
}
