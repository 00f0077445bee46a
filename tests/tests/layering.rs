//! The shape of the house: which crate may depend on which, what lies at the top, and sizes and names of files.

use serde_json::{Value, json};
use shimwright_tests::house;

/// A crate and the crates of the workspace that it may depend on. DEVELOPERS.md draws this table.
const MAY_DEPEND_ON: &[(&str, &[&str])] = &[
    ("geom", &[]),
    ("phrase", &[]),
    ("say", &["phrase"]),
    ("camera", &["geom", "phrase", "say"]),
    ("target", &["geom"]),
    ("photo", &["geom", "phrase", "say"]),
    ("detect", &["geom", "target"]),
    ("edge", &["geom"]),
    ("solve", &["geom", "phrase", "say", "camera"]),
    ("record", &["geom", "phrase", "say"]),
    ("sound", &["phrase", "say"]),
    ("receive", &["phrase", "say"]),
    ("phone-page", &[]),
    ("live", &["geom", "camera", "target", "detect", "solve", "record"]),
    (
        "measure",
        &[
            "geom", "phrase", "say", "camera", "target", "photo", "detect", "edge", "solve", "record",
            "sound",
        ],
    ),
    ("advice", &["phrase", "say", "record"]),
    ("history", &["phrase", "say", "record"]),
    ("evidence", &["phrase", "say", "record"]),
    ("report", &["phrase", "say", "record", "target"]),
    (
        "app",
        &[
            "geom", "phrase", "say", "camera", "target", "photo", "detect", "edge", "solve", "record",
            "live", "receive", "measure", "advice", "history", "evidence", "report",
        ],
    ),
    ("synth", &["geom", "camera", "target"]),
    ("cli", &["phrase", "say", "app", "phone-page"]),
    ("window", &["phrase", "say", "app", "phone-page"]),
];

/// The one crate that may use a library from outside.
const ONLY_IN: &[(&str, &str)] = &[
    ("kamadak-exif", "photo"),
    ("sqlx", "history"),
    ("object_store", "history"),
    ("tar", "history"),
    ("krilla", "report"),
    ("ed25519-dalek", "evidence"),
    ("rustfft", "sound"),
    ("hound", "sound"),
    ("hyper", "receive"),
    ("rcgen", "receive"),
    ("qrcode", "receive"),
    ("if-addrs", "receive"),
    ("clap", "cli"),
    ("tauri", "window"),
    ("tauri-build", "window"),
];

/// What may lie at the top, beside names that begin with a dot.
const TOP: &[&str] = &[
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "LICENSE-MIT",
    "LICENSE-APACHE",
    "dev",
    "src-tauri",
    "ui",
    "tests",
    "calibration",
    "crates",
    "deny.toml",
    "rustfmt.toml",
    "clippy.toml",
];

/// Names that say nothing of what is inside.
const EMPTY_NAMES: &[&str] = &["util", "utils", "helper", "helpers", "manager", "common", "misc"];

/// The most lines of a source file.
const MOST_LINES: usize = 500;

const PREFIX: &str = "shimwright-";

/// Every arrow in cargo's metadata that the tables above do not allow.
fn forbidden_arrows(metadata: &Value) -> Vec<String> {
    let packages = metadata["packages"].as_array().expect("a list of packages");
    packages.iter().flat_map(forbidden_of).collect()
}

fn forbidden_of(package: &Value) -> Vec<String> {
    let name = short(package["name"].as_str().expect("a package has a name"));
    if ["tests", "bench", "hostile"].contains(&name) {
        return Vec::new();
    }
    let Some((_, allowed)) = MAY_DEPEND_ON.iter().find(|(known, _)| *known == name) else {
        return vec![format!("{name} is not in the table: say what it may depend on")];
    };
    let dependencies = package["dependencies"]
        .as_array()
        .expect("a list of dependencies");
    let forbidden = |dependency: &&Value| {
        let target = dependency["name"].as_str().expect("a dependency has a name");
        let made_up_scenes = dependency["kind"] == "dev" && target == "shimwright-synth";
        match target.strip_prefix(PREFIX) {
            Some(target) => !allowed.contains(&target) && !made_up_scenes,
            None => ONLY_IN
                .iter()
                .any(|(library, only)| *library == target && *only != name),
        }
    };
    dependencies
        .iter()
        .filter(forbidden)
        .map(|to| format!("{name} -> {}", short(text(&to["name"]))))
        .collect()
}

fn short(name: &str) -> &str {
    name.strip_prefix(PREFIX).unwrap_or(name)
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

#[test]
fn every_dependency_is_in_the_table() {
    let found = forbidden_arrows(&house::cargo_metadata(&["--no-deps"]));
    assert!(
        found.is_empty(),
        "arrows that the table does not allow:\n{}",
        found.join("\n")
    );
}

#[test]
fn an_arrow_outside_the_table_is_seen() {
    let package = |name: &str, to: &str, kind: Value| json!({"name": name, "dependencies": [{"name": to, "kind": kind}]});
    let metadata = json!({"packages": [
        package("shimwright-geom", "nalgebra", Value::Null),
        package("shimwright-advice", "shimwright-detect", Value::Null),
        package("shimwright-solve", "shimwright-synth", json!("dev")),
        package("shimwright-solve", "shimwright-synth", Value::Null),
        package("shimwright-report", "sqlx", Value::Null),
        package("shimwright-tests", "shimwright-solve", Value::Null),
        package("shimwright-attic", "serde", Value::Null),
    ]});
    assert_eq!(
        forbidden_arrows(&metadata),
        [
            "advice -> detect",
            "solve -> synth",
            "report -> sqlx",
            "attic is not in the table: say what it may depend on",
        ]
    );
}

#[test]
fn a_row_names_only_rows_before_it() {
    for (place, (name, allowed)) in MAY_DEPEND_ON.iter().enumerate() {
        for target in *allowed {
            let earlier = MAY_DEPEND_ON[..place].iter().any(|(known, _)| known == target);
            assert!(
                earlier,
                "{name} may depend on {target}, which does not stand above it"
            );
        }
    }
}

#[test]
fn nothing_else_lies_at_the_top() {
    let odd: Vec<String> = house::files()
        .iter()
        .filter_map(|name| name.split('/').next())
        .filter(|top| !top.starts_with('.') && !TOP.contains(top))
        .map(str::to_owned)
        .collect();
    assert!(odd.is_empty(), "beyond the house plan: {odd:?}");
}

#[test]
fn files_are_small_and_say_what_they_hold() {
    let sources: Vec<String> = house::files()
        .into_iter()
        .filter(|name| [".rs", ".ts", ".svelte"].iter().any(|end| name.ends_with(end)))
        .collect();
    assert!(sources.len() > 20, "only {} sources found", sources.len());
    let mut odd = Vec::new();
    for name in &sources {
        let lines = std::fs::read_to_string(house::root().join(name))
            .expect("a source is text")
            .lines()
            .count();
        if lines > MOST_LINES {
            odd.push(format!("{name} has {lines} lines, {MOST_LINES} are the most"));
        }
        let folders_and_stem = name.rsplit_once('.').map_or(name.as_str(), |(stem, _)| stem);
        if folders_and_stem
            .split('/')
            .any(|part| EMPTY_NAMES.contains(&part.to_lowercase().as_str()))
        {
            odd.push(format!("{name}: its name does not say what it holds"));
        }
    }
    assert!(odd.is_empty(), "{}", odd.join("\n"));
}
