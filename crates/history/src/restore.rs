//! Restoring a backup, and importing another history.

use crate::backup::{Manifest, unpack};
use crate::copies::replace_database;
use crate::database::{Database, Reached, reach_sqlite};
use crate::export::{EXPORT, read_export};
use crate::folder::{DATABASE, lock_alone, lock_in_use, lock_opening};
use crate::scratch::Scratch;
use crate::{Error, History, Home, Merged, OnConflict, PhotoStore, Time, aside};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A backup that was restored.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Restored {
    /// When the backup was made, RFC 3339.
    pub made_at: String,
    /// How many photos came with it.
    pub photos: u64,
    /// Where the database that was there before lies now.
    pub kept_aside: Option<PathBuf>,
}

impl History {
    /// Puts a backup in the place of the history at home. The database that was there is kept aside, and no photo is
    /// removed. A PostgreSQL database must be empty.
    ///
    /// # Errors
    /// [`Error::NoBackup`] for a file that is none or is damaged, [`Error::InUse`], [`Error::NotEmpty`],
    /// [`Error::Newer`]; then everything is as it was.
    pub async fn restore(home: &Home, file: &Path, program: &str, now: Time) -> Result<Restored, Error> {
        let folder = &home.folder;
        std::fs::create_dir_all(folder).map_err(Error::not_writable(folder))?;
        if home.database.is_some() {
            return restore_elsewhere(home, file, program).await;
        }
        let _opening = lock_opening(folder)?;
        let _alone = lock_alone(folder)?;
        let scratch = Scratch::new(folder)?;
        let manifest = unpacked(file, &scratch).await?;
        let fresh = scratch.path(DATABASE);
        // Brings it to this program's form, or refuses one of a newer program, before anything is moved.
        reach_sqlite(&fresh, Reached::ToWrite, program)
            .await?
            .close()
            .await;
        let (asked, from) = (home.clone(), scratch.path("photos"));
        let photos = aside(move || bring_all(&PhotoStore::open(&from)?, &asked.photo_store()?)).await?;
        let kept_aside = replace_database(folder, &fresh, now).await?;
        Ok(Restored {
            made_at: manifest.made_at,
            photos,
            kept_aside,
        })
    }

    /// Takes in another history: a backup's file, a folder that [`History::export`] wrote as JSON, or the folder of
    /// another history, which is only read.
    ///
    /// # Errors
    /// As [`History::merge`]; [`Error::NoBackup`] or [`Error::NoHistory`] for what is neither.
    pub async fn import(&self, from: &Path, on_conflict: OnConflict) -> Result<Merged, Error> {
        let scratch = Scratch::new(&self.folder)?;
        let other = self.beside(from, &scratch).await?;
        let merged = self.merge(&other, on_conflict).await;
        other.close().await;
        merged
    }

    /// What is to be imported, as a history of its own in a scratch folder.
    async fn beside(&self, from: &Path, scratch: &Scratch) -> Result<History, Error> {
        let database = scratch.path(DATABASE);
        let mut photos = scratch.path("photos");
        if from.is_file() {
            unpacked(from, scratch).await?;
        } else if from.join(EXPORT).is_file() {
            read_export(from, &database, &self.program).await?;
            photos = from.join("photos");
        } else if from.join(DATABASE).is_file() {
            let theirs = reach_sqlite(&from.join(DATABASE), Reached::ToRead, &self.program).await?;
            theirs.copy_into(&database, &self.program).await?;
            theirs.close().await;
            photos = from.join("photos");
        } else {
            return Err(Error::NoHistory(from.to_owned()));
        }
        let history = History {
            database: reach_sqlite(&database, Reached::ToWrite, &self.program).await?,
            photos: PhotoStore::to_read(&photos),
            folder: scratch.path(""),
            program: self.program.clone(),
            _in_use: Arc::new(lock_in_use(&scratch.path(""))?),
        };
        Ok(history)
    }
}

/// Restores into a database that lies elsewhere and is empty.
async fn restore_elsewhere(home: &Home, file: &Path, program: &str) -> Result<Restored, Error> {
    let history = History::open_at(home, program).await?;
    let outcome = async {
        if let Database::Postgres(_) = &history.database {
            let mut session = history.database.read().await?;
            let boards = session.query("SELECT count(*) FROM boards").number().await?;
            if boards > 0 {
                return Err(Error::NotEmpty {
                    boards: boards.unsigned_abs(),
                });
            }
        }
        let scratch = Scratch::new(&home.folder)?;
        let manifest = unpacked(file, &scratch).await?;
        let merged = history.import(file, OnConflict::Refuse).await?;
        Ok(Restored {
            made_at: manifest.made_at,
            photos: merged.added.get("photos").copied().unwrap_or(0),
            kept_aside: None,
        })
    }
    .await;
    history.close().await;
    outcome
}

async fn unpacked(file: &Path, scratch: &Scratch) -> Result<Manifest, Error> {
    let (file, folder) = (file.to_owned(), scratch.path(""));
    aside(move || unpack(&file, &folder)).await
}

/// Copies all photos of one store into another; gives how many there are.
fn bring_all(from: &PhotoStore, to: &PhotoStore) -> Result<u64, Error> {
    let all = from.list()?;
    for (name, _) in &all {
        // One that was damaged here is mended by the one that comes.
        if let Err(Error::PhotoChanged { .. }) = to.original(name)
            && let Some(whole) = from.original(name)?
        {
            to.put(&whole)?;
        }
        to.take_from(from, name)?;
    }
    Ok(all.len() as u64)
}
