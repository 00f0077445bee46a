//! The terminal: lines out, progress, and Ctrl-C.

use shimwright_app::Cancel;
use shimwright_app::bridge::{Failure, ProgressNote};
use shimwright_phrase::{Phrase, plainly};
use shimwright_say::say;
use std::io::{ErrorKind, IsTerminal, Write};

/// Writes one line of trouble to the error output.
pub fn say(text: &str) {
    // There is nowhere left to complain when this fails.
    let _ = writeln!(
        std::io::stderr(),
        "shimwright: {}",
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    );
}

/// Writes text to the standard output. A reader that has had enough (`| head`) is no error.
///
/// # Errors
/// A fault when the output cannot be written for another reason, such as a full disk.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(Failure::internal(say!(
            "the result could not be written ({error})"
        ))),
        _ => Ok(()),
    }
}

/// Writes one JSON document, its sentences as their words.
///
/// # Errors
/// As [`print()`].
pub fn print_json(value: &impl serde::Serialize) -> Result<(), Failure> {
    let text = plainly(|| serde_json::to_string_pretty(value))
        .map_err(|error| Failure::internal(Phrase::foreign(error.to_string())))?;
    print(&(text + "\n"))
}

/// Shows progress on the error output when somebody looks at it.
#[derive(Clone, Copy, Debug)]
pub struct Progress {
    seen: bool,
}

impl Progress {
    /// Progress for this terminal.
    pub fn new() -> Self {
        Self {
            seen: std::io::stderr().is_terminal(),
        }
    }

    /// Shows a step.
    pub fn show(&self, note: &ProgressNote) {
        if self.seen {
            let _ = write!(
                std::io::stderr(),
                "\r\x1b[K{:3.0} % {}",
                note.done * 100.0,
                note.step
            );
        }
    }

    /// Wipes the line.
    pub fn clear(&self) {
        if self.seen {
            let _ = write!(std::io::stderr(), "\r\x1b[K");
        }
    }
}

/// A way to cancel that Ctrl-C uses.
pub fn cancel_on_interrupt() -> Cancel {
    let cancel = Cancel::default();
    let told = cancel.clone();
    tokio::spawn(async move {
        if tokio::signal::ctrl_c().await.is_ok() {
            told.cancel();
        }
    });
    cancel
}
