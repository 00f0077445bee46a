//! Files for the user in a folder of theirs: names that any system takes, and nothing overwritten.

use crate::bridge::{Failure, FileFound, FileKind};
use crate::told::size;
use crate::workshop::heavy;
use shimwright_say::say;
use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Longest name of a board in a file's name, letters.
const LONGEST_NAME: usize = 40;
/// Most files of one name.
const MOST_ALIKE: u32 = 1000;

/// A name as part of a file's name on any system.
pub(crate) fn file_name(name: &str) -> String {
    let spaced: String = name
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .collect();
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let short: String = words.join(" ").chars().take(LONGEST_NAME).collect();
    if short.is_empty() {
        "board".to_owned()
    } else {
        short
    }
}

fn numbered(folder: &Path, stem: &str, end: &str, number: u32) -> PathBuf {
    let number = if number > 1 {
        format!(" ({number})")
    } else {
        String::new()
    };
    let dot = if end.is_empty() { "" } else { "." };
    folder.join(format!("{stem}{number}{dot}{end}"))
}

/// A path in the folder that nothing has yet.
pub(crate) fn free_path(folder: &Path, stem: &str, end: &str) -> PathBuf {
    let mut paths = (1..MOST_ALIKE).map(|number| numbered(folder, stem, end, number));
    // Whoever writes there refuses what exists.
    paths
        .find(|path| !path.exists())
        .unwrap_or_else(|| numbered(folder, stem, end, MOST_ALIKE))
}

fn unwritable(path: &Path) -> impl Fn(std::io::Error) -> Failure + '_ {
    move |error| {
        let failure = if error.kind() == ErrorKind::StorageFull {
            Failure::storage(
                say!("the disk is full, so nothing was written"),
                say!("free some space and try again"),
            )
        } else {
            Failure::storage(
                say!("the file cannot be written ({error})"),
                say!("see that the folder can be written to"),
            )
        };
        failure.about(path.display().to_string())
    }
}

/// Makes a folder when it is not there.
pub(crate) fn make_folder(folder: &Path) -> Result<(), Failure> {
    std::fs::create_dir_all(folder).map_err(unwritable(folder))
}

/// Writes a new file, or finds the same bytes there already; nothing is overwritten. Gives its path.
pub(crate) async fn write_new(
    folder: &Path,
    stem: &str,
    end: &'static str,
    bytes: Vec<u8>,
) -> Result<String, Failure> {
    let (folder, stem) = (folder.to_owned(), stem.to_owned());
    heavy(move || {
        make_folder(&folder)?;
        for number in 1..=MOST_ALIKE {
            let path = numbered(&folder, &stem, end, number);
            match OpenOptions::new().create_new(true).write(true).open(&path) {
                Ok(mut file) => {
                    let written = file.write_all(&bytes).and_then(|()| file.sync_all());
                    if written.is_err() {
                        // Half a file must not look like a whole one.
                        let _ = std::fs::remove_file(&path);
                    }
                    written.map_err(unwritable(&path))?;
                    return Ok(path.display().to_string());
                }
                Err(error) if error.kind() == ErrorKind::AlreadyExists => {
                    if std::fs::read(&path).is_ok_and(|there| there == bytes) {
                        return Ok(path.display().to_string());
                    }
                }
                Err(error) => return Err(unwritable(&path)(error)),
            }
        }
        Err(Failure::bad_input(
            say!("there are {MOST_ALIKE} files called {stem} already"),
            say!("move them to another folder"),
        ))
    })
    .await
}

/// What lies in a folder and could be taken in.
pub(crate) fn found(folder: &Path) -> Vec<FileFound> {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut found: Vec<FileFound> = entries
        .flatten()
        .filter_map(|entry| kind_of(&entry.path()))
        .collect();
    found.sort_by(|a, b| a.name.cmp(&b.name));
    found
}

/// A file or folder that somebody chose.
///
/// # Errors
/// Bad input for one that cannot be taken in.
pub fn file_at(path: &Path) -> Result<FileFound, Failure> {
    kind_of(path).ok_or_else(|| {
        let name = path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        Failure::bad_input(
            say!("{name} is neither a backup, a bundle, an export nor a history"),
            say!("choose a file that ends in .tar or .zip, or a folder with export.json or history.sqlite3 in it"),
        )
        .about(path.display().to_string())
    })
}

fn kind_of(path: &Path) -> Option<FileFound> {
    let kind = match path.extension().and_then(|end| end.to_str()) {
        _ if path.join("export.json").is_file() => FileKind::Export,
        _ if path.join("history.sqlite3").is_file() => FileKind::History,
        Some("tar") if path.is_file() => FileKind::Backup,
        Some("zip") if path.is_file() => FileKind::Bundle,
        _ => return None,
    };
    let bytes = if path.is_dir() {
        let files = std::fs::read_dir(path).ok()?.flatten();
        files
            .filter_map(|file| file.metadata().ok())
            .map(|facts| facts.len())
            .sum()
    } else {
        path.metadata().ok()?.len()
    };
    Some(FileFound {
        name: path.file_name()?.to_string_lossy().into_owned(),
        path: path.display().to_string(),
        size: size(bytes),
        kind,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boards_name_files_on_any_system() {
        assert_eq!(file_name("Kestrel 2"), "Kestrel 2");
        assert_eq!(file_name("../Ада's: board?"), "Ада s board");
        assert_eq!(file_name("///"), "board");
        assert_eq!(file_name(&"a".repeat(90)).len(), LONGEST_NAME);
    }

    #[test]
    fn what_was_chosen_is_known_by_its_kind() {
        let dir = tempfile::tempdir().unwrap();
        for (name, holds, kind) in [
            ("a.tar", None, FileKind::Backup),
            ("b.zip", None, FileKind::Bundle),
            ("lists of 2026.03", Some("export.json"), FileKind::Export),
            ("other machine", Some("history.sqlite3"), FileKind::History),
        ] {
            let path = dir.path().join(name);
            match holds {
                None => std::fs::write(&path, b"x").unwrap(),
                Some(inner) => {
                    std::fs::create_dir(&path).unwrap();
                    std::fs::write(path.join(inner), b"x").unwrap();
                }
            }
            assert_eq!(file_at(&path).unwrap().kind, kind, "{name}");
        }
        let refused = file_at(dir.path()).unwrap_err();
        assert!(refused.hint.contains("export.json"), "{refused}");
    }

    #[tokio::test]
    async fn nothing_is_overwritten_and_the_same_is_written_once() {
        let dir = tempfile::tempdir().unwrap();
        let write = async |bytes: &[u8]| write_new(dir.path(), "a", "pdf", bytes.to_vec()).await.unwrap();
        let first = write(b"one").await;
        assert!(first.ends_with("a.pdf"));
        assert!(write(b"two").await.ends_with("a (2).pdf"));
        assert_eq!(write(b"one").await, first);
        assert_eq!(std::fs::read(first).unwrap(), b"one");
    }
}
