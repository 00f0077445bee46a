//! Backup, restore, export, import, photos and values over time by the command line.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod shop;

use serde_json::json;
use shop::{Shop, refused};

/// A shop with a board and a measured corner.
fn measured() -> Shop {
    let shop = Shop::new();
    let add = [
        "board",
        "add",
        "Kestrel 2",
        "--owner",
        "Ada",
        "--notes",
        "serial TW-7",
    ];
    assert!(shop.run(add).status.success());
    let job = shop.path("left.json");
    let save = [
        "save",
        job.to_str().unwrap(),
        "--board",
        "Kestrel 2",
        "--corner",
        "left",
    ];
    assert!(shop.run(save).status.success());
    shop
}

#[test]
fn a_history_goes_out_and_comes_back() {
    let shop = measured();
    let record = ["record", "--board", "Kestrel 2", "--json"];
    let before = shop.json(record);

    let backup = shop.json(["backup", "--out", "kept.tar", "--json"]);
    assert_eq!((&backup["photos"], &backup["left_out"]), (&json!(3), &json!([])));
    let line = refused(&shop.run(["backup", "--out", "kept.tar"]), 2);
    assert!(line.contains("nothing is overwritten"), "{line}");

    assert!(shop.run(["board", "add", "Late"]).status.success());
    let restored = shop.run(["restore", "kept.tar"]);
    let text = String::from_utf8(restored.stdout).unwrap();
    assert!(
        text.contains("with 3 photos") && text.contains("kept-aside"),
        "{text}"
    );
    assert_eq!(
        shop.json(["board", "list", "--json"]).as_array().unwrap().len(),
        1
    );
    assert_eq!(shop.json(record), before);

    let exported = shop.json([
        "export",
        "--out",
        "out",
        "--format",
        "json",
        "--with-photos",
        "--json",
    ]);
    assert_eq!(exported["rows"]["checks.json"], 1);
    let other = ["--data-dir", "other"];
    let merged = shop.json([&["import", "out", "--json"], &other[..]].concat());
    assert_eq!(
        (&merged["done"], &merged["added"]["photos"]),
        (&json!(true), &json!(3))
    );
    assert_eq!(shop.json([&record[..], &other[..]].concat()), before);
    bundles_are_taken_in(&shop, &before);
    let csv = shop.run(["export", "--out", "sheets"]);
    assert!(String::from_utf8(csv.stdout).unwrap().contains("values.csv"));
    assert!(shop.path("sheets/COLUMNS.md").exists());
}

/// A bundle becomes a visit on another machine, is known where it came from, and is refused when it was changed.
fn bundles_are_taken_in(shop: &Shop, before: &serde_json::Value) {
    let seal = |more: &[&str]| shop.json([&["bundle", "--board", "Kestrel 2", "--json"], more].concat());
    let sealed = seal(&["--out", "one.zip"]);
    let third = ["--data-dir", "third"];
    let merged = shop.json([&["import", "one.zip", "--json"], &third[..]].concat());
    assert_eq!(
        (
            &merged["added"]["checks"],
            &merged["added"]["photos"],
            &merged["conflicts"]
        ),
        (&json!(1), &json!(3), &json!([]))
    );
    let there = shop.json([&["record", "--board", "Kestrel 2", "--json"], &third[..]].concat());
    for part in ["result", "at", "corner", "id"] {
        assert_eq!(there["history"][0][part], before["history"][0][part], "{part}");
    }
    // There the chain goes on where the bundle left it.
    let next = seal(&[&["--out", "two.zip"], &third[..]].concat());
    assert_eq!((&sealed["number"], &next["number"]), (&json!(1), &json!(2)));
    for place in [&third[..], &[]] {
        let again = shop.json([&["import", "one.zip", "--json"], place].concat());
        assert_eq!(
            (&again["added"], &again["left_out"]),
            (&json!({}), &json!([])),
            "{place:?}"
        );
    }
    let mut bytes = std::fs::read(shop.path("one.zip")).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    shop.write("changed.zip", &bytes);
    let line = refused(&shop.run([&["import", "changed.zip"], &third[..]].concat()), 2);
    assert!(line.contains("not as it was sealed"), "{line}");
}

/// What a photo tells of its place leaves only when it is asked for, each time; and what left without it still verifies.
#[test]
fn a_photo_s_place_leaves_only_when_it_is_asked_for() {
    const PLACE: &[u8] = b"http://ns.adobe.com/xap/1.0/\0<exif:GPSLatitude>12,34N</exif:GPSLatitude>";
    let shop = Shop::new();
    let mut photo = std::fs::read(shop.path("left-1.jpg")).unwrap();
    let length = (PLACE.len() as u16 + 2).to_be_bytes();
    photo.splice(2..2, [b"\xff\xe1".as_slice(), &length, PLACE].concat());
    shop.write("left-1.jpg", &photo);
    assert!(shop.run(["board", "add", "Marlin"]).status.success());
    let job = shop.path("left.json");
    let save = [
        "save",
        job.to_str().unwrap(),
        "--board",
        "Marlin",
        "--corner",
        "left",
    ];
    assert!(shop.run(save).status.success());
    let tells = |path: &str| tells(&shop.path(path), PLACE);
    assert!(tells("history/photos"), "here it stays as the camera wrote it");

    let record = ["record", "--board", "Marlin", "--json"];
    let bundle = |out: &str, more: &[&str]| {
        shop.json([&["bundle", "--board", "Marlin", "--json", "--out", out], more].concat())
    };
    let before = shop.json(record);
    bundle("one.zip", &[]);
    for (out, ask) in [
        ("one.tar", &["backup", "--out", "one.tar"][..]),
        ("csv", &["export", "--out", "csv", "--with-photos"]),
        (
            "lists",
            &["export", "--out", "lists", "--format", "json", "--with-photos"],
        ),
        ("one.pdf", &["record", "--board", "Marlin", "--out", "one.pdf"]),
        ("one.zip", &["board", "list"]),
    ] {
        assert!(shop.run(ask).status.success(), "{ask:?}");
        assert!(!tells(out), "{out} tells the place");
        if matches!(ask[0], "backup" | "export") {
            let asked = [ask, &["--with-place"]].concat();
            let asked: Vec<String> = asked
                .iter()
                .map(|word| word.replace(out, &format!("asked-{out}")))
                .collect();
            assert!(shop.run(&asked).status.success(), "{asked:?}");
            assert!(tells(&format!("asked-{out}")), "{asked:?}");
        }
    }
    bundle("asked.zip", &["--with-place"]);
    assert!(tells("asked.zip"));
    assert!(refused(&shop.run(["export", "--out", "x", "--with-place"]), 2).contains("--with-photos"));

    // Elsewhere the photo keeps its name, and the same evidence comes out of it again.
    for (place, from) in [("a", "one.tar"), ("b", "csv"), ("c", "lists")] {
        let there = ["--data-dir", place];
        let take = if from == "one.tar" { "restore" } else { "import" };
        assert!(shop.run([&[take, from], &there[..]].concat()).status.success());
        assert_eq!(shop.json([&record[..], &there[..]].concat()), before, "{place}");
    }
    let there = ["--data-dir", "a", "--board", "Marlin"];
    shop.json([&["bundle", "--out", "a.zip", "--json"], &there[..]].concat());
    let verified = shop.json(["verify", "a.zip", "--json"]);
    assert_eq!(verified[0]["record"], "same", "{verified}");
    let numbers = verified[0]["numbers"].as_array().unwrap();
    assert!(
        numbers.iter().all(|number| number["state"] == "same"),
        "{verified}"
    );
    let fingerprint =
        |name: &str| shop.json(["verify", name, "--sums-only", "--json"])[0]["fingerprint"].clone();
    assert_eq!(
        fingerprint("a.zip"),
        fingerprint("one.zip"),
        "the evidence is the same"
    );
    let asked = ["bundle", "--with-place", "--out", "no.zip"];
    let line = refused(&shop.run([&asked[..], &there[..]].concat()), 2);
    assert!(
        line.contains("left-1.jpg") && line.contains("the bench that took them"),
        "{line}"
    );
}

/// Whether a file, or any file of a folder, holds some bytes.
fn tells(path: &std::path::Path, wanted: &[u8]) -> bool {
    if path.is_dir() {
        let mut entries = std::fs::read_dir(path).unwrap();
        return entries.any(|entry| tells(&entry.unwrap().path(), wanted));
    }
    let bytes = std::fs::read(path).unwrap();
    bytes.windows(wanted.len()).any(|part| part == wanted)
}

#[test]
fn trouble_is_one_line_with_a_way_out() {
    let shop = measured();
    for (arguments, says) in [
        (&["restore", "left.json"][..], "no whole backup"),
        (
            &["restore", "--newest-copy", "--data-dir", "other"],
            "no good daily copy",
        ),
        (&["restore"], "required"),
        (&["import", "."], "there is no history here"),
        (&["photos", "--dry-run"], "--clean-up"),
        (
            &[
                "trend",
                "--board",
                "Kestrel 2",
                "--corner",
                "left",
                "--value",
                "luck",
            ],
            "no kind of check called luck",
        ),
        (&["board", "list", "--history", "mysql://shop"], "postgres://"),
        (
            &["board", "list", "--photos", "ftp://shop/photos"],
            "a folder that all benches reach",
        ),
    ] {
        let line = refused(&shop.run(arguments), 2);
        assert!(line.contains(says), "{line}");
    }
    let line = refused(
        &shop.run(["board", "list", "--history", "postgres://shop@127.0.0.1:1/x"]),
        1,
    );
    assert!(line.contains("check that it runs"), "{line}");
}

#[test]
fn boards_are_found_values_followed_and_photos_counted() {
    let shop = measured();
    let found = shop.json(["board", "list", "--search", "tw-7 ADA", "--json"]);
    assert_eq!(found[0]["name"], "Kestrel 2");
    assert_eq!(
        shop.json(["board", "list", "--search", "nobody", "--json"]),
        json!([])
    );
    let trend = shop.json(["trend", "--board", "Kestrel 2", "--corner", "left", "--json"]);
    assert_eq!(trend[0]["quantity"]["unit"], "mm");
    let text = String::from_utf8(shop.run(["photos"]).stdout).unwrap();
    assert!(
        text.contains("3 photos") && text.contains("used 3 times"),
        "{text}"
    );
    let stray = shop.path("history/photos/aa");
    std::fs::create_dir_all(&stray).unwrap();
    std::fs::write(stray.join("a".repeat(64)), b"stray").unwrap();
    let told = shop.json(["photos", "--clean-up", "--dry-run", "--json"]);
    assert_eq!(told["photos"], json!(["a".repeat(64)]));
    assert_eq!(shop.json(["photos", "--clean-up", "--json"]), told);
    assert_eq!(shop.json(["photos", "--clean-up", "--json"])["photos"], json!([]));
}

#[test]
fn a_damaged_history_names_its_copy_and_is_mended_by_it() {
    let shop = measured();
    // The copy of the day was made by the command after the first one, when there was something to copy.
    assert_eq!(std::fs::read_dir(shop.path("history/copies")).unwrap().count(), 1);
    let file = shop.path("history/history.sqlite3");
    std::fs::write(&file, [b'x'; 6000]).unwrap();
    let line = refused(&shop.run(["board", "list"]), 1);
    assert!(
        line.contains("damaged") && line.contains("--newest-copy"),
        "{line}"
    );
    let text = String::from_utf8(shop.run(["restore", "--newest-copy"]).stdout).unwrap();
    assert!(text.contains("what was saved after it is missing"), "{text}");
    assert_eq!(shop.json(["board", "list", "--json"])[0]["name"], "Kestrel 2");
}
