//! The database behind a history: SQLite or PostgreSQL, spoken to with one set of SQL.
//!
//! Both take `$1` for a value, `ON CONFLICT`, partial indexes and text, 64-bit integers and floats, and nothing else is
//! used outside this folder. What differs is here: how a transaction begins (this file), how a database is reached
//! and laid out (`connect.rs`), and what a refusal means (`trouble.rs`).

mod connect;
mod trouble;

pub(crate) use connect::{Reached, damage, own_schema, reach_postgres, reach_sqlite};
pub(crate) use trouble::BUSY_SECONDS;

use crate::Error;
use sqlx::postgres::{PgArguments, PgRow};
use sqlx::query::Query;
use sqlx::sqlite::{SqliteArguments, SqliteRow};
use sqlx::{
    AssertSqlSafe, Decode, Encode, PgConnection, PgPool, Postgres, Row as _, Sqlite, SqliteConnection,
    SqlitePool, Transaction, Type,
};
use std::path::Path;

/// A pool of connections to either.
#[derive(Clone, Debug)]
pub(crate) enum Database {
    Sqlite(SqlitePool),
    Postgres(PgPool),
}

impl Database {
    /// Begins a transaction that reads: all its statements see the same moment.
    pub(crate) async fn read(&self) -> Result<Session, Error> {
        Ok(match self {
            Self::Sqlite(pool) => Session::Sqlite(pool.begin().await?),
            Self::Postgres(pool) => Session::Postgres(
                pool.begin_with("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
                    .await?,
            ),
        })
    }

    /// Begins a transaction that writes. In SQLite it takes the write lock at once: a transaction that starts as a
    /// reader may find at its first write that it reads an outdated state, and would have to fail.
    pub(crate) async fn write(&self) -> Result<Session, Error> {
        Ok(match self {
            Self::Sqlite(pool) => Session::Sqlite(pool.begin_with("BEGIN IMMEDIATE").await?),
            Self::Postgres(pool) => Session::Postgres(pool.begin().await?),
        })
    }

    /// Writes the state of this moment into a new SQLite file, while others go on reading and writing
    /// (<https://www.sqlite.org/lang_vacuum.html#vacuuminto>).
    pub(crate) async fn copy_into(&self, file: &Path, program: &str) -> Result<(), Error> {
        match self {
            Self::Sqlite(pool) => {
                let name = file
                    .to_str()
                    .ok_or_else(|| Error::NameIsNoText(file.to_owned()))?;
                sqlx::query("VACUUM INTO $1").bind(name).execute(pool).await?;
                Ok(())
            }
            Self::Postgres(_) => crate::tables::copy_into(self, file, program).await,
        }
    }

    /// Waits for running statements and closes; later calls fail.
    pub(crate) async fn close(&self) {
        match self {
            Self::Sqlite(pool) => pool.close().await,
            Self::Postgres(pool) => pool.close().await,
        }
    }
}

/// A transaction. Dropped without [`Session::commit`] it leaves nothing.
pub(crate) enum Session {
    Sqlite(Transaction<'static, Sqlite>),
    Postgres(Transaction<'static, Postgres>),
}

impl Session {
    /// A statement to be run in this transaction.
    pub(crate) fn query(&mut self, sql: &'static str) -> Statement<'_> {
        match self {
            Self::Sqlite(tx) => Statement::Sqlite(sqlx::query(sql), tx),
            Self::Postgres(tx) => Statement::Postgres(sqlx::query(sql), tx),
        }
    }

    /// A statement put together from names of tables and columns of this crate; never from anything that a user wrote.
    pub(crate) fn query_built(&mut self, sql: String) -> Statement<'_> {
        match self {
            Self::Sqlite(tx) => Statement::Sqlite(sqlx::query(AssertSqlSafe(sql)), tx),
            Self::Postgres(tx) => Statement::Postgres(sqlx::query(AssertSqlSafe(sql)), tx),
        }
    }

    /// Keeps everybody else from adding rows to `photos` until this writing transaction ends.
    pub(crate) async fn hold_photos(&mut self) -> Result<(), Error> {
        // SQLite has one writer at a time anyway.
        if let Self::Postgres(_) = self {
            self.query("LOCK TABLE photos IN EXCLUSIVE MODE").run().await?;
        }
        Ok(())
    }

    /// Makes what was written last.
    pub(crate) async fn commit(self) -> Result<(), Error> {
        match self {
            Self::Sqlite(tx) => tx.commit().await?,
            Self::Postgres(tx) => tx.commit().await?,
        }
        Ok(())
    }
}

/// A value that both databases take.
pub(crate) trait Taken<'t>:
    Encode<'t, Sqlite> + Type<Sqlite> + Encode<'t, Postgres> + Type<Postgres>
{
}
impl<'t, T: Encode<'t, Sqlite> + Type<Sqlite> + Encode<'t, Postgres> + Type<Postgres>> Taken<'t> for T {}

/// A value that both databases give.
pub(crate) trait Given<'r>:
    Decode<'r, Sqlite> + Type<Sqlite> + Decode<'r, Postgres> + Type<Postgres>
{
}
impl<'r, T: Decode<'r, Sqlite> + Type<Sqlite> + Decode<'r, Postgres> + Type<Postgres>> Given<'r> for T {}

/// A statement with the values bound so far.
pub(crate) enum Statement<'s> {
    Sqlite(Query<'s, Sqlite, SqliteArguments>, &'s mut SqliteConnection),
    Postgres(Query<'s, Postgres, PgArguments>, &'s mut PgConnection),
}

impl Statement<'_> {
    /// Gives the next `$n` its value.
    pub(crate) fn bind<'t>(self, value: impl Taken<'t>) -> Self {
        match self {
            Self::Sqlite(query, on) => Self::Sqlite(query.bind(value), on),
            Self::Postgres(query, on) => Self::Postgres(query.bind(value), on),
        }
    }

    /// Runs it; gives how many rows it changed.
    pub(crate) async fn run(self) -> Result<u64, Error> {
        Ok(match self {
            Self::Sqlite(query, on) => query.execute(on).await?.rows_affected(),
            Self::Postgres(query, on) => query.execute(on).await?.rows_affected(),
        })
    }

    /// All rows.
    pub(crate) async fn all(self) -> Result<Vec<Row>, Error> {
        Ok(match self {
            Self::Sqlite(query, on) => query.fetch_all(on).await?.into_iter().map(Row::Sqlite).collect(),
            Self::Postgres(query, on) => query
                .fetch_all(on)
                .await?
                .into_iter()
                .map(Row::Postgres)
                .collect(),
        })
    }

    /// The first row, if there is one.
    pub(crate) async fn first(self) -> Result<Option<Row>, Error> {
        Ok(match self {
            Self::Sqlite(query, on) => query.fetch_optional(on).await?.map(Row::Sqlite),
            Self::Postgres(query, on) => query.fetch_optional(on).await?.map(Row::Postgres),
        })
    }

    /// The number in the first column of the only row, as `count(*)` gives it.
    pub(crate) async fn number(self) -> Result<i64, Error> {
        Ok(match self {
            Self::Sqlite(query, on) => query.fetch_one(on).await?.try_get(0)?,
            Self::Postgres(query, on) => query.fetch_one(on).await?.try_get(0)?,
        })
    }
}

/// A row of an answer.
pub(crate) enum Row {
    Sqlite(SqliteRow),
    Postgres(PgRow),
}

impl Row {
    /// The value of a column.
    pub(crate) fn get<'r, T: Given<'r>>(&'r self, column: &str) -> Result<T, Error> {
        Ok(match self {
            Self::Sqlite(row) => row.try_get(column)?,
            Self::Postgres(row) => row.try_get(column)?,
        })
    }
}
