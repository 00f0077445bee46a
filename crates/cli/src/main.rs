//! The `shimwright` command: measures, advises and keeps the history without a window.
//!
//! It parses what it is given, asks `shimwright-app`, and prints what comes back. Exit status: 0 done, 1 a fault of
//! the program or of the storage, 2 bad input, 3 the photos do not allow the measurement, 130 interrupted. Trouble is
//! one line on the error output.

mod arguments;
mod arguments_of_records;
mod commands;
mod output;
mod shell;

use arguments::Arguments;
use clap::Parser;
use clap::error::ErrorKind;
use shimwright_app::bridge::{Failure, FailureCode};
use shimwright_say::say;
use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => return refuse(&error),
    };
    let outcome = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::internal(say!("the program could not start its threads ({error})")))
        .and_then(|runtime| runtime.block_on(commands::run(arguments)));
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            shell::say(&failure.to_string());
            ExitCode::from(status(failure.code))
        }
    }
}

/// The exit status for a kind of trouble.
fn status(code: FailureCode) -> u8 {
    match code {
        FailureCode::BadInput | FailureCode::NotFound => 2,
        FailureCode::NotMeasurable => 3,
        // What a shell reports for a program that was interrupted: 128 + SIGINT.
        FailureCode::Cancelled => 130,
        FailureCode::Storage | FailureCode::Internal => 1,
    }
}

/// Arguments that make no sense are one line; asked-for help and version are printed whole.
fn refuse(error: &clap::Error) -> ExitCode {
    if matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) {
        // A closed pipe is no reason to complain about help.
        let _ = error.print();
        return ExitCode::SUCCESS;
    }
    if error.kind() == ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand {
        shell::say("no command was given; `shimwright --help` lists them");
        return ExitCode::from(2);
    }
    let text = error.to_string();
    let (problem, usage) = text
        .split_once("\n\nUsage: ")
        .unwrap_or((&text, "shimwright --help\n"));
    let problem = problem.split_whitespace().collect::<Vec<_>>().join(" ");
    let usage = usage.lines().next().unwrap_or_default();
    shell::say(&format!(
        "{}; usage: {usage}",
        problem.trim_start_matches("error: ")
    ));
    ExitCode::from(2)
}
