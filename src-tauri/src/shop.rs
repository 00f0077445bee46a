//! The workshop as the window holds it: open, or the reason why it is not.

use shimwright_app::bridge::Failure;
use shimwright_app::{Workshop, history_folder};
use std::path::Path;

/// The workshop, or why it could not be opened: the window opens all the same and says so.
pub struct Shop(Result<Workshop, Failure>);

impl Shop {
    /// Opens the workshop in the user's data folder, the same that the command line uses.
    pub async fn open() -> Self {
        match history_folder() {
            Ok(folder) => Self::open_in(&folder).await,
            Err(failure) => Self(Err(failure)),
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
