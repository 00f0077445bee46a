//! Daily copies of the database, and the way back from a damaged one.

use crate::database::{Database, Reached, damage, reach_sqlite};
use crate::folder::{DATABASE, beside, lock_alone, lock_opening, put_in_place, sync_folder};
use crate::scratch::Scratch;
use crate::{Error, History, Time};
use chrono::{DateTime, Duration, NaiveDateTime, Utc};
use std::collections::HashSet;
use std::path::{Path, PathBuf};

const COPIES: &str = "copies";
const KEPT_ASIDE: &str = "kept-aside";
/// How old the newest copy may be before another one is made.
const EVERY: Duration = Duration::days(1);
/// How long copies are kept.
const KEPT_FOR: Duration = Duration::days(30);
/// As many of the newest copies stay, however old: a clock that ran ahead must not cost them.
const ALWAYS_KEPT: usize = 3;
/// How a copy's name tells its moment, UTC.
const NAMED: &str = "history-%Y-%m-%dT%H%M%SZ.sqlite3";

/// A daily copy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Copy {
    /// When it was made.
    pub at: DateTime<Utc>,
    /// The file.
    pub path: PathBuf,
}

impl Copy {
    /// Its day, such as `2026-03-08`.
    pub fn day(&self) -> String {
        self.at.format("%Y-%m-%d").to_string()
    }
}

impl History {
    /// Makes a copy of the database when the newest one is older than a day, and removes those older than 30 days (the
    /// newest three always stay). Photos are not in it: they never change. Gives the copy that it made. A PostgreSQL
    /// database is left to its server's own backup, and a history without a board is not worth a copy.
    ///
    /// # Errors
    /// [`Error::DiskFull`], [`Error::NotWritable`], or [`Error::Damaged`] when the database cannot be read whole; older
    /// copies stay then.
    pub async fn keep_daily_copy(&self, now: Time) -> Result<Option<Copy>, Error> {
        let Database::Sqlite(_) = &self.database else {
            return Ok(None);
        };
        let now = now.to_utc();
        let due = !copies(&self.folder)
            .iter()
            .any(|copy| copy.at <= now && now - copy.at < EVERY);
        let mut session = self.database.read().await?;
        let boards = session.query("SELECT count(*) FROM boards").number().await?;
        drop(session);
        if !due || boards == 0 {
            return Ok(None);
        }
        let copy = self.copy_now(now).await?;
        forget_old(&self.folder, now);
        Ok(Some(copy))
    }

    /// The daily copies in the folder of a history, oldest first.
    pub fn daily_copies(folder: &Path) -> Vec<Copy> {
        copies(folder)
    }

    async fn copy_now(&self, now: DateTime<Utc>) -> Result<Copy, Error> {
        let scratch = Scratch::new(&self.folder)?;
        let made = scratch.path(DATABASE);
        if let Err(error) = self.database.copy_into(&made, &self.program).await {
            return Err(with_newest_copy(error, &self.folder).await);
        }
        let folder = self.folder.join(COPIES);
        std::fs::create_dir_all(&folder).map_err(Error::not_writable(&folder))?;
        let path = folder.join(now.format(NAMED).to_string());
        put_in_place(&made, &path).map_err(Error::not_writable(&path))?;
        Ok(Copy { at: now, path })
    }

    /// Puts the newest good daily copy in the place of the database of a folder, which is kept aside. Photos stay. Gives
    /// the copy and where the replaced database lies now.
    ///
    /// # Errors
    /// [`Error::NoCopy`], [`Error::InUse`], and what keeps files from being moved.
    pub async fn restore_newest_copy(folder: &Path, now: Time) -> Result<(Copy, Option<PathBuf>), Error> {
        if !folder.is_dir() {
            return Err(Error::NoCopy);
        }
        let _opening = lock_opening(folder)?;
        let _alone = lock_alone(folder)?;
        let copy = newest_good(folder).await.ok_or(Error::NoCopy)?;
        let scratch = Scratch::new(folder)?;
        let fresh = scratch.path(DATABASE);
        std::fs::copy(&copy.path, &fresh).map_err(Error::not_writable(&fresh))?;
        let aside = replace_database(folder, &fresh, now).await?;
        Ok((copy, aside))
    }
}

/// Puts a database file in the place of a folder's database, which is kept aside. At every moment a whole database is
/// in that place: the one before or the one after. The caller holds the folder's locks.
pub(crate) async fn replace_database(
    folder: &Path,
    fresh: &Path,
    now: Time,
) -> Result<Option<PathBuf>, Error> {
    let place = folder.join(DATABASE);
    let mut kept = None;
    if place.exists() {
        fold_log(&place).await;
        let aside = folder.join(KEPT_ASIDE).join(format!(
            "{}-{}",
            now.to_utc().format("%Y-%m-%dT%H%M%SZ"),
            uuid::Uuid::now_v7().simple()
        ));
        std::fs::create_dir_all(&aside).map_err(Error::not_writable(&aside))?;
        std::fs::copy(&place, aside.join(DATABASE)).map_err(Error::not_writable(&aside))?;
        // A log that could not be folded in belongs to the database that goes, never to the one that comes.
        for end in ["-wal", "-shm"] {
            let log = beside(&place, end);
            if log.exists() {
                std::fs::rename(&log, beside(&aside.join(DATABASE), end))
                    .map_err(Error::not_writable(&log))?;
            }
        }
        sync_folder(&aside).map_err(Error::not_writable(&aside))?;
        kept = Some(aside.join(DATABASE));
    }
    put_in_place(fresh, &place).map_err(Error::not_writable(&place))?;
    Ok(kept)
}

/// Lets SQLite fold its log into the database, if it can still read it; the last connection to close does that.
async fn fold_log(place: &Path) {
    if let Ok(database) = reach_sqlite(place, Reached::AsItIs, "").await {
        database.close().await;
    }
}

/// The same error; a damaged database is told with the newest good copy.
pub(crate) async fn with_newest_copy(error: Error, folder: &Path) -> Error {
    match error {
        Error::Damaged { what, .. } => Error::Damaged {
            what,
            newest_copy: newest_good(folder).await.map(|copy| copy.day()),
        },
        other => other,
    }
}

/// The newest copy in which SQLite finds no damage.
async fn newest_good(folder: &Path) -> Option<Copy> {
    for copy in copies(folder).into_iter().rev() {
        if damage(&copy.path).await.is_none() {
            return Some(copy);
        }
    }
    None
}

/// The copies of a folder, oldest first.
pub(crate) fn copies(folder: &Path) -> Vec<Copy> {
    let Ok(entries) = std::fs::read_dir(folder.join(COPIES)) else {
        return Vec::new();
    };
    let mut copies: Vec<Copy> = entries
        .flatten()
        .filter_map(|entry| {
            let name = entry.file_name().into_string().ok()?;
            let at = NaiveDateTime::parse_from_str(&name, NAMED).ok()?.and_utc();
            Some(Copy {
                at,
                path: entry.path(),
            })
        })
        .collect();
    copies.sort_by_key(|copy| copy.at);
    copies
}

/// Removes copies that are too old.
fn forget_old(folder: &Path, now: DateTime<Utc>) {
    for copy in copies(folder).into_iter().rev().skip(ALWAYS_KEPT) {
        if now - copy.at > KEPT_FOR {
            // One that cannot be removed now is removed another day.
            let _ = std::fs::remove_file(&copy.path);
        }
    }
}

/// The photos that copies and databases kept aside name.
pub(crate) async fn photos_named(folder: &Path, program: &str) -> Result<HashSet<String>, Error> {
    let mut paths: Vec<PathBuf> = copies(folder).into_iter().map(|copy| copy.path).collect();
    if let Ok(entries) = std::fs::read_dir(folder.join(KEPT_ASIDE)) {
        paths.extend(
            entries
                .flatten()
                .map(|entry| entry.path().join(DATABASE))
                .filter(|path| path.exists()),
        );
    }
    let mut named = HashSet::new();
    for path in paths {
        let names = async {
            let database = reach_sqlite(&path, Reached::ToRead, program).await?;
            let mut session = database.read().await?;
            let rows = session.query("SELECT sha256 FROM photos").all().await?;
            let names: Vec<String> = rows
                .iter()
                .map(|row| row.get("sha256"))
                .collect::<Result<_, Error>>()?;
            drop(session);
            database.close().await;
            Ok::<_, Error>(names)
        }
        .await;
        named.extend(names.map_err(|_| Error::UnreadableAside { path })?);
    }
    Ok(named)
}
