//! Opening a history: folder, locks, database, photos.

use crate::database::{Reached, reach_postgres, reach_sqlite};
use crate::folder::{DATABASE, lock_in_use, lock_opening};
use crate::{Error, History, PhotoStore, WithoutPlace, aside, copies, scratch};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Where a history lies.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Home {
    /// The folder of database and photos, and of what a bench keeps for itself when they are elsewhere.
    pub folder: PathBuf,
    /// URL of a PostgreSQL database, when several benches share one.
    pub database: Option<String>,
    /// A place for photos that all benches reach.
    pub photos: Option<SharedPhotos>,
}

/// A place for photos that several benches reach. They go there without the place where they were taken; as the camera
/// wrote them they stay in the folder of the bench that took them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SharedPhotos {
    /// A folder, or a bucket's URL as [`PhotoStore::shared_at`] takes it.
    pub place: String,
    /// How photos lose their place.
    pub without_place: WithoutPlace,
}

impl Home {
    /// A folder that holds everything.
    pub fn folder(folder: &Path) -> Self {
        Self {
            folder: folder.to_owned(),
            database: None,
            photos: None,
        }
    }

    pub(crate) fn photo_store(&self) -> Result<PhotoStore, Error> {
        let own = PhotoStore::open(&self.folder.join("photos"))?;
        match &self.photos {
            None => Ok(own),
            Some(shared) => own.shared_at(&shared.place, shared.without_place),
        }
    }
}

impl History {
    /// Opens the history in a folder, which is made when it is not there, and brings it to this program's form.
    /// `program` is the version of the running program.
    ///
    /// # Errors
    /// [`Error::NotWritable`] for the folder, [`Error::Newer`] for a history of a newer program, which is left as
    /// it is, and [`Error::Damaged`], which names the newest good copy.
    pub async fn open(folder: &Path, program: &str) -> Result<Self, Error> {
        Self::open_at(&Home::folder(folder), program).await
    }

    /// Opens the history wherever it lies.
    ///
    /// # Errors
    /// As [`History::open`]; also [`Error::Unreachable`] and [`Error::NoSuchDatabase`] for a database elsewhere.
    pub async fn open_at(home: &Home, program: &str) -> Result<Self, Error> {
        let folder = &home.folder;
        std::fs::create_dir_all(folder).map_err(Error::not_writable(folder))?;
        let waiting = folder.clone();
        // Two programs that open a new history at once must not both lay it out.
        let opening = aside(move || lock_opening(&waiting)).await?;
        scratch::tidy(folder);
        let in_use = lock_in_use(folder)?;
        let asked = home.clone();
        let photos = aside(move || asked.photo_store()).await?;
        let database = match &home.database {
            Some(url) => reach_postgres(url, program).await?,
            None => match reach_sqlite(&folder.join(DATABASE), Reached::ToWrite, program).await {
                Ok(database) => database,
                Err(error) => return Err(copies::with_newest_copy(error, folder).await),
            },
        };
        drop(opening);
        let history = Self {
            database,
            photos,
            folder: folder.clone(),
            program: program.to_owned(),
            _in_use: Arc::new(in_use),
        };
        history.fill_search().await?;
        Ok(history)
    }
}
