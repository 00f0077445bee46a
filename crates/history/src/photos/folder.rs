//! Photos in a folder, each a file under the SHA-256 of its bytes.

use crate::Error;
use crate::folder::sync_folder;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Where unfinished files lie. None of them counts.
const UNFINISHED: &str = "unfinished";
/// How often a write is tried again when another program tidied its unfinished file away.
const TRIES: usize = 3;

/// A folder of photos, each unchanged and named by the SHA-256 of its bytes.
#[derive(Clone, Debug)]
pub(crate) struct FolderPhotos {
    folder: PathBuf,
}

impl FolderPhotos {
    /// Opens the store, making its folders when needed, and removes files that a crash left unfinished.
    ///
    /// # Errors
    /// [`Error::NotWritable`].
    pub(crate) fn open(folder: &Path) -> Result<Self, Error> {
        let unfinished = folder.join(UNFINISHED);
        std::fs::create_dir_all(&unfinished).map_err(Error::not_writable(folder))?;
        for entry in std::fs::read_dir(&unfinished)
            .map_err(Error::not_writable(&unfinished))?
            .flatten()
        {
            remove_if_abandoned(&entry.path());
        }
        Ok(Self {
            folder: folder.to_owned(),
        })
    }

    /// A folder that is only read; it may be missing.
    pub(crate) fn to_read(folder: &Path) -> Self {
        Self {
            folder: folder.to_owned(),
        }
    }

    /// Where the photo with this name lies, whether it is there or not.
    fn path(&self, sha256: &str) -> PathBuf {
        self.folder.join(&sha256[..2]).join(sha256)
    }

    /// Whether there is a file with this name.
    pub(crate) fn has(&self, sha256: &str) -> bool {
        self.path(sha256).is_file()
    }

    /// Stores bytes under their name. When this returns they are safe on the disk. Bytes that are there already are
    /// not written again.
    ///
    /// # Errors
    /// [`Error::DiskFull`], [`Error::NotWritable`] or [`Error::PhotoFile`]; then nothing is left that counts.
    pub(crate) fn put(&self, sha256: &str, bytes: &[u8]) -> Result<(), Error> {
        let place = self.path(sha256);
        if std::fs::read(&place).is_ok_and(|there| there == bytes) {
            return Ok(());
        }
        let mut outcome = Ok(());
        for _ in 0..TRIES {
            outcome = self.write(&place, sha256, bytes);
            match &outcome {
                Err(error) if error.kind() == ErrorKind::NotFound => {}
                _ => break,
            }
        }
        outcome.map_err(Error::photo_file(&place))
    }

    /// The bytes under a name; none when there is no such file.
    ///
    /// # Errors
    /// [`Error::PhotoFile`].
    pub(crate) fn get(&self, sha256: &str) -> Result<Option<Vec<u8>>, Error> {
        let place = self.path(sha256);
        match std::fs::read(&place) {
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
            read => read.map(Some).map_err(Error::photo_file(&place)),
        }
    }

    /// The names of a photo's copies, ordered.
    ///
    /// # Errors
    /// [`Error::PhotoFile`].
    pub(crate) fn copies_of(&self, sha256: &str) -> Result<Vec<String>, Error> {
        let shelf = self.folder.join(&sha256[..2]);
        let entries = match std::fs::read_dir(&shelf) {
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
            entries => entries.map_err(Error::photo_file(&shelf))?,
        };
        let mut copies: Vec<String> = entries
            .flatten()
            .map(|entry| entry.file_name().to_string_lossy().into_owned())
            .filter(|name| matches!(super::sums_of(name), Some((original, Some(_))) if original == sha256))
            .collect();
        copies.sort();
        Ok(copies)
    }

    /// Names and sizes of all photos and copies that are there, ordered by name.
    ///
    /// # Errors
    /// [`Error::PhotoFile`].
    pub(crate) fn list(&self) -> Result<Vec<(String, u64)>, Error> {
        let mut all = Vec::new();
        let shelves = std::fs::read_dir(&self.folder).map_err(Error::photo_file(&self.folder))?;
        for shelf in shelves
            .flatten()
            .map(|shelf| shelf.path())
            .filter(|shelf| shelf.is_dir())
        {
            for entry in std::fs::read_dir(&shelf)
                .map_err(Error::photo_file(&shelf))?
                .flatten()
            {
                let name = entry.file_name().to_string_lossy().into_owned();
                // What lies elsewhere or is called otherwise is not ours.
                if super::sums_of(&name).is_some() && entry.path() == self.path(&name) {
                    let size = entry.metadata().map_err(Error::photo_file(&entry.path()))?.len();
                    all.push((name, size));
                }
            }
        }
        all.sort();
        Ok(all)
    }

    /// Removes a photo.
    ///
    /// # Errors
    /// [`Error::PhotoFile`].
    pub(crate) fn remove(&self, sha256: &str) -> Result<(), Error> {
        let place = self.path(sha256);
        std::fs::remove_file(&place).map_err(Error::photo_file(&place))
    }

    /// Writes beside, makes it last, then gives it its name: at no moment is there a partial file under that name.
    fn write(&self, place: &Path, sha256: &str, bytes: &[u8]) -> std::io::Result<()> {
        let shelf = place.parent().unwrap_or(&self.folder);
        if !shelf.exists() {
            std::fs::create_dir_all(shelf)?;
            sync_folder(&self.folder)?;
        }
        let unfinished = self
            .folder
            .join(UNFINISHED)
            .join(format!("{sha256}-{}", uuid::Uuid::now_v7()));
        let written = (|| {
            let mut file = OpenOptions::new()
                .create_new(true)
                .write(true)
                .open(&unfinished)?;
            // The lock tells a program that tidies up that this file is being written.
            file.lock()?;
            file.write_all(bytes)?;
            file.sync_all()?;
            std::fs::rename(&unfinished, place)?;
            sync_folder(shelf)
        })();
        if written.is_err() {
            // What cannot be removed now is removed at the next start.
            let _ = std::fs::remove_file(&unfinished);
        }
        written
    }
}

/// Removes an unfinished file unless a running program still writes it.
fn remove_if_abandoned(path: &Path) {
    let Ok(file) = File::open(path) else { return };
    match file.try_lock() {
        Err(TryLockError::WouldBlock) => {}
        // A file that cannot be removed is harmless: nothing refers to it.
        _ => drop(std::fs::remove_file(path)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn leftovers_are_removed_but_not_files_being_written() {
        let dir = tempfile::tempdir().unwrap();
        FolderPhotos::open(dir.path()).unwrap();
        let (left, busy) = (
            dir.path().join(UNFINISHED).join("left"),
            dir.path().join(UNFINISHED).join("busy"),
        );
        std::fs::write(&left, b"half").unwrap();
        let writer = File::create(&busy).unwrap();
        writer.lock().unwrap();
        FolderPhotos::open(dir.path()).unwrap();
        assert!(!left.exists() && busy.exists());
    }
}
