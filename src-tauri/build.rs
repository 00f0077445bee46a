//! Makes the web view's permissions from the list of commands, and an empty page folder when the page has not been built.

use std::path::Path;

/// Every command of the window. The capability in `capabilities/main.json` grants each by name.
const COMMANDS: &[&str] = &[
    "boards",
    "board",
    "save_board",
    "delete_board",
    "stock",
    "save_stock",
    "load_demo",
    "add_demo_photos",
    "open_photo",
    "look_closer",
    "add_sound",
    "look",
    "forget_photos",
    "measure",
    "calibrate",
    "carry_marks",
    "propose_marks",
    "keep_camera",
    "cameras",
    "forget_camera",
    "cancel_measure",
    "save_check",
    "drop_draft",
    "set_work_done",
    "print_targets",
    "app_info",
    "drive_form",
    "describe_drive",
    "advise_spacer",
    "advise_recentre",
    "advise_belt",
    "advise_shake",
    "torque_table",
    "service",
    "service_done",
    "choose_file",
    "choose_folder",
    "files_folder",
    "choose_files_folder",
    "records_of",
    "save_shop",
    "note_visit",
    "write_record",
    "write_bundle",
    "verify_bundle",
    "keeping",
    "back_up",
    "restore_backup",
    "restore_copy",
    "export_history",
    "import_history",
    "clean_up_photos",
    "phone_addresses",
    "phone_start",
    "phone_standing",
    "phone_tell",
    "phone_stop",
    "photo_bytes",
];

fn main() {
    // `generate_context!` insists on the folder; the page itself is built by npm, before or after.
    let page = Path::new("../ui/dist");
    if !page.exists() {
        std::fs::create_dir_all(page).expect("the folder for the page can be made");
    }
    let manifest = tauri_build::AppManifest::new().commands(COMMANDS);
    tauri_build::try_build(tauri_build::Attributes::new().app_manifest(manifest))
        .expect("the window's configuration is sound");
}
