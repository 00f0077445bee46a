//! `demo`: the whole job on the demo board.

use super::Place;
use super::measure::{run, write_marked};
use crate::arguments::Demo;
use crate::output;
use crate::shell;
use serde::Serialize;
use shimwright_app::bridge::{Failure, HistoryEntry};
use shimwright_app::record::{Board, Corner, SpacerAdvice};
use shimwright_app::{demo_job, write_demo_files};

/// What the demo did, as one JSON document.
#[derive(Serialize)]
struct Done {
    board: Board,
    checks: Vec<HistoryEntry>,
    advice: SpacerAdvice,
    files: Vec<String>,
}

/// Measures both corners, keeps them, advises and writes annotated pictures.
pub async fn demo(asked: Demo, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let board = workshop.load_demo().await?;
    let mut files = Vec::new();
    let mut checks = Vec::new();
    for corner in Corner::BOTH {
        let (loaded, result) = run(demo_job(corner)?).await?;
        files.extend(write_marked(&result, &loaded, &asked.out)?);
        checks.push(workshop.save_measured(&board, corner, loaded, result, "").await?);
    }
    if asked.files {
        files.extend(
            write_demo_files(&asked.out)?
                .iter()
                .map(|path| path.display().to_string()),
        );
    }
    let advice = workshop.advise(&board).await?;
    let folder = workshop.app_info().data_dir;
    workshop.close().await;
    if asked.form.json {
        return shell::print_json(&Done {
            board,
            checks,
            advice,
            files,
        });
    }
    let mut text = format!("{}, the demo board of {}\n", board.name, board.owner);
    for check in &checks {
        text += &format!(
            "\n== {} corner ==\n{}",
            check.corner.name(),
            output::result(&check.result, asked.form.inch)
        );
    }
    text += &format!("\n== advice ==\n{}", output::advice(&advice));
    text += &format!("\nkept in the history in {folder}\nwritten:\n");
    text.extend(files.iter().map(|file| format!("  {file}\n")));
    shell::print(&text)
}
