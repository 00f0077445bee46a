//! What the page may ask. Each command parses, asks the workshop, and passes on its answer or its failure.

use crate::Shop;
use percent_encoding::percent_decode_str;
use shimwright_app::bridge::{
    AppInfo, BoardDetail, BoardsShown, CalibrateRequest, Calibrated, CarriedMarks, DemoPhotos, Failure,
    HistoryEntry, KeptCamera, Look, MeasureRequest, Measured, PhotoAdded, PhotoGlimpse, PrintedSheets,
    SoundAdded,
};
use shimwright_app::record::{Board, Corner, Proposal, SpacerStock};
use shimwright_app::write_target_sheets;
use shimwright_say::say;
use std::collections::BTreeMap;
use std::path::PathBuf;
use tauri::ipc::{InvokeBody, Request};
use tauri::{AppHandle, Emitter, Manager, Runtime, State};

/// The event by which a running measurement says how far it is.
pub(crate) const PROGRESS: &str = "measure-progress";
/// The header that carries a file's name, percent-encoded.
const FILE_NAME: &str = "x-file-name";
/// The header that says what a picture to be looked at is.
const LOOK: &str = "x-look";

pub(crate) type Answer<T> = Result<T, Failure>;

/// The first boards that hold the words `find`, each with when it was last measured; no words find all.
#[tauri::command]
pub async fn boards(shop: State<'_, Shop>, find: String, most: u32) -> Answer<BoardsShown> {
    shop.workshop()?.board_list(&find, most).await
}

/// A board with its history.
#[tauri::command]
pub async fn board(shop: State<'_, Shop>, id: String) -> Answer<BoardDetail> {
    shop.workshop()?.board(&id).await
}

/// Keeps a board; an empty id makes a new one.
#[tauri::command]
pub async fn save_board(shop: State<'_, Shop>, board: Board) -> Answer<Board> {
    shop.workshop()?.save_board(&board).await
}

/// Takes a board out of sight.
#[tauri::command]
pub async fn delete_board(shop: State<'_, Shop>, id: String) -> Answer<()> {
    shop.workshop()?.delete_board(&id).await
}

/// The rings in the drawer.
#[tauri::command]
pub async fn stock(shop: State<'_, Shop>) -> Answer<Vec<SpacerStock>> {
    shop.workshop()?.stock().await
}

/// Replaces the rings in the drawer.
#[tauri::command]
pub async fn save_stock(shop: State<'_, Shop>, stock: Vec<SpacerStock>) -> Answer<()> {
    shop.workshop()?.save_stock(&stock).await
}

/// Puts the demo board and its rings into the history, and its camera among the kept ones.
#[tauri::command]
pub async fn load_demo(shop: State<'_, Shop>) -> Answer<Board> {
    let workshop = shop.workshop()?;
    workshop.keep_demo_camera().await?;
    workshop.load_demo().await
}

/// Hands in the demo's photos of a corner.
#[tauri::command]
pub async fn add_demo_photos(shop: State<'_, Shop>, corner: Corner) -> Answer<DemoPhotos> {
    shop.workshop()?.add_demo_photos(corner).await
}

/// Hands in a photo: its bytes are the request's body, its name a header. Its corners are found by `look_closer`.
#[tauri::command]
pub async fn open_photo(shop: State<'_, Shop>, request: Request<'_>) -> Answer<PhotoGlimpse> {
    let (name, bytes) = file_of(&request)?;
    shop.workshop()?.open_photo(&name, bytes).await
}

/// Finds the targets of an opened photo, corner by corner.
#[tauri::command]
pub async fn look_closer(shop: State<'_, Shop>, id: String) -> Answer<PhotoAdded> {
    shop.workshop()?.look_closer(&id).await
}

/// Looks at a picture of the running camera: its grey bytes are the request's body, what they are a header in JSON.
#[tauri::command]
pub async fn look(shop: State<'_, Shop>, request: Request<'_>) -> Answer<Look> {
    let asked = request.headers().get(LOOK).map(|asked| asked.as_bytes());
    let asked = asked.and_then(|asked| serde_json::from_slice(asked).ok());
    let (Some(asked), InvokeBody::Raw(grey)) = (asked, request.body()) else {
        return Err(Failure::internal(say!(
            "a picture came without its size or its bytes"
        )));
    };
    shop.workshop()?.look(asked, grey.clone()).await
}

/// Hands in a recording of plucks, a WAV file, in the same way.
#[tauri::command]
pub async fn add_sound(shop: State<'_, Shop>, request: Request<'_>) -> Answer<SoundAdded> {
    let (name, bytes) = file_of(&request)?;
    shop.workshop()?.add_sound(&name, bytes).await
}

/// A file that came as a raw request: its name and its bytes.
pub(crate) fn file_of(request: &Request<'_>) -> Answer<(String, Vec<u8>)> {
    let InvokeBody::Raw(bytes) = request.body() else {
        return Err(Failure::internal(say!("a file came without its bytes")));
    };
    let name = request
        .headers()
        .get(FILE_NAME)
        .and_then(|name| name.to_str().ok())
        .unwrap_or("file");
    Ok((
        percent_decode_str(name).decode_utf8_lossy().into_owned(),
        bytes.clone(),
    ))
}

/// Lets go of photos that were not saved.
#[tauri::command]
pub async fn forget_photos(shop: State<'_, Shop>, ids: Vec<String>) -> Answer<()> {
    shop.workshop()?.forget_photos(&ids);
    Ok(())
}

/// Measures; tells how far it is by an event.
#[tauri::command]
pub async fn measure<R: Runtime>(
    app: AppHandle<R>,
    shop: State<'_, Shop>,
    request: MeasureRequest,
) -> Answer<Measured> {
    // A page that is gone cannot be told; the measurement does not fail for that.
    let tell = move |note| drop(app.emit(PROGRESS, note));
    shop.workshop()?.measure(request, tell).await
}

/// Proposes marks for a gap check; tells how far it is by the same event.
#[tauri::command]
pub async fn propose_marks<R: Runtime>(
    app: AppHandle<R>,
    shop: State<'_, Shop>,
    request: MeasureRequest,
) -> Answer<Proposal> {
    let tell = move |note| drop(app.emit(PROGRESS, note));
    shop.workshop()?.propose(request, tell).await
}

/// Carries marks from one photo to another.
#[tauri::command]
pub async fn carry_marks(
    shop: State<'_, Shop>,
    from: String,
    to: String,
    marks: BTreeMap<String, Vec<[f64; 2]>>,
) -> Answer<CarriedMarks> {
    shop.workshop()?.carry_marks(&from, &to, marks).await
}

/// Calibrates a camera; tells how far it is by the same event.
#[tauri::command]
pub async fn calibrate<R: Runtime>(
    app: AppHandle<R>,
    shop: State<'_, Shop>,
    request: CalibrateRequest,
) -> Answer<Calibrated> {
    let tell = move |note| drop(app.emit(PROGRESS, note));
    shop.workshop()?.calibrate(request, tell).await
}

/// Keeps a calibrated camera for later checks.
#[tauri::command]
pub async fn keep_camera(shop: State<'_, Shop>, draft_id: String) -> Answer<Vec<KeptCamera>> {
    shop.workshop()?.keep_camera(&draft_id).await
}

/// The camera profiles that are kept.
#[tauri::command]
pub async fn cameras(shop: State<'_, Shop>) -> Answer<Vec<KeptCamera>> {
    shop.workshop()?.cameras().await
}

/// Takes a kept camera profile away.
#[tauri::command]
pub async fn forget_camera(shop: State<'_, Shop>, id: String) -> Answer<Vec<KeptCamera>> {
    shop.workshop()?.forget_camera(&id).await
}

/// Stops the running measurement.
#[tauri::command]
pub async fn cancel_measure(shop: State<'_, Shop>) -> Answer<()> {
    shop.workshop()?.cancel_measure();
    Ok(())
}

/// Keeps a measured check in the history.
#[tauri::command]
pub async fn save_check(shop: State<'_, Shop>, draft_id: String, work_done: String) -> Answer<HistoryEntry> {
    shop.workshop()?.save_check(&draft_id, &work_done).await
}

/// Lets go of a measured check.
#[tauri::command]
pub async fn drop_draft(shop: State<'_, Shop>, draft_id: String) -> Answer<()> {
    shop.workshop()?.drop_draft(&draft_id);
    Ok(())
}

/// Writes down what was done about a saved check.
#[tauri::command]
pub async fn set_work_done(shop: State<'_, Shop>, check_id: String, work_done: String) -> Answer<()> {
    shop.workshop()?.set_work_done(&check_id, &work_done).await
}

/// Where files for the user are written: a folder in the documents, or beside the history when there is no such folder.
pub(crate) fn out_folder<R: Runtime>(app: &AppHandle<R>, shop: &Shop) -> Answer<PathBuf> {
    if let Some(folder) = shop.files() {
        return Ok(folder);
    }
    let folder = match app.path().document_dir() {
        Ok(folder) => folder,
        Err(_) => shop.workshop()?.app_info().data_dir.into(),
    };
    Ok(folder.join("Shimwright"))
}

/// Writes printable sheets into the user's documents, or beside the history when there is no such folder.
#[tauri::command]
pub async fn print_targets<R: Runtime>(
    app: AppHandle<R>,
    shop: State<'_, Shop>,
    sheet: String,
    paper: String,
) -> Answer<PrintedSheets> {
    let folder = out_folder(&app, &shop)?;
    let files = write_target_sheets(&sheet, &paper, &folder)?;
    Ok(PrintedSheets {
        files: files.iter().map(|file| file.display().to_string()).collect(),
    })
}

/// The program's version and where it keeps the history.
#[tauri::command]
pub async fn app_info(shop: State<'_, Shop>) -> Answer<AppInfo> {
    Ok(shop.workshop()?.app_info())
}
