//! Photos under the SHA-256 of their bytes.

use crate::Error;
use sha2::{Digest, Sha256};
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Where unfinished files lie. None of them counts.
const UNFINISHED: &str = "unfinished";
/// How often a write is tried again when another program tidied its unfinished file away.
const TRIES: usize = 3;

/// A folder of photos, each unchanged and named by the SHA-256 of its bytes.
#[derive(Clone, Debug)]
pub struct PhotoStore {
    folder: PathBuf,
}

/// SHA-256 in hexadecimal (FIPS 180-4).
pub fn sha256_hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    Sha256::digest(bytes)
        .iter()
        .fold(String::with_capacity(64), |mut text, byte| {
            // Writing to a string cannot fail.
            let _ = write!(text, "{byte:02x}");
            text
        })
}

impl PhotoStore {
    /// Opens the store, making its folders when needed, and removes files that a crash left unfinished.
    ///
    /// # Errors
    /// [`Error::NotWritable`].
    pub fn open(folder: &Path) -> Result<Self, Error> {
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

    /// Where a photo with this name lies, whether it is there or not. `None` when the name is no SHA-256.
    pub fn path(&self, sha256: &str) -> Option<PathBuf> {
        let valid = sha256.len() == 64
            && sha256
                .bytes()
                .all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b));
        valid.then(|| self.folder.join(&sha256[..2]).join(sha256))
    }

    /// Stores bytes and gives their name. When this returns they are safe on the disk. Bytes that are there already
    /// are not written again.
    ///
    /// # Errors
    /// [`Error::DiskFull`], [`Error::NotWritable`] or [`Error::PhotoFile`]; then nothing is left that counts.
    pub fn put(&self, bytes: &[u8]) -> Result<String, Error> {
        let sha256 = sha256_hex(bytes);
        let Some(place) = self.path(&sha256) else {
            return Err(Error::PhotoChanged { sha256 });
        };
        if std::fs::read(&place).is_ok_and(|there| there == bytes) {
            return Ok(sha256);
        }
        let mut outcome = Ok(());
        for _ in 0..TRIES {
            outcome = self.write(&place, &sha256, bytes);
            match &outcome {
                Err(error) if error.kind() == ErrorKind::NotFound => {}
                _ => break,
            }
        }
        outcome.map_err(Error::photo_file(&place))?;
        Ok(sha256)
    }

    /// The bytes of a stored photo, checked against their name.
    ///
    /// # Errors
    /// [`Error::NotFound`], [`Error::PhotoFile`], or [`Error::PhotoChanged`] when they are not what was stored.
    pub fn get(&self, sha256: &str) -> Result<Vec<u8>, Error> {
        let missing = || Error::NotFound {
            what: "photo",
            id: sha256.to_owned(),
        };
        let place = self.path(sha256).ok_or_else(missing)?;
        let bytes = match std::fs::read(&place) {
            Err(error) if error.kind() == ErrorKind::NotFound => return Err(missing()),
            read => read.map_err(Error::photo_file(&place))?,
        };
        if sha256_hex(&bytes) != sha256 {
            return Err(Error::PhotoChanged {
                sha256: sha256.to_owned(),
            });
        }
        Ok(bytes)
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

/// Makes names in a folder last.
fn sync_folder(folder: &Path) -> std::io::Result<()> {
    // Other systems than Unix neither need nor allow this.
    if cfg!(unix) {
        File::open(folder)?.sync_all()
    } else {
        Ok(())
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

    /// FIPS 180-4's example message "abc" (NIST, SHA256 example values).
    #[test]
    fn names_are_sha_256() {
        assert_eq!(
            sha256_hex(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn a_photo_is_stored_once_and_comes_back_unchanged() {
        let dir = tempfile::tempdir().unwrap();
        let store = PhotoStore::open(dir.path()).unwrap();
        let name = store.put(b"picture").unwrap();
        assert_eq!(store.put(b"picture").unwrap(), name);
        assert_eq!(store.get(&name).unwrap(), b"picture");
        let shelf = store.path(&name).unwrap().parent().unwrap().to_owned();
        assert_eq!(std::fs::read_dir(shelf).unwrap().count(), 1);
        assert_eq!(std::fs::read_dir(dir.path().join(UNFINISHED)).unwrap().count(), 0);
    }

    #[test]
    fn a_changed_photo_is_told_and_mended_by_storing_it_again() {
        let dir = tempfile::tempdir().unwrap();
        let store = PhotoStore::open(dir.path()).unwrap();
        let name = store.put(b"picture").unwrap();
        std::fs::write(store.path(&name).unwrap(), b"pictur").unwrap();
        assert!(matches!(store.get(&name), Err(Error::PhotoChanged { .. })));
        store.put(b"picture").unwrap();
        assert_eq!(store.get(&name).unwrap(), b"picture");
    }

    #[test]
    fn names_that_are_no_sum_lead_nowhere() {
        let store = PhotoStore {
            folder: PathBuf::from("/x"),
        };
        assert_eq!(store.path("../../etc/passwd"), None);
        assert!(matches!(store.get("abc"), Err(Error::NotFound { .. })));
    }

    #[test]
    fn leftovers_are_removed_but_not_files_being_written() {
        let dir = tempfile::tempdir().unwrap();
        PhotoStore::open(dir.path()).unwrap();
        let (left, busy) = (
            dir.path().join(UNFINISHED).join("left"),
            dir.path().join(UNFINISHED).join("busy"),
        );
        std::fs::write(&left, b"half").unwrap();
        let writer = File::create(&busy).unwrap();
        writer.lock().unwrap();
        PhotoStore::open(dir.path()).unwrap();
        assert!(!left.exists() && busy.exists());
    }
}
