//! Where the history lies when nobody says otherwise.

use crate::bridge::Failure;
use std::path::PathBuf;

/// Environment variable that names another folder for the history.
pub const FOLDER_VARIABLE: &str = "SHIMWRIGHT_DATA_DIR";

/// The folder of the history, the same for every shell: `SHIMWRIGHT_DATA_DIR` when it is set, otherwise `shimwright` in
/// the user's data folder (`$XDG_DATA_HOME` on Linux).
///
/// # Errors
/// Bad input when the user has no such folder.
pub fn history_folder() -> Result<PathBuf, Failure> {
    match std::env::var_os(FOLDER_VARIABLE) {
        Some(folder) if !folder.is_empty() => Ok(folder.into()),
        _ => dirs::data_dir()
            .map(|folder| folder.join("shimwright"))
            .ok_or_else(|| {
                Failure::bad_input(
                    "there is no folder for the history",
                    format!("set {FOLDER_VARIABLE} to one"),
                )
            }),
    }
}
