//! Records that prove, through the terminal: record, bundle, verify, key, shop and visit.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod shop;

use serde_json::{Value, json};
use shop::{Shop, refused};
use std::path::Path;
use std::process::Command;

/// A shop with the demo board measured on both corners.
fn with_demo() -> Shop {
    let shop = Shop::new();
    let done = shop.run(["demo", "--out", "seen"]);
    assert_eq!(
        done.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    shop
}

fn ok(shop: &Shop, line: &[&str]) -> String {
    let output = shop.run(line);
    assert_eq!(
        output.status.code(),
        Some(0),
        "{line:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

/// What another program says in a folder; `None` where it is not installed.
fn outside(folder: &Path, program: &str, arguments: &[&str]) -> Option<String> {
    let Ok(output) = Command::new(program).args(arguments).current_dir(folder).output() else {
        println!("skipped: there is no {program}");
        return None;
    };
    assert!(
        output.status.success(),
        "{program}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    Some(String::from_utf8_lossy(&output.stdout).into_owned())
}

/// Text without its white: where words end on paper is a reader's guess.
fn squeezed(text: &str) -> String {
    text.split_whitespace().collect()
}

/// Where the bytes of a file begin in a bundle: behind its name in the header before it.
fn start_of(bundle: &[u8], name: &str) -> usize {
    let head = |at: usize| bundle[..at].ends_with(&[u8::try_from(name.len()).unwrap(), 0, 0, 0]);
    let names = bundle
        .windows(name.len())
        .enumerate()
        .filter(|(_, part)| *part == name.as_bytes());
    names.map(|(at, _)| at).find(|at| head(*at)).unwrap() + name.len()
}

const BOARD: [&str; 2] = ["--board", "Kestrel 2"];

/// A command line about the demo board.
fn about<'a>(before: &[&'a str], after: &[&'a str]) -> Vec<&'a str> {
    [before, &BOARD, after].concat()
}

#[test]
fn a_visit_becomes_a_record_and_a_bundle_that_holds() {
    let shop = with_demo();
    ok(
        &shop,
        &[
            "shop",
            "--name",
            "Tidewheel Works",
            "--address",
            "Harbour Lane 4\nPort Elm",
            "--technician",
            "Ada",
        ],
    );
    ok(
        &shop,
        &about(
            &["visit", "note"],
            &["--odometer", "812.5", "--part", "2", "spacer 31/64 in"],
        ),
    );
    let torque = [
        "--torque",
        "pulley screws",
        "6",
        "the board's manual",
        "--remarks",
        "belt looks fine",
    ];
    let notes = ok(&shop, &about(&["visit", "note"], &torque));
    assert!(
        notes.contains("812.5 km") && notes.contains("2 x spacer 31/64 in"),
        "{notes}"
    );

    let history = shop.json(about(&["record"], &["--json"]));
    let gap = &history["history"][1]["result"]["values"]["gap"];
    let left = format!(
        "{:.2} ± {:.2} mm",
        gap["value"].as_f64().unwrap(),
        gap["u95"].as_f64().unwrap()
    );
    for paper in ["a4", "letter"] {
        let out = format!("kestrel-{paper}.pdf");
        let made = shop.json(about(&["record"], &["--out", &out, "--paper", paper, "--json"]));
        if let Ok(folder) = std::env::var("SHIMWRIGHT_KEEP_PICTURES") {
            std::fs::copy(shop.path(&out), Path::new(&folder).join(&out)).unwrap();
        }
        let Some(text) = outside(&shop.path("."), "pdftotext", &["-layout", &out, "-"]) else {
            continue;
        };
        let text = squeezed(&text);
        for part in [
            "Tidewheel Works",
            "Port Elm",
            "Kestrel 2",
            "812.5 km",
            "Ada",
            "Left gap",
            "Right gap",
            "at least 0.50 mm",
            "spacer 31/64 in",
            "6 N\u{b7}m",
            "the board's manual",
            "belt looks fine",
            "disconnect the battery",
            "corner noise",
            made["fingerprint"].as_str().unwrap(),
        ] {
            assert!(
                text.contains(&squeezed(part)),
                "{part:?} is not in the {paper} record: {text}"
            );
        }
        assert!(
            text.contains(&squeezed(left.split(" ± ").next().unwrap())),
            "{left:?} is not in {text}"
        );
        let info = outside(&shop.path("."), "pdfinfo", &[&out]).unwrap();
        assert!(info.contains("Tagged:          yes"), "{info}");
        let images = outside(&shop.path("."), "pdfimages", &["-list", &out]).unwrap();
        assert_eq!(
            images.matches(" jpeg ").count(),
            8,
            "three photos and a close one for each corner: {images}"
        );
    }

    let made = shop.json(about(&["bundle"], &["--out", "first.zip", "--sign", "--json"]));
    assert_eq!((&made["number"], &made["with_place"]), (&json!(1), &json!(false)));
    let verified = shop.json(["verify", "first.zip", "--json"]);
    let first = &verified[0];
    assert_eq!(
        (
            &first["unchanged"],
            &first["record"],
            &first["chain"]["state"],
            &first["signature"]["state"]
        ),
        (&json!(true), &json!("same"), &json!("first"), &json!("own-key"))
    );
    let numbers = first["numbers"].as_array().unwrap();
    assert!(numbers.len() >= 6, "{numbers:?}");
    assert!(
        numbers.iter().all(|number| number["state"] == "same"),
        "{numbers:?}"
    );
    let told = ok(&shop, &["verify", "first.zip"]);
    assert!(
        told.contains("the same to the last digit") && told.contains("everything that was looked at holds"),
        "{told}"
    );

    // By hand, with plain tools, and its job measures where it lies.
    std::fs::create_dir(shop.path("open")).unwrap();
    if outside(&shop.path("open"), "unzip", &["-q", "../first.zip"]).is_some() {
        outside(
            &shop.path("open"),
            "sha256sum",
            &["-c", "--quiet", "--strict", "SHA256SUMS"],
        );
        if let Some(sum) = outside(&shop.path("open"), "sha256sum", &["evidence.json"]) {
            assert!(sum.starts_with(made["fingerprint"].as_str().unwrap()), "{sum}");
        }
        let measured = shop.json(["measure", "open/checks/01-left-gap/job.json", "--json"]);
        assert_eq!(measured["values"]["gap"], *gap);
    }

    // A changed byte, number and photo are each named, and the exit status tells.
    let whole = std::fs::read(shop.path("first.zip")).unwrap();
    for (wanted, name) in [
        (b"\"value\": 0.".as_slice(), "checks/01-left-gap/result.json"),
        (b"Kestrel 2".as_slice(), "evidence.json"),
        (b"\xff\xdb".as_slice(), "checks/01-left-gap/left-1.jpg"),
    ] {
        let mut changed = whole.clone();
        let at = start_of(&whole, name);
        let place = at
            + changed[at..]
                .windows(wanted.len())
                .position(|part| part == wanted)
                .unwrap()
            + wanted.len()
            - 1;
        changed[place] ^= 1;
        shop.write("changed.zip", &changed);
        let output = shop.run(["verify", "changed.zip", "--sums-only"]);
        assert_eq!(output.status.code(), Some(2), "{name}");
        let told = String::from_utf8(output.stdout).unwrap();
        let trouble = String::from_utf8(output.stderr).unwrap();
        // Without its evidence a bundle cannot be told of at all, so that one is told by the line of trouble alone.
        assert!(
            name == "evidence.json" || told.contains(&format!("CHANGED {name}")),
            "{told}"
        );
        assert!(
            trouble.contains(name) && trouble.lines().count() == 1,
            "{trouble}"
        );
    }
}

#[test]
fn records_of_a_board_are_a_chain() {
    let shop = with_demo();
    let seal = |out: &str, more: &[&str]| -> Value {
        shop.json(about(&["bundle"], &[&["--out", out, "--json"], more].concat()))
    };
    let first = seal("first.zip", &[]);
    assert_eq!(seal("again.zip", &[])["seal"], first["seal"]);
    let bytes = |name: &str| std::fs::read(shop.path(name)).unwrap();
    assert_eq!(
        bytes("first.zip"),
        bytes("again.zip"),
        "nothing has changed, so it is the same record"
    );
    ok(&shop, &about(&["visit", "note"], &["--remarks", "looked again"]));
    let second = seal("second.zip", &["--paper", "letter"]);
    assert_eq!((&first["number"], &second["number"]), (&json!(1), &json!(2)));
    assert_ne!(first["fingerprint"], second["fingerprint"]);

    let state = |line: &[&str]| shop.json([&["verify", "--sums-only", "--json"], line].concat());
    assert_eq!(
        state(&["second.zip"])[0]["chain"]["state"],
        "linked",
        "the history knows the first one"
    );
    let elsewhere = ["--data-dir", "nowhere"];
    let alone = state(&[&["second.zip"], elsewhere.as_slice()].concat());
    assert_eq!(alone[0]["chain"]["state"], "not-at-hand");
    assert!(
        !shop.path("nowhere").exists(),
        "verifying leaves no folder behind"
    );
    let both = state(&[&["second.zip", "first.zip"], elsewhere.as_slice()].concat());
    assert_eq!(
        (&both[0]["chain"]["state"], &both[1]["chain"]["state"]),
        (&json!("linked"), &json!("first"))
    );
}

#[test]
fn bad_input_is_one_sentence() {
    let shop = Shop::new();
    let no_board = refused(&shop.run(["record", "--board", "Marlin", "--out", "a.pdf"]), 2);
    assert!(no_board.contains("there is no board called Marlin"), "{no_board}");
    ok(&shop, &["board", "add", "Marlin"]);
    let marlin = ["--board", "Marlin"];
    let line = |before: &[&str], after: &[&str]| refused(&shop.run([before, &marlin, after].concat()), 2);
    assert!(line(&["record"], &["--out", "a.pdf"]).contains("Marlin has no visit yet"));
    assert!(line(&["visit", "note"], &["--odometer", "-3"]).contains("-3"));
    assert!(
        line(&["visit", "note"], &["--torque", "screws", "900", ""]).contains("not between 0 and 200 N m")
    );
    assert!(line(&["visit", "note"], &["--part", "two", "belts"]).contains("`two`, which is no count"));
    ok(
        &shop,
        &["visit", "note", "--board", "Marlin", "--remarks", "only looked"],
    );
    assert!(
        line(&["record"], &["--out", "a.pdf", "--visit", "1999-01-01"])
            .contains("has no visit 1999-01-01; there are: 2")
    );
    assert!(
        line(&["record"], &["--out", "a.pdf", "--paper", "a3"])
            .contains("there is no paper `a3`; use one of a4, letter")
    );
    assert!(line(&["bundle"], &["--out", "left.json/x.zip"]).contains("cannot be written"));
    assert!(refused(&shop.run(["key"]), 2).contains("shimwright key --make"));

    for (name, bytes, told) in [
        ("empty.zip", b"".as_slice(), "too short for an archive"),
        ("photo.zip", &[0xff; 4000], "no end record"),
        ("left.json", &[], "index cannot be read"),
    ] {
        if !bytes.is_empty() || name == "empty.zip" {
            shop.write(name, bytes);
        }
        let trouble = refused(&shop.run(["verify", name]), 2);
        assert!(trouble.contains(told), "{trouble}");
    }
    assert!(refused(&shop.run(["verify", "none.zip"]), 2).contains("there is no file none.zip"));
    assert!(refused(&shop.run(["verify"]), 2).contains("FILE.zip"));

    // A visit without checks still makes a record and a bundle.
    ok(&shop, &["record", "--board", "Marlin", "--out", "marlin.pdf"]);
    ok(&shop, &["bundle", "--board", "Marlin", "--out", "marlin.zip"]);
    ok(&shop, &["verify", "marlin.zip"]);
}

#[test]
fn the_key_is_made_on_demand_and_kept_for_the_owner_alone() {
    let shop = Shop::new();
    let key = ok(&shop, &["key", "--make"]);
    let public = key.lines().next().unwrap();
    assert!(
        public.len() == 64 && public.chars().all(|c| c.is_ascii_hexdigit()),
        "{key}"
    );
    assert_eq!(shop.json(["key", "--json"])["public_key"], json!(public));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let path = shop.path("history/shop.key");
        assert_eq!(
            std::fs::metadata(&path).unwrap().permissions().mode() & 0o777,
            0o600
        );
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o640)).unwrap();
        assert!(refused(&shop.run(["key"]), 1).contains("mode 640"));
    }
}
