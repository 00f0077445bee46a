//! `measure` and `save`.

use super::Place;
use crate::arguments::{Form, Measure, Save};
use crate::output;
use crate::shell::{self, Progress, cancel_on_interrupt};
use shimwright_app::bridge::{Failure, ProgressNote};
use shimwright_app::record::{CheckResult, Corner};
use shimwright_app::{
    Cancel, LoadedJob, TargetSet, load_job, marked_pictures, measure_job, use_kept_profile, write_files,
};
use shimwright_say::say;
use std::path::Path;

/// Measures a job file and prints the result.
pub async fn measure(asked: Measure, place: &Place) -> Result<(), Failure> {
    let mut loaded = load_job(&asked.job)?;
    // Measuring needs no data folder: without one there is no kept profile either.
    if let Ok(folder) = place.folder() {
        use_kept_profile(&folder, &mut loaded)?;
    }
    let (loaded, result) = run(loaded).await?;
    if let Some(folder) = &asked.marked_dir {
        write_marked(&result, &loaded, folder)?;
    }
    print_result(&result, asked.form)
}

/// Measures a job file and keeps it in a board's history.
pub async fn save(asked: Save, place: &Place) -> Result<(), Failure> {
    let mut loaded = load_job(&asked.job)?;
    use_kept_profile(&place.folder()?, &mut loaded)?;
    let workshop = place.open().await?;
    let board = workshop.board_named(&asked.board).await?;
    let corner: Corner = asked.corner.into();
    let (loaded, result) = run(loaded).await?;
    let entry = workshop
        .save_measured(&board, corner, loaded, result, &asked.work_done)
        .await?;
    workshop.close().await;
    if asked.form.json {
        return shell::print_json(&entry);
    }
    let advice = entry.advice.as_ref().map(output::advice).unwrap_or_default();
    shell::print(&format!(
        "{}\nkept in the history of {}, {} corner, {}\n{advice}",
        output::result(&entry.result, asked.form.inch),
        board.name,
        corner.name(),
        entry.at
    ))
}

/// Measures a loaded job, with progress for a terminal and Ctrl-C to stop.
pub async fn run(loaded: LoadedJob) -> Result<(LoadedJob, CheckResult), Failure> {
    in_background(loaded, measure_job).await
}

/// Work of the engine on a loaded job: it tells its progress and can be cancelled.
type Work<T> = fn(&LoadedJob, &TargetSet, &(dyn Fn(ProgressNote) + Sync), &Cancel) -> Result<T, Failure>;

/// Lets the engine work on a loaded job, with progress for a terminal and Ctrl-C to stop.
pub async fn in_background<T: Send + 'static>(
    loaded: LoadedJob,
    work: Work<T>,
) -> Result<(LoadedJob, T), Failure> {
    let cancel = cancel_on_interrupt();
    let progress = Progress::new();
    let outcome = tokio::task::spawn_blocking(move || {
        let done = work(
            &loaded,
            &TargetSet::built_in(),
            &|note| progress.show(&note),
            &cancel,
        )?;
        Ok((loaded, done))
    })
    .await
    .unwrap_or_else(|_| {
        Err(Failure::internal(say!(
            "the measurement stopped by a fault of the program"
        )))
    });
    progress.clear();
    outcome
}

/// Writes the photos with what was found drawn on them; gives the paths.
pub fn write_marked(result: &CheckResult, loaded: &LoadedJob, folder: &Path) -> Result<Vec<String>, Failure> {
    let pictures = marked_pictures(result, &loaded.photos)?;
    let files = pictures
        .iter()
        .map(|picture| (picture.name.as_str(), picture.jpeg.as_slice()));
    Ok(write_files(folder, files)?
        .iter()
        .map(|path| path.display().to_string())
        .collect())
}

/// Prints a result in the form asked for.
pub fn print_result(result: &CheckResult, form: Form) -> Result<(), Failure> {
    if form.json {
        shell::print_json(result)
    } else {
        shell::print(&output::result(result, form.inch))
    }
}
