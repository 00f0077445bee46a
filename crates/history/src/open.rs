//! Opening a history: folder, lock, version check, migrations.

use crate::error::BUSY_SECONDS;
use crate::{Error, History, PhotoStore};
use sqlx::migrate::{MigrateError, Migrator};
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use sqlx::{Row, SqlitePool};
use std::fs::{File, OpenOptions};
use std::path::Path;
use std::time::Duration;

static MIGRATIONS: Migrator = sqlx::migrate!("./migrations");

const DATABASE: &str = "history.sqlite3";
const LOCK: &str = "history.lock";

impl History {
    /// Opens the history in a folder, which is made when it is not there, and brings it to this program's form.
    /// `program` is the version of the running program.
    ///
    /// # Errors
    /// [`Error::NotWritable`] for the folder, [`Error::Newer`] for a history of a newer program, which is left as
    /// it is, and [`Error::Damaged`].
    pub async fn open(folder: &Path, program: &str) -> Result<Self, Error> {
        std::fs::create_dir_all(folder).map_err(Error::not_writable(folder))?;
        // Two programs that open a new history at once must not both lay it out.
        let lock = take_lock(&folder.join(LOCK)).await?;
        let photos = PhotoStore::open(&folder.join("photos"))?;
        let pool = connect(&folder.join(DATABASE)).await?;
        let prepared = prepare(&pool, program).await;
        drop(lock);
        if let Err(error) = prepared {
            pool.close().await;
            return Err(error);
        }
        Ok(Self {
            pool,
            photos,
            folder: folder.to_owned(),
            program: program.to_owned(),
        })
    }
}

async fn take_lock(path: &Path) -> Result<File, Error> {
    let file = OpenOptions::new()
        .create(true)
        .truncate(false)
        .write(true)
        .open(path)
        .map_err(Error::not_writable(path))?;
    let path = path.to_owned();
    tokio::task::spawn_blocking(move || file.lock().map(|()| file).map_err(Error::not_writable(&path)))
        .await
        .map_err(|_| Error::Busy(0))?
}

async fn connect(path: &Path) -> Result<SqlitePool, Error> {
    let options = SqliteConnectOptions::new()
        .filename(path)
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .busy_timeout(Duration::from_secs(BUSY_SECONDS));
    Ok(SqlitePoolOptions::new()
        .max_connections(4)
        .connect_with(options)
        .await?)
}

async fn prepare(pool: &SqlitePool, program: &str) -> Result<(), Error> {
    refuse_newer(pool, program).await?;
    MIGRATIONS.run(pool).await.map_err(|error| match error {
        MigrateError::Execute(error) => error.into(),
        MigrateError::ExecuteMigration(error, _) => error.into(),
        other => Error::Foreign(other.to_string()),
    })?;
    note_program(pool, program).await
}

/// The newest form that this program knows.
fn own_schema() -> i64 {
    MIGRATIONS
        .iter()
        .map(|migration| migration.version)
        .max()
        .unwrap_or(0)
}

async fn refuse_newer(pool: &SqlitePool, program: &str) -> Result<(), Error> {
    let laid_out: i64 = sqlx::query_scalar(
        "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = '_sqlx_migrations'",
    )
    .fetch_one(pool)
    .await?;
    if laid_out == 0 {
        return Ok(());
    }
    let its_schema: i64 = sqlx::query_scalar("SELECT coalesce(max(version), 0) FROM _sqlx_migrations")
        .fetch_one(pool)
        .await?;
    if its_schema <= own_schema() {
        return Ok(());
    }
    let its_program = sqlx::query("SELECT version FROM program WHERE id = 1")
        .fetch_optional(pool)
        .await
        .ok()
        .flatten()
        .and_then(|row| row.try_get::<String, _>(0).ok())
        .unwrap_or_else(|| "of an unknown version".into());
    Err(Error::Newer {
        its_program,
        its_schema,
        own_program: program.to_owned(),
        own_schema: own_schema(),
    })
}

/// Keeps the version of the newest program that wrote here. A program of the same form but lower version leaves it.
async fn note_program(pool: &SqlitePool, program: &str) -> Result<(), Error> {
    let known: Option<String> = sqlx::query_scalar("SELECT version FROM program WHERE id = 1")
        .fetch_optional(pool)
        .await?;
    if known
        .as_deref()
        .is_some_and(|known| version_key(known) >= version_key(program))
    {
        return Ok(());
    }
    sqlx::query(
        "INSERT INTO program (id, version) VALUES (1, $1) ON CONFLICT (id) DO UPDATE SET version = $1",
    )
    .bind(program)
    .execute(pool)
    .await?;
    Ok(())
}

/// The numbers of a version, for comparison.
fn version_key(version: &str) -> Vec<u64> {
    version
        .split(['.', '-', '+'])
        .map_while(|part| part.parse().ok())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::version_key;

    #[test]
    fn versions_compare_as_numbers() {
        assert!(version_key("0.10.0") > version_key("0.9.9"));
        assert!(version_key("1.0.0-rc1") == version_key("1.0.0"));
    }
}
