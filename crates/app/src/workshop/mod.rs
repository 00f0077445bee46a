//! The one door to every use case.

mod advising;
mod boards;
mod cameras;
mod carrying;
mod checks;
mod drive_work;
mod filled_in;
mod handing_out;
mod lasting;
mod looking;
mod records;
mod shelf;
mod thumbnails;
mod upkeep;
mod verifying;
mod visits;

use crate::bridge::{AppInfo, Failure};
use crate::measuring::Cancel;
use crate::place::history_home;
pub use advising::advise;
pub use lasting::{CopyRestored, ExportPhotos};
pub use records::{BundleAsked, BundleMade, RecordAsked, RecordMade};
use shimwright_say::say;
pub use verifying::{VerifyAsked, verify};

use cameras::Calibration;
use checks::Draft;
use shelf::Shelf;
use shimwright_history::{History, Home, Time};
use shimwright_live::Stillness;
use shimwright_record::Phrase;
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
    calibrations: Mutex<HashMap<String, Calibration>>,
    running: Mutex<Cancel>,
    stillness: Mutex<Stillness>,
    seen: Mutex<Seen>,
    notice: Option<Phrase>,
    clock: Clock,
}

/// The revisions in which boards and stock were last shown: what the shell sends back was made from those.
#[derive(Debug, Default)]
struct Seen {
    boards: HashMap<String, i64>,
    stock: Option<i64>,
}

impl Workshop {
    /// Opens the workshop over the history of a folder, with the system's clock.
    ///
    /// # Errors
    /// Storage trouble: a folder that cannot be written, a history of a newer program, a damaged one.
    pub async fn open(folder: &Path) -> Result<Self, Failure> {
        Self::open_home(&history_home(folder)?, system_clock).await
    }

    /// Opens the workshop with a clock of one's own.
    ///
    /// # Errors
    /// As [`Workshop::open`].
    pub async fn open_with_clock(folder: &Path, clock: Clock) -> Result<Self, Failure> {
        Self::open_home(&history_home(folder)?, clock).await
    }

    /// Opens the workshop over a history wherever it lies, and makes its daily copy when that is due.
    ///
    /// # Errors
    /// As [`Workshop::open`]; also a database server that cannot be reached.
    pub async fn open_home(home: &Home, clock: Clock) -> Result<Self, Failure> {
        let history = History::open_at(home, VERSION).await?;
        let copied = history.keep_daily_copy(clock()).await;
        let notice = match copied {
            Ok(_) => None,
            // What cannot be read whole must be seen now, while there is a good copy.
            Err(error @ shimwright_history::Error::Damaged { .. }) => return Err(error.into()),
            Err(error) => Some(say!(
                "today's copy of the history could not be made: {}",
                Failure::from(error).words()
            )),
        };
        Ok(Self {
            history,
            targets: Arc::new(TargetSet::built_in()),
            shelf: Mutex::default(),
            drafts: Mutex::default(),
            calibrations: Mutex::default(),
            running: Mutex::default(),
            stillness: Mutex::default(),
            seen: Mutex::default(),
            notice,
            clock,
        })
    }

    /// What went wrong while the workshop was opened and does not keep it from working; one sentence.
    pub fn notice(&self) -> Option<&Phrase> {
        self.notice.as_ref()
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

/// The system's clock, in the user's zone.
pub fn system_clock() -> Time {
    chrono::Local::now().fixed_offset()
}

/// Locks, also after a thread died while it held the lock: the maps behind are whole between any two statements.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Runs heavy work away from the threads that serve the window.
pub(crate) async fn heavy<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Failure> + Send + 'static,
) -> Result<T, Failure> {
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|_| {
        Err(Failure::internal(say!(
            "the work stopped by a fault of the program"
        )))
    })
}
