//! The history of boards: SQLite beside a folder of unchanged photos.
//!
//! - One folder holds `history.sqlite3` and `photos/`, where each photo lies under its SHA-256.
//! - A save is one transaction. Photos are on the disk for good before the row that names them is written, so a crash
//!   leaves no row without its photo, and no half-written photo under a name that counts.
//! - Migrations go forward only; a history written by a newer program is refused, and nothing in it is touched.
//! - Deletion is a mark. Time comes from the caller.
//!
//! It measures nothing and decides nothing.

mod boards;
mod checks;
mod error;
mod open;
mod photo_store;
mod rows;
mod seals;
mod stock;
mod upkeep;
mod visits;

pub use boards::BoardLine;
pub use checks::{NewCheck, NewPhoto, SavedCheck, SavedPhoto};
pub use error::Error;
pub use photo_store::{PhotoStore, sha256_hex};
pub use seals::Seal;
pub use visits::SavedVisit;

use chrono::{DateTime, FixedOffset};
use sqlx::SqlitePool;
use std::path::{Path, PathBuf};

/// A moment as the user's clock shows it.
pub type Time = DateTime<FixedOffset>;

/// An open history.
#[derive(Clone, Debug)]
pub struct History {
    pool: SqlitePool,
    photos: PhotoStore,
    folder: PathBuf,
    program: String,
}

impl History {
    /// The folder that holds it.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The photos beside it.
    pub fn photos(&self) -> &PhotoStore {
        &self.photos
    }

    /// Waits for running statements and closes the database; later calls fail.
    pub async fn close(&self) {
        self.pool.close().await;
    }

    /// Begins a transaction that writes. It takes the write lock at once: a transaction that starts as a reader may
    /// find at its first write that it reads an outdated state, and would have to fail.
    async fn write(&self) -> Result<sqlx::Transaction<'static, sqlx::Sqlite>, Error> {
        Ok(self.pool.begin_with("BEGIN IMMEDIATE").await?)
    }
}

/// A moment as it is stored to be shown: RFC 3339 to the second, with its offset.
fn stamp(at: Time) -> String {
    at.to_rfc3339_opts(chrono::SecondsFormat::Secs, false)
}

/// A new time-ordered id (UUID version 7, RFC 9562).
pub fn new_id(at: Time) -> String {
    let seconds = u64::try_from(at.timestamp()).unwrap_or(0);
    let moment = uuid::Timestamp::from_unix(uuid::NoContext, seconds, at.timestamp_subsec_nanos());
    uuid::Uuid::new_v7(moment).to_string()
}
