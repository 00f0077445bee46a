//! The window: commands that parse, ask the workshop and pass on its answer, and a scheme that shows photos.
//!
//! No mathematics and no rules live here; see `shimwright_app` for the use cases and `ui/` for the page.

mod care;
mod choosing;
mod commands;
mod devices;
mod display;
mod keeping;
mod phones;
mod pictures;
mod shop;

pub use phones::leave;
pub use shop::Shop;

use std::path::Path;
use tauri::{Builder, RunEvent, Runtime};

/// The scheme by which the page shows a photo: `photo://localhost/<SHA-256>`.
pub const PHOTO_SCHEME: &str = "photo";

/// The program's own folder on Android, by the identifier in `tauri.conf.json`.
const ANDROID_FOLDER: &str = "/data/data/org.shimwright.window/files";

/// Gives a builder everything the window has, on any runtime: the real one, or the one of the tests.
pub fn furnish<R: Runtime>(builder: Builder<R>, shop: Shop) -> Builder<R> {
    builder
        .manage(shop)
        .manage(phones::Phones::default())
        .plugin(tauri_plugin_dialog::init())
        .on_permission_request(|_, kind| devices::answer(kind))
        .register_asynchronous_uri_scheme_protocol(PHOTO_SCHEME, pictures::answer)
        .invoke_handler(tauri::generate_handler![
            commands::boards,
            commands::board,
            commands::save_board,
            commands::delete_board,
            commands::stock,
            commands::save_stock,
            commands::load_demo,
            commands::add_demo_photos,
            commands::open_photo,
            commands::look_closer,
            commands::add_sound,
            commands::look,
            commands::forget_photos,
            commands::measure,
            commands::calibrate,
            commands::carry_marks,
            commands::propose_marks,
            commands::keep_camera,
            commands::cameras,
            commands::forget_camera,
            commands::cancel_measure,
            commands::save_check,
            commands::drop_draft,
            commands::set_work_done,
            commands::print_targets,
            commands::app_info,
            care::drive_form,
            care::describe_drive,
            care::advise_spacer,
            care::advise_recentre,
            care::advise_belt,
            care::advise_shake,
            care::torque_table,
            care::service,
            care::service_done,
            choosing::choose_file,
            choosing::choose_folder,
            choosing::files_folder,
            choosing::choose_files_folder,
            keeping::records_of,
            keeping::save_shop,
            keeping::note_visit,
            keeping::write_record,
            keeping::write_bundle,
            keeping::verify_bundle,
            keeping::keeping,
            keeping::back_up,
            keeping::restore_backup,
            keeping::restore_copy,
            keeping::export_history,
            keeping::import_history,
            keeping::clean_up_photos,
            phones::phone_addresses,
            phones::phone_start,
            phones::phone_standing,
            phones::phone_tell,
            phones::phone_stop,
            phones::photo_bytes,
        ])
}

/// Opens the window and stays until it is closed. Ends the program with a sentence when there is no display.
#[cfg_attr(mobile, tauri::mobile_entry_point)]
pub fn run() {
    if let Err(sentence) = display::present() {
        give_up(sentence);
    }
    let shop = tauri::async_runtime::block_on(async {
        // Android has no data folder of the user's, only one of each program's.
        if cfg!(target_os = "android") {
            Shop::open_in(Path::new(ANDROID_FOLDER)).await
        } else {
            Shop::open().await
        }
    });
    match furnish(Builder::default(), shop).build(tauri::generate_context!()) {
        Ok(app) => app.run(|app, event| {
            if matches!(event, RunEvent::Exit) {
                leave(app);
            }
        }),
        Err(error) => give_up(&error.to_string()),
    }
}

fn give_up(sentence: &str) -> ! {
    eprintln!("shimwright: {sentence}");
    std::process::exit(1);
}
