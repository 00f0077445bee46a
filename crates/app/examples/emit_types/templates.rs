//! The templates of everything that the program says, for whoever says it in another language.
//!
//! They are read where they stand: in the macro calls of the crates' sources, in the tables that are built in, and in the help of the
//! drive's form.

use proc_macro2::{Delimiter, TokenStream, TokenTree};
use shimwright_app::Tables;
use shimwright_app::advice::description_help;
use shimwright_phrase::template;
use std::collections::BTreeSet;
use std::path::Path;

/// Where the crates lie.
const ROOT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
/// Sources whose sentences the page never shows: what is said at a command line alone, and what makes sentences.
const ELSEWHERE: &[&str] = &["crates/cli", "crates/phrase", "crates/say", "crates/synth"];

/// All templates in order of the alphabet, as a list in JSON, one a line.
///
/// # Errors
/// Says which source or template is not understood.
pub fn all() -> Result<String, String> {
    let mut found = listed()?;
    for folder in ["crates", "src-tauri"] {
        sources(&Path::new(ROOT).join(folder), &mut found)?;
    }
    // Places with nothing but signs between them read the same in every language.
    let speaks = |code: &&String| without_places(code).contains(char::is_alphabetic);
    let lines: Vec<String> = found
        .iter()
        .filter(speaks)
        .map(|code| format!("  {}", serde_json::Value::from(code.as_str())))
        .collect();
    Ok(format!("[\n{}\n]\n", lines.join(",\n")))
}

fn without_places(code: &str) -> String {
    let mut depth = 0;
    code.chars()
        .filter(|letter| {
            depth += i32::from(*letter == '{');
            let outside = depth == 0;
            depth -= i32::from(*letter == '}');
            outside
        })
        .collect()
}

fn listed() -> Result<BTreeSet<String>, String> {
    let Tables { torques, service } = Tables::built_in().map_err(|failure| failure.to_string())?;
    let help = description_help()
        .iter()
        .flat_map(|field| [field.label, field.help]);
    let mut texts: Vec<String> = help.map(str::to_owned).collect();
    texts.push(torques.about);
    for class in torques.classes {
        texts.extend([class.name, class.cited, class.wrench, class.how]);
    }
    texts.push(service.about);
    for check in service.checks {
        texts.extend([
            check.title,
            check.what,
            check.why,
            check.how_tight,
            check.also,
            check.source,
        ]);
        texts.extend(check.how);
        texts.extend(check.cautions);
    }
    Ok(texts.iter().map(|text| template::escaped(text)).collect())
}

fn sources(folder: &Path, found: &mut BTreeSet<String>) -> Result<(), String> {
    let unreadable = |error: std::io::Error| format!("{}: {error}", folder.display());
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        let shown = path.strip_prefix(ROOT).unwrap_or(&path).display().to_string();
        let name = path.file_name().unwrap_or_default();
        if path.is_dir()
            && !["tests", "examples", "benches"]
                .iter()
                .any(|other| name == *other)
        {
            if !ELSEWHERE.contains(&shown.as_str()) {
                sources(&path, found)?;
            }
        } else if path.extension().is_some_and(|kind| kind == "rs") {
            let text = std::fs::read_to_string(&path).map_err(|error| format!("{shown}: {error}"))?;
            source(&text, found).map_err(|wrong| format!("{shown}: {wrong}"))?;
        }
    }
    Ok(())
}

fn source(text: &str, found: &mut BTreeSet<String>) -> Result<(), String> {
    // What tests say nobody reads.
    let said = text.split("#[cfg(test)]\nmod ").next().unwrap_or(text);
    let tokens: TokenStream = said.parse().map_err(|error| format!("{error}"))?;
    if said.contains("shimwright_say::Halves") {
        messages(tokens.clone(), found)?;
    }
    calls(tokens, found)
}

/// Looks for `#[error("…")]`, whose halves are phrases of their own.
fn messages(tokens: TokenStream, found: &mut BTreeSet<String>) -> Result<(), String> {
    for token in tokens {
        let TokenTree::Group(group) = token else { continue };
        let inside: Vec<TokenTree> = group.stream().into_iter().collect();
        match inside.as_slice() {
            [TokenTree::Ident(name), TokenTree::Group(said)] if name == "error" => {
                let first = said
                    .stream()
                    .into_iter()
                    .next()
                    .ok_or("a message without words")?;
                found.extend(shimwright_phrase::template::halves(&words(&first)?)?);
            }
            _ => messages(group.stream(), found)?,
        }
    }
    Ok(())
}

/// The text of a literal.
fn words(literal: &TokenTree) -> Result<String, String> {
    let literal = literal.to_string();
    let read: syn::LitStr = syn::parse_str(&literal).map_err(|error| format!("{literal}: {error}"))?;
    Ok(read.value())
}

/// Looks for `say!("…"`, also within other macros.
fn calls(tokens: TokenStream, found: &mut BTreeSet<String>) -> Result<(), String> {
    let tokens: Vec<TokenTree> = tokens.into_iter().collect();
    for (at, token) in tokens.iter().enumerate() {
        let TokenTree::Group(group) = token else { continue };
        let called = match at.checked_sub(2).map(|before| &tokens[before..at]) {
            Some([TokenTree::Ident(name), TokenTree::Punct(mark)]) => name == "say" && mark.as_char() == '!',
            _ => false,
        };
        if called && group.delimiter() == Delimiter::Parenthesis {
            let first = group.stream().into_iter().next();
            let literal = words(&first.ok_or("`say!` without words")?)?;
            found.insert(template::of(&literal)?.code);
        }
        calls(group.stream(), found)?;
    }
    Ok(())
}
