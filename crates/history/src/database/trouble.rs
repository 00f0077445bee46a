//! What a database's refusal means.

use crate::Error;
use sqlx::sqlite::SqliteError;
use std::path::PathBuf;

/// How long a writer waits for another one, seconds.
pub(crate) const BUSY_SECONDS: u64 = 10;

impl From<sqlx::Error> for Error {
    fn from(error: sqlx::Error) -> Self {
        match &error {
            sqlx::Error::Io(_) | sqlx::Error::Tls(_) => return Self::Unreachable(error.to_string()),
            sqlx::Error::PoolTimedOut => return Self::Busy(BUSY_SECONDS),
            _ => {}
        }
        let Some(database) = error.as_database_error() else {
            return Self::Database(error);
        };
        let (code, message) = (database.code(), database.message().to_owned());
        let code = code.as_deref().unwrap_or_default();
        let known = if database.try_downcast_ref::<SqliteError>().is_some() {
            of_sqlite(code, message)
        } else {
            of_postgres(code, message)
        };
        known.unwrap_or(Self::Database(error))
    }
}

fn not_writable(message: String) -> Error {
    Error::NotWritable {
        source: std::io::Error::other(message),
        path: PathBuf::from("the database"),
    }
}

/// By SQLite's primary result code (<https://www.sqlite.org/rescode.html>).
fn of_sqlite(code: &str, message: String) -> Option<Error> {
    match code.parse::<u32>().unwrap_or(0) & 0xFF {
        5 | 6 => Some(Error::Busy(BUSY_SECONDS)),
        8 | 14 => Some(not_writable(message)),
        11 | 26 => Some(Error::damaged(message)),
        13 => Some(Error::DiskFull),
        _ => None,
    }
}

/// By PostgreSQL's error codes (<https://www.postgresql.org/docs/15/errcodes-appendix.html>).
fn of_postgres(code: &str, message: String) -> Option<Error> {
    match code {
        "53100" => Some(Error::DiskFull),
        // Lock not available, deadlock, statement cancelled by a time limit.
        "55P03" | "40P01" | "57014" => Some(Error::Busy(BUSY_SECONDS)),
        "25006" | "42501" => Some(not_writable(message)),
        "XX001" | "XX002" => Some(Error::damaged(message)),
        // Wrong user or password, no such database, too many connections, the server stops or starts.
        "28000" | "28P01" | "3D000" | "53300" | "57P01" | "57P02" | "57P03" => {
            Some(Error::Unreachable(message))
        }
        _ => None,
    }
}
