//! What the checks of the house itself share: where it stands and what cargo says of it.

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The top folder of the project.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .map(Path::to_path_buf)
        .unwrap_or_default()
}

/// What `cargo metadata` says, with these further arguments. Panics with cargo's own words when it fails.
pub fn cargo_metadata(arguments: &[&str]) -> Value {
    let printed = output(
        Command::new(env!("CARGO"))
            .args(["metadata", "--format-version", "1", "--locked"])
            .args(arguments),
    );
    serde_json::from_str(&printed).expect("cargo metadata prints JSON")
}

/// The files that belong to the project: those that git keeps or would keep, relative to the top folder.
pub fn files() -> Vec<String> {
    let printed =
        output(Command::new("git").args(["ls-files", "--cached", "--others", "--exclude-standard"]));
    // A file that was removed and not yet committed is still listed.
    printed
        .lines()
        .filter(|name| root().join(name).exists())
        .map(str::to_owned)
        .collect()
}

fn output(command: &mut Command) -> String {
    let done = command.current_dir(root()).output().expect("the command starts");
    assert!(
        done.status.success(),
        "{command:?}: {}",
        String::from_utf8_lossy(&done.stderr)
    );
    String::from_utf8(done.stdout).expect("the command prints UTF-8")
}
