//! The workshop as the window holds it: open, or the reason why it is not.

use shimwright_app::bridge::Failure;
use shimwright_app::{Home, Workshop, history_folder, history_home};
use shimwright_say::say;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// The workshop, or why it could not be opened: the window opens all the same and says so.
pub struct Shop {
    files: Mutex<Option<PathBuf>>,
    folder: Result<PathBuf, Failure>,
    workshop: Mutex<Result<Arc<Workshop>, Failure>>,
}

impl Shop {
    /// Opens the workshop in the user's data folder, the same that the command line uses.
    pub async fn open() -> Self {
        Self::over(history_folder(), None).await
    }

    /// Opens the workshop in a folder, which takes the files for the user too.
    pub async fn open_in(folder: &Path) -> Self {
        Self::over(Ok(folder.to_owned()), Some(folder.join("files"))).await
    }

    /// Where files for the user are written, when it is not the user's documents.
    pub(crate) fn files(&self) -> Option<PathBuf> {
        self.files_held().clone()
    }

    /// Writes files for the user into this folder from now on.
    pub(crate) fn write_files_to(&self, folder: PathBuf) {
        *self.files_held() = Some(folder);
    }

    fn files_held(&self) -> MutexGuard<'_, Option<PathBuf>> {
        self.files.lock().unwrap_or_else(PoisonError::into_inner)
    }

    async fn over(folder: Result<PathBuf, Failure>, files: Option<PathBuf>) -> Self {
        let workshop = opened(&folder).await;
        Self {
            files: Mutex::new(files),
            folder,
            workshop: Mutex::new(workshop),
        }
    }

    /// The open workshop.
    ///
    /// # Errors
    /// The failure that kept it from being opened.
    pub fn workshop(&self) -> Result<Arc<Workshop>, Failure> {
        self.held().clone()
    }

    /// Closes the workshop, lets its history be replaced, and opens it again whatever came of that.
    ///
    /// # Errors
    /// What the work says, or what keeps the workshop from being opened.
    pub async fn replace<T>(
        &self,
        work: impl AsyncFnOnce(&Home) -> Result<T, Failure>,
    ) -> Result<T, Failure> {
        let home = history_home(&self.folder.clone()?)?;
        let away = Failure::bad_input(
            say!("the history is being replaced"),
            say!("wait until that is done"),
        );
        let before = std::mem::replace(&mut *self.held(), Err(away));
        if let Ok(workshop) = before {
            workshop.close().await;
        }
        let outcome = work(&home).await;
        let again = opened(&self.folder).await;
        let opens = again.as_ref().map(drop).map_err(Clone::clone);
        *self.held() = again;
        let done = outcome?;
        opens?;
        Ok(done)
    }

    /// Also after a thread died while it held the lock: what is behind is whole at any moment.
    fn held(&self) -> MutexGuard<'_, Result<Arc<Workshop>, Failure>> {
        self.workshop.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

async fn opened(folder: &Result<PathBuf, Failure>) -> Result<Arc<Workshop>, Failure> {
    Workshop::open(folder.as_ref().map_err(Clone::clone)?)
        .await
        .map(Arc::new)
}
