//! The shop's key in the history's folder, for its owner's eyes only.

use crate::bridge::Failure;
use shimwright_evidence::ShopKey;
use shimwright_say::say;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

const NAME: &str = "shop.key";

/// Permissions of others that the key's file must not have.
#[cfg(unix)]
const OTHERS: u32 = 0o077;

fn place(folder: &Path) -> PathBuf {
    folder.join(NAME)
}

/// The shop's key; `None` when there is none yet.
///
/// # Errors
/// Storage trouble, also when others may read the file.
pub(crate) fn read_key(folder: &Path) -> Result<Option<ShopKey>, Failure> {
    let path = place(folder);
    let text = match std::fs::read_to_string(&path) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(trouble(&path, &error.to_string(), "check its permissions")),
        Ok(text) => text,
    };
    check_permissions(&path)?;
    ShopKey::from_text(&text).map(Some).map_err(|_| {
        trouble(
            &path,
            "it is damaged",
            "restore it from a backup, or remove it to have a new one made",
        )
    })
}

/// The shop's key, made from these random bytes when there is none yet.
///
/// # Errors
/// Storage trouble.
pub(crate) fn make_key(folder: &Path, seed: [u8; 32]) -> Result<ShopKey, Failure> {
    if let Some(key) = read_key(folder)? {
        return Ok(key);
    }
    let path = place(folder);
    let key = ShopKey::from_seed(seed);
    let written = new_private_file(&path).and_then(|mut file| {
        file.write_all(key.to_text().as_bytes())?;
        file.sync_all()
    });
    match written {
        Ok(()) => Ok(key),
        // Another program made one at the same moment.
        Err(error) if error.kind() == ErrorKind::AlreadyExists => {
            read_key(folder)?.ok_or_else(|| trouble(&path, &error.to_string(), "try again"))
        }
        Err(error) => Err(trouble(
            &path,
            &error.to_string(),
            "check the folder's permissions",
        )),
    }
}

fn new_private_file(path: &Path) -> std::io::Result<std::fs::File> {
    let mut options = std::fs::OpenOptions::new();
    options.create_new(true).write(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}

#[cfg(unix)]
fn check_permissions(path: &Path) -> Result<(), Failure> {
    use std::os::unix::fs::PermissionsExt;
    let mode = std::fs::metadata(path)
        .map_err(|error| trouble(path, &error.to_string(), "check its permissions"))?
        .permissions()
        .mode();
    if mode & OTHERS == 0 {
        return Ok(());
    }
    let what = format!(
        "others may read or write it (mode {:03o}, and 600 is the most)",
        mode & 0o777
    );
    Err(trouble(
        path,
        &what,
        "take it from them with chmod 600, and think of who may have copied it",
    ))
}

#[cfg(not(unix))]
fn check_permissions(_path: &Path) -> Result<(), Failure> {
    Ok(())
}

fn trouble(path: &Path, what: &str, hint: &str) -> Failure {
    Failure::storage(
        say!("the shop's key cannot be used ({what})"),
        say!("{hint}: {}", path.display()),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_key_is_made_once_and_for_the_owner_alone() {
        let dir = tempfile::tempdir().unwrap();
        assert!(read_key(dir.path()).unwrap().is_none());
        let key = make_key(dir.path(), [7; 32]).unwrap().public();
        assert_eq!(make_key(dir.path(), [8; 32]).unwrap().public(), key);
        assert_eq!(read_key(dir.path()).unwrap().unwrap().public(), key);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let path = place(dir.path());
            assert_eq!(
                std::fs::metadata(&path).unwrap().permissions().mode() & 0o777,
                0o600
            );
            std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o644)).unwrap();
            let refusal = read_key(dir.path()).unwrap_err().to_string();
            assert!(
                refusal.contains("mode 644") && refusal.contains("chmod 600"),
                "{refusal}"
            );
        }
    }

    #[test]
    fn a_damaged_key_is_told() {
        let dir = tempfile::tempdir().unwrap();
        make_key(dir.path(), [7; 32]).unwrap();
        std::fs::write(place(dir.path()), "no key").unwrap();
        assert!(
            make_key(dir.path(), [7; 32])
                .unwrap_err()
                .to_string()
                .contains("it is damaged")
        );
    }
}
