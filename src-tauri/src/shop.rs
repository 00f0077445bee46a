//! The workshop as the window holds it: open, or the reason why it is not.

use shimwright_app::Workshop;
use shimwright_app::bridge::Failure;
use std::path::{Path, PathBuf};

/// Names another folder for the history, for tests and for people who keep several.
const FOLDER_VARIABLE: &str = "SHIMWRIGHT_DATA_DIR";

/// The workshop, or why it could not be opened: the window opens all the same and says so.
pub struct Shop(Result<Workshop, Failure>);

impl Shop {
    /// Opens the workshop in the user's data folder, the same that the command line uses.
    pub async fn open() -> Self {
        match folder() {
            Some(folder) => Self::open_in(&folder).await,
            None => Self(Err(Failure::bad_input(
                "there is no folder for the history",
                format!("set {FOLDER_VARIABLE} to one"),
            ))),
        }
    }

    /// Opens the workshop in a folder.
    pub async fn open_in(folder: &Path) -> Self {
        Self(Workshop::open(folder).await)
    }

    /// The open workshop.
    ///
    /// # Errors
    /// The failure that kept it from being opened.
    pub fn workshop(&self) -> Result<&Workshop, Failure> {
        self.0.as_ref().map_err(Clone::clone)
    }
}

fn folder() -> Option<PathBuf> {
    match std::env::var_os(FOLDER_VARIABLE) {
        Some(folder) if !folder.is_empty() => Some(folder.into()),
        _ => dirs::data_dir().map(|folder| folder.join("shimwright")),
    }
}
