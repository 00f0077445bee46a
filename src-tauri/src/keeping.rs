//! What the page may ask about records, bundles, backups, exports, imports and photos. Files are written into the user's
//! documents; a file to be verified comes as the body of a request.

use crate::Shop;
use crate::commands::{Answer, PROGRESS, file_of, out_folder};
use shimwright_app::bridge::{
    BundleRequest, BundleVerified, FilesTold, Keeping, RecordRequest, RecordWritten, RecordsOfBoard,
};
use shimwright_app::record::{Shop as ShopStated, VisitNotes};
use shimwright_app::{ExportForm, ExportPhotos, Workshop, system_clock};
use std::path::Path;
use tauri::ipc::Request;
use tauri::{AppHandle, Emitter, Runtime, State};

/// What records of a board are made from.
#[tauri::command]
pub async fn records_of(shop: State<'_, Shop>, board_id: String) -> Answer<RecordsOfBoard> {
    shop.workshop()?.records_of(&board_id).await
}

/// Writes down who the shop is.
#[tauri::command]
pub async fn save_shop(shop: State<'_, Shop>, stated: ShopStated) -> Answer<()> {
    shop.workshop()?.save_shop(&stated).await
}

/// Writes down what is to be said of a visit.
#[tauri::command]
pub async fn note_visit(
    shop: State<'_, Shop>,
    board_id: String,
    visit: String,
    notes: VisitNotes,
) -> Answer<()> {
    let workshop = shop.workshop()?;
    let board = workshop.board(&board_id).await?.board;
    workshop.note_visit(&board, Some(&visit), &notes).await
}

/// Writes a record.
#[tauri::command]
pub async fn write_record<R: Runtime>(
    app: AppHandle<R>,
    shop: State<'_, Shop>,
    request: RecordRequest,
) -> Answer<RecordWritten> {
    let folder = out_folder(&app, &shop)?;
    shop.workshop()?.write_record(&request, &folder).await
}

/// Seals a visit and writes its bundle.
#[tauri::command]
pub async fn write_bundle<R: Runtime>(
    app: AppHandle<R>,
    shop: State<'_, Shop>,
    request: BundleRequest,
) -> Answer<RecordWritten> {
    let folder = out_folder(&app, &shop)?;
    shop.workshop()?.write_bundle(&request, &folder).await
}

/// Verifies a bundle; tells how far it is by an event.
#[tauri::command]
pub async fn verify_bundle<R: Runtime>(
    app: AppHandle<R>,
    shop: State<'_, Shop>,
    request: Request<'_>,
) -> Answer<BundleVerified> {
    let (name, bytes) = file_of(&request)?;
    let tell = move |note| drop(app.emit(PROGRESS, note));
    shop.workshop()?.verify_handed_in(&name, bytes, tell).await
}

/// How the history is kept.
#[tauri::command]
pub async fn keeping<R: Runtime>(app: AppHandle<R>, shop: State<'_, Shop>) -> Answer<Keeping> {
    let folder = out_folder(&app, &shop)?;
    shop.workshop()?.keeping(&folder).await
}

/// Writes a backup; photos tell where they were taken only if that is asked for this time.
#[tauri::command]
pub async fn back_up<R: Runtime>(
    app: AppHandle<R>,
    shop: State<'_, Shop>,
    with_place: bool,
) -> Answer<FilesTold> {
    let folder = out_folder(&app, &shop)?;
    shop.workshop()?.back_up_into(&folder, with_place).await
}

/// Puts a backup in the place of the history.
#[tauri::command]
pub async fn restore_backup(shop: State<'_, Shop>, file: String) -> Answer<FilesTold> {
    shop.replace(async |home| Workshop::restore_told(home, Path::new(&file), system_clock).await)
        .await
}

/// Puts the newest good daily copy in the place of the database, also of one that is damaged.
#[tauri::command]
pub async fn restore_copy(shop: State<'_, Shop>) -> Answer<FilesTold> {
    shop.replace(async |home| Workshop::restore_copy_told(home, system_clock).await)
        .await
}

/// Writes an export; `format` is `csv` or `json`. Photos tell where they were taken only if that is asked for this time.
#[tauri::command]
pub async fn export_history<R: Runtime>(
    app: AppHandle<R>,
    shop: State<'_, Shop>,
    format: String,
    with_photos: bool,
    with_place: bool,
) -> Answer<FilesTold> {
    let folder = out_folder(&app, &shop)?;
    let form = if format == "csv" {
        ExportForm::Csv
    } else {
        ExportForm::Json
    };
    let photos = ExportPhotos::asked(with_photos, with_place);
    shop.workshop()?.export_into(&folder, form, photos).await
}

/// Takes in a backup, an export or a bundle.
#[tauri::command]
pub async fn import_history(shop: State<'_, Shop>, from: String, keep_both: bool) -> Answer<FilesTold> {
    shop.workshop()?.import_told(Path::new(&from), keep_both).await
}

/// Removes photos that nothing names.
#[tauri::command]
pub async fn clean_up_photos(shop: State<'_, Shop>) -> Answer<FilesTold> {
    shop.workshop()?.clean_up_told().await
}
