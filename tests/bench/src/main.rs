//! The engine's side of `./dev bench`. It answers one question a line on standard input, each a JSON object with its
//! `do`, by one line with the seconds that the work took (`wall`, and `cpu` over all threads) and what came out; files
//! are read before the clock starts. `shimwright-bench job FILE` measures one job and ends, so that its memory can be told.

mod clock;
mod questions;

use std::io::{BufRead, Write};
use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let done = match arguments.as_slice() {
        [] => answer_all(),
        [job, path] if job == "job" => questions::whole_job(path).map(|told| println!("{told}")),
        _ => Err("usage: shimwright-bench [job FILE]".into()),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn answer_all() -> Result<(), Box<dyn std::error::Error>> {
    let mut out = std::io::stdout().lock();
    for line in std::io::stdin().lock().lines() {
        let answer = questions::answer(&serde_json::from_str(&line?)?)?;
        writeln!(out, "{answer}")?;
        out.flush()?;
    }
    Ok(())
}
