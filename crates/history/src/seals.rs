//! The chain of a board's sealed records.

use crate::database::{Row, Session};
use crate::{Error, History, rows};

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
        let mut session = self.database.read().await?;
        let rows = session
            .query("SELECT * FROM seals WHERE board_id = $1 ORDER BY number")
            .bind(board_id)
            .all()
            .await?;
        rows.iter().map(seal).collect()
    }

    /// Adds a sealed record to a board's chain, unless another one was added meanwhile.
    ///
    /// # Errors
    /// [`Error::ChainMoved`] when the record before it is no longer the last one; nothing was added then.
    pub async fn add_seal(&self, board_id: &str, seal: &Seal) -> Result<(), Error> {
        let mut session = self.database.write().await?;
        let last: Option<String> = session
            .query("SELECT seal FROM seals WHERE board_id = $1 ORDER BY number DESC LIMIT 1")
            .bind(board_id)
            .first()
            .await?
            .map(|row| row.get("seal"))
            .transpose()?;
        let count = session
            .query("SELECT count(*) FROM seals WHERE board_id = $1")
            .bind(board_id)
            .number()
            .await?;
        let moved = || Error::ChainMoved { number: seal.number };
        if last != seal.previous || count + 1 != i64::from(seal.number) {
            return Err(moved());
        }
        if !insert_seal(&mut session, board_id, seal).await? {
            return Err(moved());
        }
        session.commit().await
    }
}

/// Adds a seal unless its number is taken; says whether it was added.
pub(crate) async fn insert_seal(session: &mut Session, board_id: &str, seal: &Seal) -> Result<bool, Error> {
    let added = session
        .query(
            "INSERT INTO seals (board_id, number, visit_id, seal, previous, fingerprint, form, at)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (board_id, number) DO NOTHING",
        )
        .bind(board_id)
        .bind(i64::from(seal.number))
        .bind(seal.visit_id.as_str())
        .bind(seal.seal.as_str())
        .bind(seal.previous.as_deref())
        .bind(seal.fingerprint.as_str())
        .bind(seal.form.as_str())
        .bind(seal.at.as_str())
        .run()
        .await?;
    Ok(added == 1)
}

fn seal(row: &Row) -> Result<Seal, Error> {
    Ok(Seal {
        number: rows::count(row.get("number")?)?,
        visit_id: row.get("visit_id")?,
        seal: row.get("seal")?,
        previous: row.get("previous")?,
        fingerprint: row.get("fingerprint")?,
        form: row.get("form")?,
        at: row.get("at")?,
    })
}
