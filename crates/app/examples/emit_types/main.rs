//! Writes the page's TypeScript types from the Rust types that cross to it, and the templates of what is said to it.
//!
//! `cargo run -p shimwright-app --features typescript --example emit_types` writes them; with `-- --check` it writes
//! nothing and fails when a file is not what the Rust sources say.

mod templates;

use shimwright_app::bridge;
use shimwright_app::record::{
    AddedMass, BeltAdvice, Proposal, RecentreAdvice, ServiceAdvice, ShakeAdvice, SpacerQuestion, SpacerStock,
    TorqueAdvice,
};
use std::collections::BTreeMap;
use std::path::Path;
use std::process::ExitCode;
use ts_rs::{Config, TS, TypeVisitor};

const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../ui/src/lib/backend/types.ts");
const TEMPLATES: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../../ui/src/lib/words/engine/templates.json"
);
const HEAD: &str = "\
// What crosses between the window and the workshop, made from the Rust types `shimwright_app::bridge` and
// `shimwright_record` by `cargo run -p shimwright-app --features typescript --example emit_types`.
// Change those, never this file by hand.

";

/// Declarations by name, so that the file does not depend on the order of visits.
struct Declarations {
    config: Config,
    by_name: BTreeMap<String, String>,
}

impl Declarations {
    fn add<T: TS + 'static + ?Sized>(&mut self) {
        // Types without a file of their own are TypeScript's: numbers, strings, lists.
        if T::output_path().is_some() {
            let name = T::ident(&self.config);
            if self.by_name.contains_key(&name) {
                return;
            }
            self.by_name.insert(name, T::decl(&self.config));
        }
        T::visit_dependencies(self);
        T::visit_generics(self);
    }
}

impl TypeVisitor for Declarations {
    fn visit<T: TS + 'static + ?Sized>(&mut self) {
        self.add::<T>();
    }
}

fn declarations() -> String {
    let mut all = Declarations {
        config: Config::new(),
        by_name: BTreeMap::new(),
    };
    all.add::<bridge::Failure>();
    all.add::<bridge::BoardSummary>();
    all.add::<bridge::BoardsShown>();
    all.add::<bridge::BoardDetail>();
    all.add::<bridge::PhotoAdded>();
    all.add::<bridge::PhoneStanding>();
    all.add::<bridge::PhoneKept>();
    all.add::<bridge::PhotoGlimpse>();
    all.add::<bridge::PhoneInvitation>();
    all.add::<bridge::PhoneAtBench>();
    all.add::<bridge::PhoneTold>();
    all.add::<bridge::SoundAdded>();
    all.add::<bridge::MeasureRequest>();
    all.add::<bridge::Measured>();
    all.add::<bridge::CalibrateRequest>();
    all.add::<bridge::CarriedMarks>();
    all.add::<bridge::Calibrated>();
    all.add::<bridge::KeptCamera>();
    all.add::<bridge::ProgressNote>();
    all.add::<bridge::DemoPhotos>();
    all.add::<bridge::PrintedSheets>();
    all.add::<bridge::AppInfo>();
    all.add::<bridge::LookRequest>();
    all.add::<bridge::Look>();
    all.add::<bridge::DriveForm>();
    all.add::<AddedMass>();
    all.add::<bridge::RecordsOfBoard>();
    all.add::<bridge::RecordWritten>();
    all.add::<bridge::BundleRequest>();
    all.add::<bridge::BundleVerified>();
    all.add::<bridge::Keeping>();
    all.add::<bridge::FilesTold>();
    all.add::<BeltAdvice>();
    all.add::<Proposal>();
    all.add::<RecentreAdvice>();
    all.add::<ServiceAdvice>();
    all.add::<ShakeAdvice>();
    all.add::<SpacerQuestion>();
    all.add::<SpacerStock>();
    all.add::<TorqueAdvice>();
    let lines: Vec<String> = all
        .by_name
        .values()
        .map(|declaration| laid_out(declaration))
        .collect();
    format!("{HEAD}{}", lines.concat())
}

/// The longest declaration that stays on one line.
const LINE: usize = 110;

/// A declaration without its comments (they are in the Rust sources), a field a line when it is long.
fn laid_out(declaration: &str) -> String {
    let bare = without_comments(declaration)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    if bare.contains("} | {") {
        return alternatives(&bare);
    }
    let Some((head, fields)) = bare.strip_suffix("};").and_then(|text| text.split_once(" = {")) else {
        return format!("export {bare}\n");
    };
    let fields = fields_of(fields);
    let short = format!("export {head} = {{ {} }};\n", fields.join("; "));
    if short.len() <= LINE {
        return short;
    }
    let lines: Vec<String> = fields.iter().map(|field| format!("  {field};\n")).collect();
    format!("export {head} = {{\n{}}};\n", lines.concat())
}

/// A declaration of objects of which one is meant, each on a line.
fn alternatives(bare: &str) -> String {
    let (head, all) = bare.split_once(" = ").unwrap_or((bare, ""));
    let lines = all.trim_end_matches(';').split(" | ").map(|one| {
        let fields = fields_of(one.trim_start_matches("{ ").trim_end_matches('}'));
        format!("\n  | {{ {} }}", fields.join("; "))
    });
    format!("export {head} ={};\n", lines.collect::<String>())
}

fn without_comments(text: &str) -> String {
    let mut bare = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("/*") {
        bare += before;
        rest = after.split_once("*/").map_or("", |(_, behind)| behind);
    }
    bare + rest
}

/// The fields between the outer braces, split at the commas that stand in no inner bracket.
fn fields_of(text: &str) -> Vec<String> {
    let mut fields = vec![String::new()];
    let mut depth = 0_i32;
    for character in text.chars() {
        match character {
            '{' | '[' | '(' | '<' => depth += 1,
            '}' | ']' | ')' | '>' => depth -= 1,
            _ => {}
        }
        if character == ',' && depth == 0 {
            fields.push(String::new());
        } else if let Some(field) = fields.last_mut() {
            field.push(character);
        }
    }
    fields
        .into_iter()
        .map(|field| field.trim().to_owned())
        .filter(|field| !field.is_empty())
        .collect()
}

/// Writes a file, or with `check` compares it.
fn settle(file: &str, wanted: &str, check: bool) -> Result<(), String> {
    let path = Path::new(file);
    if !check {
        return std::fs::write(path, wanted).map_err(|error| format!("{file} cannot be written: {error}"));
    }
    if std::fs::read_to_string(path).is_ok_and(|there| there == wanted) {
        return Ok(());
    }
    Err(format!(
        "{file} is not what the Rust sources say; run this example without --check and commit the file"
    ))
}

fn main() -> ExitCode {
    let check = std::env::args().any(|argument| argument == "--check");
    let told = settle(FILE, &declarations(), check)
        .and_then(|()| templates::all())
        .and_then(|all| settle(TEMPLATES, &all, check));
    match told {
        Ok(()) => ExitCode::SUCCESS,
        Err(wrong) => {
            eprintln!("{wrong}");
            ExitCode::FAILURE
        }
    }
}
