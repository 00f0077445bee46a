//! What makes a history last: backup, copies, export, import, photos, and values over time.

use super::{VERSION, Workshop, heavy};
use crate::bridge::Failure;
use crate::job_file::read_file;
use crate::proof::{is_bundle, visit_of_bundle};
use crate::without_place::photos_out;
use shimwright_evidence::Limits;
use shimwright_history::{
    Backup, CleanUp, Conflict, ExportForm, Exported, ForeignVisit, History, Home, Merged, OnConflict,
    PhotoSizes, Restored, TrendPoint,
};
use shimwright_record::{CheckKind, Corner, Phrase};
use shimwright_say::say;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Most conflicts that a refusal names.
const MOST_NAMED: usize = 5;

/// A daily copy that took the place of the database.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct CopyRestored {
    /// The day of the copy, such as `2026-03-08`.
    pub day: String,
    /// Where the database that was there before lies now.
    pub kept_aside: Option<PathBuf>,
}

/// Which photos go with an export.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExportPhotos {
    /// None.
    None,
    /// Copies that do not tell where they were taken.
    WithoutPlace,
    /// All of them untouched.
    WithPlace,
}

impl ExportPhotos {
    /// What a shell was asked for; a place without photos is none.
    pub fn asked(with_photos: bool, with_place: bool) -> Self {
        match (with_photos, with_place) {
            (false, _) => Self::None,
            (true, false) => Self::WithoutPlace,
            (true, true) => Self::WithPlace,
        }
    }
}

/// The visit of a bundle; none when the file is something else.
async fn bundle_at(path: &Path) -> Result<Option<ForeignVisit>, Failure> {
    let path = path.to_owned();
    heavy(move || {
        let mut start = [0; 4];
        let begins = File::open(&path).and_then(|mut file| file.read_exact(&mut start));
        // What is no file is told by whoever takes in folders.
        if begins.is_err() || !is_bundle(&start) {
            return Ok(None);
        }
        let name = path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        let bytes = read_file(&path, &name, Limits::default().bytes)?;
        visit_of_bundle(&bytes).map(Some)
    })
    .await
}

impl Workshop {
    /// Writes the whole history, photos included, into one new file. They go without the place where they were taken unless
    /// it is asked for this time; here they stay as they are.
    ///
    /// # Errors
    /// Bad input when the file is there already; storage trouble, and then there is no file.
    pub async fn back_up(&self, file: &Path, with_place: bool) -> Result<Backup, Failure> {
        let photos = photos_out(with_place);
        Ok(self.history.back_up(file, photos, self.now()).await?)
    }

    /// Puts a backup in the place of a history that nobody has open. The database that was there is kept aside.
    ///
    /// # Errors
    /// Bad input for a file that is no whole backup, and for a history that is open or shared and not empty; storage
    /// trouble.
    pub async fn restore(home: &Home, file: &Path, clock: super::Clock) -> Result<Restored, Failure> {
        Ok(History::restore(home, file, VERSION, clock()).await?)
    }

    /// Puts the newest good daily copy in the place of a database that nobody has open, and keeps that aside.
    ///
    /// # Errors
    /// Bad input when there is no good copy or the history is open; storage trouble.
    pub async fn restore_newest_copy(home: &Home, clock: super::Clock) -> Result<CopyRestored, Failure> {
        if home.database.is_some() {
            return Err(Failure::bad_input(
                say!("a shared database has no daily copies here"),
                say!("restore it with the means of its server, or from a backup"),
            ));
        }
        let (copy, kept_aside) = History::restore_newest_copy(&home.folder, clock()).await?;
        Ok(CopyRestored {
            day: copy.day(),
            kept_aside,
        })
    }

    /// Writes all of the history into a new folder for other programs to read; with photos, if asked, and with the place
    /// where they were taken only if that is asked for this time.
    ///
    /// # Errors
    /// Bad input when the folder is there already; storage trouble, and then there is no folder.
    pub async fn export(
        &self,
        folder: &Path,
        form: ExportForm,
        photos: ExportPhotos,
    ) -> Result<Exported, Failure> {
        let photos = match photos {
            ExportPhotos::None => None,
            ExportPhotos::WithoutPlace => Some(photos_out(false)),
            ExportPhotos::WithPlace => Some(photos_out(true)),
        };
        Ok(self.history.export(folder, form, photos).await?)
    }

    /// Takes in another history: a backup, an export, or the folder of a history; or the visit of a bundle.
    ///
    /// # Errors
    /// Bad input that names the conflicts when there are some and they are to be refused, and for what is no history;
    /// storage trouble. Then nothing was imported.
    pub async fn import(&self, from: &Path, on_conflict: OnConflict) -> Result<Merged, Failure> {
        let merged = match bundle_at(from).await? {
            Some(visit) => self.history.take_in(visit, on_conflict, self.now()).await?,
            None => self.history.import(from, on_conflict).await?,
        };
        if merged.done {
            return Ok(merged);
        }
        let all: Vec<&Conflict> = merged.conflicts.iter().chain(&merged.left_out).collect();
        let mut named: Vec<Phrase> = all
            .iter()
            .take(MOST_NAMED)
            .map(|one| say!("{} ({})", one.what, one.differs))
            .collect();
        if all.len() > MOST_NAMED {
            named.push(say!("and {} more", all.len() - MOST_NAMED));
        }
        Err(Failure::bad_input(
            say!(
                "{} entries are different here and there, so nothing was imported: {}",
                all.len(),
                Phrase::joined(named, ", ")
            ),
            say!("make them alike, or import with --keep-both to keep theirs beside yours"),
        ))
    }

    /// How much room the photos take.
    ///
    /// # Errors
    /// Storage trouble.
    pub async fn photo_sizes(&self) -> Result<PhotoSizes, Failure> {
        Ok(self.history.photo_sizes().await?)
    }

    /// Removes photos that no record, daily copy or database kept aside names; with `dry_run` it only tells which.
    ///
    /// # Errors
    /// Storage trouble.
    pub async fn clean_up_photos(&self, dry_run: bool) -> Result<CleanUp, Failure> {
        Ok(self.history.clean_up_photos(dry_run).await?)
    }

    /// A value of a kind of check at a corner over time, oldest first.
    ///
    /// # Errors
    /// Storage trouble.
    pub async fn trend(
        &self,
        board_id: &str,
        corner: Corner,
        kind: CheckKind,
        value: &str,
    ) -> Result<Vec<TrendPoint>, Failure> {
        Ok(self.history.trend(board_id, corner, kind, value).await?)
    }
}
