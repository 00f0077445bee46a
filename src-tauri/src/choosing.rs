//! Files and folders that the user chooses in the system's own dialog.

use crate::Shop;
use crate::commands::{Answer, out_folder};
use shimwright_app::bridge::{Failure, FileFound};
use shimwright_app::file_at;
use shimwright_phrase::Phrase;
use shimwright_say::say;
use std::path::PathBuf;
use tauri::{AppHandle, Runtime, State};
use tauri_plugin_dialog::{DialogExt, FileDialogBuilder, FilePath};

/// Endings of the files that can be taken in.
const ENDINGS: [&str; 2] = ["tar", "zip"];

/// Lets the user choose a backup or a bundle; nothing when the dialog was closed.
#[tauri::command]
pub async fn choose_file<R: Runtime>(app: AppHandle<R>, shop: State<'_, Shop>) -> Answer<Option<FileFound>> {
    let dialog = dialog(&app, &shop)?
        .set_title("Choose a backup or a bundle")
        .add_filter("Backups and bundles", &ENDINGS);
    let chosen = asked(move || dialog.blocking_pick_file()).await?;
    chosen.map(|path| file_at(&path)).transpose()
}

/// Lets the user choose the folder of an export or of a history; nothing when the dialog was closed.
#[tauri::command]
pub async fn choose_folder<R: Runtime>(
    app: AppHandle<R>,
    shop: State<'_, Shop>,
) -> Answer<Option<FileFound>> {
    let dialog = dialog(&app, &shop)?.set_title("Choose the folder of an export or of a history");
    let chosen = asked(move || folder(dialog)).await?;
    chosen.map(|path| file_at(&path)).transpose()
}

/// Where files for the user are written.
#[tauri::command]
pub async fn files_folder<R: Runtime>(app: AppHandle<R>, shop: State<'_, Shop>) -> Answer<String> {
    Ok(out_folder(&app, &shop)?.display().to_string())
}

/// Lets the user choose where files are written until the program is closed; gives the folder, also when it stays.
#[tauri::command]
pub async fn choose_files_folder<R: Runtime>(app: AppHandle<R>, shop: State<'_, Shop>) -> Answer<String> {
    let dialog = dialog(&app, &shop)?.set_title("Choose where records, bundles and backups are written");
    if let Some(folder) = asked(move || folder(dialog)).await? {
        shop.write_files_to(folder);
    }
    Ok(out_folder(&app, &shop)?.display().to_string())
}

/// A dialog that begins where files are written, if there is such a folder yet.
fn dialog<R: Runtime>(app: &AppHandle<R>, shop: &Shop) -> Answer<FileDialogBuilder<R>> {
    let folder = out_folder(app, shop)?;
    let dialog = app.dialog().file();
    Ok(if folder.is_dir() {
        dialog.set_directory(folder)
    } else {
        dialog
    })
}

#[cfg(desktop)]
fn folder<R: Runtime>(dialog: FileDialogBuilder<R>) -> Option<FilePath> {
    dialog.blocking_pick_folder()
}

/// Phones let no folder be chosen.
#[cfg(mobile)]
fn folder<R: Runtime>(_: FileDialogBuilder<R>) -> Option<FilePath> {
    None
}

/// Waits for the dialog away from the threads that serve the page.
async fn asked(ask: impl FnOnce() -> Option<FilePath> + Send + 'static) -> Answer<Option<PathBuf>> {
    let chosen = tauri::async_runtime::spawn_blocking(ask)
        .await
        .map_err(|error| Failure::internal(Phrase::foreign(error.to_string())))?;
    let path = chosen.map(FilePath::into_path).transpose();
    path.map_err(|error| {
        Failure::bad_input(
            say!("what was chosen is no file of this machine ({error})"),
            say!("copy it into a folder of this machine first"),
        )
    })
}
