//! What lies in a history's folder, and the locks that keep programs out of each other's way.

use crate::Error;
use std::fs::{File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};

/// The database.
pub(crate) const DATABASE: &str = "history.sqlite3";
/// Locked while a program opens the history.
const OPENING: &str = "history.lock";
/// Locked, shared, while a program has the history open.
const IN_USE: &str = "history.open";

/// A lock that says: the history is open here.
#[derive(Debug)]
pub(crate) struct InUse {
    // Closing the file gives the lock back.
    _file: File,
}

/// Waits until no other program opens or restores this history, and keeps others from it.
pub(crate) fn lock_opening(folder: &Path) -> Result<File, Error> {
    let path = folder.join(OPENING);
    let file = lock_file(&path)?;
    file.lock().map_err(Error::not_writable(&path))?;
    Ok(file)
}

/// Says that the history is open here.
pub(crate) fn lock_in_use(folder: &Path) -> Result<InUse, Error> {
    let path = folder.join(IN_USE);
    let file = lock_file(&path)?;
    file.lock_shared().map_err(Error::not_writable(&path))?;
    Ok(InUse { _file: file })
}

/// Keeps everybody else out, or says that somebody is in.
pub(crate) fn lock_alone(folder: &Path) -> Result<InUse, Error> {
    let path = folder.join(IN_USE);
    let file = lock_file(&path)?;
    match file.try_lock() {
        Ok(()) => Ok(InUse { _file: file }),
        Err(TryLockError::WouldBlock) => Err(Error::InUse),
        Err(TryLockError::Error(error)) => Err(Error::not_writable(&path)(error)),
    }
}

fn lock_file(path: &Path) -> Result<File, Error> {
    OpenOptions::new()
        .create(true)
        .truncate(false)
        .write(true)
        .open(path)
        .map_err(Error::not_writable(path))
}

/// Makes names in a folder last.
pub(crate) fn sync_folder(folder: &Path) -> std::io::Result<()> {
    // Other systems than Unix neither need nor allow this.
    if cfg!(unix) {
        File::open(folder)?.sync_all()
    } else {
        Ok(())
    }
}

/// Makes a file last and gives it its name: at no moment is there a partial file under that name.
pub(crate) fn put_in_place(made: &Path, place: &Path) -> std::io::Result<()> {
    File::open(made)?.sync_all()?;
    std::fs::rename(made, place)?;
    match place.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        Some(folder) => sync_folder(folder),
        None => sync_folder(Path::new(".")),
    }
}

/// A name beside a file, for what SQLite keeps there.
pub(crate) fn beside(path: &Path, end: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(end);
    name.into()
}
