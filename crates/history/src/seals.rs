//! The chain of a board's sealed records.

use crate::{Error, History};
use sqlx::Row;
use sqlx::sqlite::SqliteRow;

/// A sealed record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seal {
    /// Its number among the board's sealed records, from 1.
    pub number: u32,
    /// The visit that it tells of.
    pub visit_id: String,
    /// SHA-256 of its manifest.
    pub seal: String,
    /// The seal of the record before it; none for the first.
    pub previous: Option<String>,
    /// SHA-256 of its evidence.
    pub fingerprint: String,
    /// How it was made, so that the same record can be handed out again byte for byte.
    pub form: String,
    /// When it was sealed, RFC 3339.
    pub at: String,
}

impl History {
    /// The sealed records of a board, oldest first.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn seals(&self, board_id: &str) -> Result<Vec<Seal>, Error> {
        let rows = sqlx::query("SELECT * FROM seals WHERE board_id = $1 ORDER BY number")
            .bind(board_id)
            .fetch_all(&self.pool)
            .await?;
        rows.iter().map(seal).collect()
    }

    /// Adds a sealed record to a board's chain, unless another one was added meanwhile.
    ///
    /// # Errors
    /// [`Error::ChainMoved`] when the record before it is no longer the last one; nothing was added then.
    pub async fn add_seal(&self, board_id: &str, seal: &Seal) -> Result<(), Error> {
        let mut tx = self.write().await?;
        let last: Option<String> =
            sqlx::query_scalar("SELECT seal FROM seals WHERE board_id = $1 ORDER BY number DESC LIMIT 1")
                .bind(board_id)
                .fetch_optional(&mut *tx)
                .await?;
        let count: i64 = sqlx::query_scalar("SELECT count(*) FROM seals WHERE board_id = $1")
            .bind(board_id)
            .fetch_one(&mut *tx)
            .await?;
        if last != seal.previous || count + 1 != i64::from(seal.number) {
            return Err(Error::ChainMoved { number: seal.number });
        }
        sqlx::query(
            "INSERT INTO seals (board_id, number, visit_id, seal, previous, fingerprint, form, at)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        )
        .bind(board_id)
        .bind(seal.number)
        .bind(&seal.visit_id)
        .bind(&seal.seal)
        .bind(&seal.previous)
        .bind(&seal.fingerprint)
        .bind(&seal.form)
        .bind(&seal.at)
        .execute(&mut *tx)
        .await?;
        tx.commit().await?;
        Ok(())
    }
}

fn seal(row: &SqliteRow) -> Result<Seal, Error> {
    let number: i64 = row.try_get("number")?;
    Ok(Seal {
        number: u32::try_from(number)
            .map_err(|_| Error::Damaged(format!("a sealed record has the number {number}")))?,
        visit_id: row.try_get("visit_id")?,
        seal: row.try_get("seal")?,
        previous: row.try_get("previous")?,
        fingerprint: row.try_get("fingerprint")?,
        form: row.try_get("form")?,
        at: row.try_get("at")?,
    })
}
