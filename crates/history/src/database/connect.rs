//! Reaching a database, refusing one of a newer program, and laying it out.

use super::{BUSY_SECONDS, Database};
use crate::Error;
use sqlx::migrate::{MigrateError, Migrator};
use sqlx::postgres::{PgConnectOptions, PgPoolOptions};
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use sqlx::{ConnectOptions, Connection};
use std::path::Path;
use std::str::FromStr;
use std::time::Duration;

/// Both folders hold the same forms under the same numbers.
static SQLITE: Migrator = sqlx::migrate!("./migrations/sqlite");
static POSTGRES: Migrator = sqlx::migrate!("./migrations/postgres");

/// Connections that one program keeps.
const CONNECTIONS: u32 = 4;

/// How a SQLite file is opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Reached {
    /// To be written; it is made when it is not there.
    ToWrite,
    /// To be written, in whatever form it is.
    AsItIs,
    /// To be read only.
    ToRead,
}

/// Opens a SQLite file, and brings it to this program's form when it is to be written.
pub(crate) async fn reach_sqlite(path: &Path, reached: Reached, program: &str) -> Result<Database, Error> {
    let options = SqliteConnectOptions::new()
        .filename(path)
        .foreign_keys(true)
        .busy_timeout(Duration::from_secs(BUSY_SECONDS));
    let options = match reached {
        Reached::ToWrite => options
            .create_if_missing(true)
            .journal_mode(SqliteJournalMode::Wal)
            .synchronous(SqliteSynchronous::Full),
        Reached::AsItIs => options,
        Reached::ToRead => options.read_only(true),
    };
    let pool = SqlitePoolOptions::new()
        .max_connections(CONNECTIONS)
        .connect_with(options)
        .await?;
    let database = Database::Sqlite(pool);
    prepared(database, reached, program).await
}

/// Reaches a PostgreSQL database by its URL, and brings it to this program's form.
pub(crate) async fn reach_postgres(url: &str, program: &str) -> Result<Database, Error> {
    if !["postgres://", "postgresql://"]
        .iter()
        .any(|scheme| url.starts_with(scheme))
    {
        return Err(Error::NoSuchDatabase("it is no PostgreSQL URL".into()));
    }
    let options = PgConnectOptions::from_str(url)
        .map_err(|error| Error::NoSuchDatabase(error.to_string()))?
        .application_name("shimwright")
        // A bench that waits longer than this for another one is told so.
        .options([("lock_timeout", format!("{BUSY_SECONDS}s"))]);
    // A pool would go on trying and in the end only say that it took too long.
    options.connect().await?.close().await?;
    let pool = PgPoolOptions::new()
        .max_connections(CONNECTIONS)
        .acquire_timeout(Duration::from_secs(BUSY_SECONDS))
        .connect_with(options)
        .await?;
    prepared(Database::Postgres(pool), Reached::ToWrite, program).await
}

async fn prepared(database: Database, reached: Reached, program: &str) -> Result<Database, Error> {
    let outcome = async {
        match reached {
            // Reading anything makes SQLite look at its log.
            Reached::AsItIs => drop(
                database
                    .read()
                    .await?
                    .query("SELECT count(*) FROM sqlite_schema")
                    .number()
                    .await?,
            ),
            Reached::ToWrite | Reached::ToRead => refuse_newer(&database, program).await?,
        }
        if reached == Reached::ToWrite {
            migrate(&database).await?;
            note_program(&database, program).await?;
        }
        Ok(())
    }
    .await;
    match outcome {
        Ok(()) => Ok(database),
        Err(error) => {
            database.close().await;
            Err(error)
        }
    }
}

async fn migrate(database: &Database) -> Result<(), Error> {
    let done = match database {
        Database::Sqlite(pool) => SQLITE.run(pool).await,
        Database::Postgres(pool) => POSTGRES.run(pool).await,
    };
    done.map_err(|error| match error {
        MigrateError::Execute(error) => error.into(),
        MigrateError::ExecuteMigration(error, _) => error.into(),
        other => Error::Foreign(other.to_string()),
    })
}

/// The newest form that this program knows.
pub(crate) fn own_schema() -> i64 {
    SQLITE
        .iter()
        .map(|migration| migration.version)
        .max()
        .unwrap_or(0)
}

async fn refuse_newer(database: &Database, program: &str) -> Result<(), Error> {
    let mut session = database.read().await?;
    let laid_out = match database {
        Database::Sqlite(_) => {
            "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = '_sqlx_migrations'"
        }
        Database::Postgres(_) => "SELECT count(to_regclass('_sqlx_migrations'))",
    };
    if session.query(laid_out).number().await? == 0 {
        return Ok(());
    }
    let its_schema = session
        .query("SELECT coalesce(max(version), 0) FROM _sqlx_migrations")
        .number()
        .await?;
    if its_schema <= own_schema() {
        return Ok(());
    }
    // Whatever a newer program keeps there: its number is what the refusal is about.
    let its_program = match session
        .query("SELECT version FROM program WHERE id = 1")
        .first()
        .await
    {
        Ok(Some(row)) => row.get("version").ok(),
        _ => None,
    };
    Err(Error::Newer {
        its_program: its_program.unwrap_or_else(|| "of an unknown version".into()),
        its_schema,
        own_program: program.to_owned(),
        own_schema: own_schema(),
    })
}

/// Keeps the version of the newest program that wrote here. A program of the same form but lower version leaves it.
async fn note_program(database: &Database, program: &str) -> Result<(), Error> {
    let mut session = database.read().await?;
    let known: Option<String> = match session
        .query("SELECT version FROM program WHERE id = 1")
        .first()
        .await?
    {
        Some(row) => Some(row.get("version")?),
        None => None,
    };
    drop(session);
    if known.is_some_and(|known| version_key(&known) >= version_key(program)) {
        return Ok(());
    }
    let mut session = database.write().await?;
    session
        .query("INSERT INTO program (id, version) VALUES (1, $1) ON CONFLICT (id) DO UPDATE SET version = excluded.version")
        .bind(program)
        .run()
        .await?;
    session.commit().await
}

/// The numbers of a version, for comparison.
fn version_key(version: &str) -> Vec<u64> {
    version
        .split(['.', '-', '+'])
        .map_while(|part| part.parse().ok())
        .collect()
}

/// What SQLite finds wrong with a file, if anything (<https://www.sqlite.org/pragma.html#pragma_quick_check>).
pub(crate) async fn damage(path: &Path) -> Option<String> {
    let told = async {
        let options = SqliteConnectOptions::new()
            .filename(path)
            .read_only(true)
            .immutable(true);
        let pool = SqlitePoolOptions::new()
            .max_connections(1)
            .connect_with(options)
            .await?;
        let told = sqlx::query_scalar::<_, String>("PRAGMA quick_check(1)")
            .fetch_one(&pool)
            .await;
        let tables = sqlx::query_scalar::<_, i64>("SELECT count(*) FROM checks")
            .fetch_one(&pool)
            .await;
        pool.close().await;
        tables?;
        told
    }
    .await;
    match told {
        Ok(text) if text == "ok" => None,
        Ok(text) => Some(text),
        Err(error) => Some(error.to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn versions_compare_as_numbers() {
        assert!(version_key("0.10.0") > version_key("0.9.9"));
        assert!(version_key("1.0.0-rc1") == version_key("1.0.0"));
    }

    #[test]
    fn both_databases_have_the_same_forms() {
        let forms = |migrator: &Migrator| -> Vec<(i64, String)> {
            migrator
                .iter()
                .map(|form| (form.version, form.description.to_string()))
                .collect()
        };
        assert_eq!(forms(&SQLITE), forms(&POSTGRES));
    }
}
