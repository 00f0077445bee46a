//! Outside judges: Python scripts under `tests/outside` that use libraries which know nothing of this project.

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The folder of the scripts.
pub fn scripts() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("outside")
}

/// The Python that `./dev test` prepares, or the system's.
pub fn python() -> PathBuf {
    std::env::var_os("SHIMWRIGHT_PYTHON").map_or_else(|| PathBuf::from("python3"), PathBuf::from)
}

/// Whether Python with these modules and these programs are here. When not: panics if `SHIMWRIGHT_REQUIRE_OUTSIDE`
/// is set, as `./dev test` does, or else prints that the test is skipped and why.
pub fn is_ready(modules: &[&str], programs: &[&str]) -> bool {
    match missing(modules, programs) {
        None => true,
        Some(what) => {
            let required = std::env::var_os("SHIMWRIGHT_REQUIRE_OUTSIDE").is_some_and(|v| v == "1");
            assert!(
                !required,
                "{what} is missing, and SHIMWRIGHT_REQUIRE_OUTSIDE asks for it; run ./dev test"
            );
            println!("skipped: {what} is missing");
            false
        }
    }
}

fn missing(modules: &[&str], programs: &[&str]) -> Option<String> {
    let runs = |command: &mut Command| command.output().is_ok_and(|o| o.status.success());
    for module in modules {
        if !runs(Command::new(python()).args(["-c", &format!("import {module}")])) {
            return Some(format!("Python's module {module}"));
        }
    }
    let absent = programs
        .iter()
        .find(|program| Command::new(program).arg("-v").output().is_err());
    absent.map(|program| format!("the program {program}"))
}

/// Runs a script with a JSON document on its standard input and reads the one that it prints. Panics with the
/// script's own words when it fails.
pub fn ask(script: &str, question: &Value) -> Value {
    let mut child = Command::new(python())
        .arg(scripts().join(script))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("Python starts");
    let input = child.stdin.take().expect("a pipe to the script");
    serde_json::to_writer(input, question).expect("the script reads its input");
    let output = child.wait_with_output().expect("the script ends");
    assert!(
        output.status.success(),
        "{script}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).expect("the script prints JSON")
}
