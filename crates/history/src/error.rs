//! Why the history could not be read or written.

use std::path::{Path, PathBuf};

/// Why the history could not be read or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// The folder cannot be made or written.
    #[error("the history's folder cannot be written ({source}); choose another one or mend its permissions: {}", path.display())]
    NotWritable {
        /// What the system said.
        source: std::io::Error,
        /// The folder or file.
        path: PathBuf,
    },
    /// A stored photo cannot be read or written.
    #[error("a stored photo cannot be read or written ({source}): {}", path.display())]
    PhotoFile {
        /// What the system said.
        source: std::io::Error,
        /// The file.
        path: PathBuf,
    },
    /// A stored photo's bytes are not those that were stored.
    #[error(
        "the stored photo {sha256} has been changed or damaged since it was saved; restore it from a backup"
    )]
    PhotoChanged {
        /// Its name, the SHA-256 of what was stored.
        sha256: String,
    },
    /// A newer program wrote this history.
    #[error(
        "this history was written by shimwright {its_program} (form {its_schema}) and this is shimwright {own_program}, \
         which knows forms up to {own_schema}; update the program"
    )]
    Newer {
        /// Version of the newest program that wrote it.
        its_program: String,
        /// Its newest migration.
        its_schema: i64,
        /// Version of this program.
        own_program: String,
        /// The newest migration that this program knows.
        own_schema: i64,
    },
    /// The history was changed by something else than this program's releases.
    #[error(
        "this history was laid out by something else than a release of shimwright ({0}); restore it from a backup"
    )]
    Foreign(String),
    /// The file is no database, or a damaged one.
    #[error("the history's database is damaged ({0}); restore it from a backup")]
    Damaged(String),
    /// The disk is full.
    #[error("the disk is full, so nothing was saved; free some space and save again")]
    DiskFull,
    /// Another program holds the database.
    #[error("another program has kept the history busy for {0} seconds, so nothing was saved; save again")]
    Busy(u64),
    /// There is no such thing.
    #[error("there is no {what} with the id {id}")]
    NotFound {
        /// `board`, `visit` or `check`.
        what: &'static str,
        /// The id asked for.
        id: String,
    },
    /// Another record of the board was sealed at the same moment.
    #[error("another record of this board was sealed before record {number} could be; seal it again")]
    ChainMoved {
        /// The number that it was to have.
        number: u32,
    },
    /// Two lines of the stock have the same label.
    #[error("the stock has two lines labelled {0:?}; give each size its own label")]
    SameLabel(String),
    /// A stored JSON text cannot be read back.
    #[error("a stored {what} cannot be read ({source})")]
    Stored {
        /// What it is.
        what: &'static str,
        /// What the reader said.
        source: serde_json::Error,
    },
    /// Any other trouble with the database.
    #[error("the history's database refused ({0})")]
    Database(sqlx::Error),
}

/// How long a writer waits for another one, seconds.
pub(crate) const BUSY_SECONDS: u64 = 10;

impl Error {
    pub(crate) fn not_writable(path: &Path) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.to_owned();
        move |source| match source.kind() {
            std::io::ErrorKind::StorageFull | std::io::ErrorKind::QuotaExceeded => Self::DiskFull,
            _ => Self::NotWritable { source, path },
        }
    }

    pub(crate) fn photo_file(path: &Path) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.to_owned();
        move |source| match source.kind() {
            std::io::ErrorKind::StorageFull | std::io::ErrorKind::QuotaExceeded => Self::DiskFull,
            std::io::ErrorKind::PermissionDenied | std::io::ErrorKind::ReadOnlyFilesystem => {
                Self::NotWritable { source, path }
            }
            _ => Self::PhotoFile { source, path },
        }
    }

    pub(crate) fn stored(what: &'static str) -> impl FnOnce(serde_json::Error) -> Self {
        move |source| Self::Stored { what, source }
    }
}

impl From<sqlx::Error> for Error {
    /// Sorts by SQLite's primary result code (<https://www.sqlite.org/rescode.html>).
    fn from(error: sqlx::Error) -> Self {
        let Some(database) = error.as_database_error() else {
            return Self::Database(error);
        };
        let code = database
            .code()
            .and_then(|code| code.parse::<u32>().ok())
            .unwrap_or(0)
            & 0xFF;
        match code {
            5 | 6 => Self::Busy(BUSY_SECONDS),
            8 | 14 => Self::NotWritable {
                source: std::io::Error::other(database.message().to_owned()),
                path: PathBuf::from("the database"),
            },
            11 | 26 => Self::Damaged(database.message().to_owned()),
            13 => Self::DiskFull,
            _ => Self::Database(error),
        }
    }
}
