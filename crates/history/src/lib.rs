//! The history of boards: a database beside unchanged photos.
//!
//! - One folder holds `history.sqlite3` and `photos/`, where each photo lies under its SHA-256. A shop with several
//!   benches names a PostgreSQL database and a place for photos that all of them reach ([`Home`]).
//! - A save is one transaction. Photos are stored for good before the row that names them is written, so a crash
//!   leaves no row without its photo, and no half-written photo under a name that counts.
//! - Nothing is overwritten unseen: a change names the revision it was made from, and is refused when that is outdated.
//! - Migrations go forward only; a history written by a newer program is refused, and nothing in it is touched.
//! - Deletion is a mark. Time comes from the caller.
//! - [`copies`](History::keep_daily_copy), [backups](History::back_up), [exports](History::export) and
//!   [imports](History::import) all work while others use the history.
//!
//! It measures nothing and decides nothing.

mod backup;
mod boards;
mod checks;
mod copies;
mod database;
mod error;
mod export;
mod folder;
mod merge;
mod open;
mod photos;
mod restore;
mod rows;
mod scratch;
mod seals;
mod search;
mod stock;
mod tables;
mod trend;
mod upkeep;
mod visits;

pub use backup::{Backup, PhotosOut};
pub use boards::{BoardLine, BoardList, KeptBoard};
pub use checks::{NewCheck, NewPhoto, SavedCheck, SavedPhoto};
pub use copies::Copy;
pub use error::Error;
pub use export::{ExportForm, Exported};
pub use merge::{Conflict, ForeignCheck, ForeignVisit, Merged, OnConflict};
pub use open::{Home, SharedPhotos};
pub use photos::{CleanUp, HeldPhoto, PhotoSizes, PhotoStore, WithoutPlace, sha256_hex};
pub use restore::Restored;
pub use seals::Seal;
pub use stock::KeptStock;
pub use trend::TrendPoint;
pub use visits::SavedVisit;

use chrono::{DateTime, FixedOffset};
use database::Database;
use folder::InUse;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// A moment as the user's clock shows it.
pub type Time = DateTime<FixedOffset>;

/// An open history.
#[derive(Clone, Debug)]
pub struct History {
    database: Database,
    photos: PhotoStore,
    folder: PathBuf,
    program: String,
    // Held as long as any clone lives, so that nobody restores a backup under a running program.
    _in_use: Arc<InUse>,
}

impl History {
    /// The folder that holds it, or what a bench keeps for itself when the database is elsewhere.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The photos beside it.
    pub fn photos(&self) -> &PhotoStore {
        &self.photos
    }

    /// Waits for running statements and closes the database; later calls fail.
    pub async fn close(&self) {
        self.database.close().await;
    }
}

/// A moment as it is stored to be shown: RFC 3339 to the second, with its offset.
fn stamp(at: Time) -> String {
    at.to_rfc3339_opts(chrono::SecondsFormat::Secs, false)
}

/// Counts ids of one millisecond.
static SAME_MILLISECOND: Mutex<uuid::ContextV7> = Mutex::new(uuid::ContextV7::new());

/// A new id (UUID version 7, RFC 9562): by time, and among those of one program by the order in which they were made.
pub fn new_id(at: Time) -> String {
    let seconds = u64::try_from(at.timestamp()).unwrap_or(0);
    let moment = uuid::Timestamp::from_unix(&SAME_MILLISECOND, seconds, at.timestamp_subsec_nanos());
    uuid::Uuid::new_v7(moment).to_string()
}

/// Runs work with files away from the threads that serve others.
async fn aside<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Error> + Send + 'static,
) -> Result<T, Error> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|_| Error::Stopped)?
}
