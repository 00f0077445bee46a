//! The one door to every use case.

mod advising;
mod boards;
mod checks;
mod drive_work;
mod records;
mod shelf;
mod upkeep;
mod verifying;
mod visits;

use crate::bridge::{AppInfo, Failure};
use crate::measuring::Cancel;
pub use advising::advise;
pub use records::{BundleAsked, BundleMade, RecordAsked, RecordMade};
pub use verifying::{VerifyAsked, verify};

use checks::Draft;
use shelf::Shelf;
use shimwright_history::{History, Time};
use shimwright_target::TargetSet;
use std::collections::HashMap;
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// This program's version.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// Where the time comes from: the only clock in the program.
pub type Clock = fn() -> Time;

/// Everything that a shell can ask for. Photos and results that were not saved live in memory only.
pub struct Workshop {
    history: History,
    targets: Arc<TargetSet>,
    shelf: Mutex<Shelf>,
    drafts: Mutex<HashMap<String, Draft>>,
    running: Mutex<Cancel>,
    clock: Clock,
}

impl Workshop {
    /// Opens the workshop over the history in a folder, with the system's clock.
    ///
    /// # Errors
    /// Storage trouble: a folder that cannot be written, a history of a newer program.
    pub async fn open(folder: &Path) -> Result<Self, Failure> {
        Self::open_with_clock(folder, || chrono::Local::now().fixed_offset()).await
    }

    /// Opens the workshop with a clock of one's own.
    ///
    /// # Errors
    /// As [`Workshop::open`].
    pub async fn open_with_clock(folder: &Path, clock: Clock) -> Result<Self, Failure> {
        Ok(Self {
            history: History::open(folder, VERSION).await?,
            targets: Arc::new(TargetSet::built_in()),
            shelf: Mutex::default(),
            drafts: Mutex::default(),
            running: Mutex::default(),
            clock,
        })
    }

    /// What the program is and where it keeps its history.
    pub fn app_info(&self) -> AppInfo {
        AppInfo {
            version: VERSION.to_owned(),
            data_dir: self.history.folder().display().to_string(),
        }
    }

    /// Closes the history after running saves.
    pub async fn close(&self) {
        self.history.close().await;
    }

    fn now(&self) -> Time {
        (self.clock)()
    }
}

/// Locks, also after a thread died while it held the lock: the maps behind are whole between any two statements.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Runs heavy work away from the threads that serve the window.
async fn heavy<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Failure> + Send + 'static,
) -> Result<T, Failure> {
    tokio::task::spawn_blocking(work)
        .await
        .unwrap_or_else(|_| Err(Failure::internal("the work stopped by a fault of the program")))
}
