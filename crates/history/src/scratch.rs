//! Folders for unfinished work. None of what lies there counts.

use crate::Error;
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};

const UNFINISHED: &str = "unfinished";
const LOCK: &str = "lock";

/// A folder of its own for one piece of work. It goes when the work ends, or at the next start after a crash.
#[derive(Debug)]
pub(crate) struct Scratch {
    folder: PathBuf,
    // Tells a program that tidies up that the work still runs.
    _lock: File,
}

impl Scratch {
    /// A new one in a history's folder.
    pub(crate) fn new(home: &Path) -> Result<Self, Error> {
        let folder = home.join(UNFINISHED).join(uuid::Uuid::now_v7().to_string());
        let made = || {
            std::fs::create_dir_all(&folder)?;
            let lock = File::create(folder.join(LOCK))?;
            lock.lock()?;
            Ok(lock)
        };
        let lock = made().map_err(Error::not_writable(&folder))?;
        Ok(Self { folder, _lock: lock })
    }

    /// A file in it.
    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        // What cannot be removed now is removed at the next start.
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

/// Removes what crashed work left. Run while no other program opens the history.
pub(crate) fn tidy(home: &Path) {
    let Ok(entries) = std::fs::read_dir(home.join(UNFINISHED)) else {
        return;
    };
    for entry in entries.flatten() {
        let busy = File::open(entry.path().join(LOCK))
            .is_ok_and(|lock| matches!(lock.try_lock(), Err(TryLockError::WouldBlock)));
        if !busy {
            // A folder that cannot be removed is harmless: nothing refers to it.
            let _ = std::fs::remove_dir_all(entry.path());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn leftovers_go_and_running_work_stays() {
        let home = tempfile::tempdir().unwrap();
        let running = Scratch::new(home.path()).unwrap();
        let left = home.path().join(UNFINISHED).join("left");
        std::fs::create_dir(&left).unwrap();
        std::fs::write(left.join("half"), b"half").unwrap();
        tidy(home.path());
        assert!(!left.exists() && running.folder.exists());
        drop(running);
        assert_eq!(
            std::fs::read_dir(home.path().join(UNFINISHED)).unwrap().count(),
            0
        );
    }
}
