//! The spacers at hand.

use crate::database::Session;
use crate::{Error, History, Time, new_id, rows, stamp};
use shimwright_record::SpacerStock;
use std::collections::HashSet;

/// The stock with the revision in which it was read.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptStock {
    /// Its lines, in the order in which they were saved.
    pub lines: Vec<SpacerStock>,
    /// Goes up with every change of any line.
    pub revision: i64,
}

impl History {
    /// The stock, in the order in which it was saved.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn stock(&self) -> Result<Vec<SpacerStock>, Error> {
        Ok(self.kept_stock().await?.lines)
    }

    /// The stock, with the revision from which it can be changed.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn kept_stock(&self) -> Result<KeptStock, Error> {
        let mut session = self.database.read().await?;
        let rows = session
            .query("SELECT * FROM spacer_stock WHERE deleted_at IS NULL ORDER BY position, id")
            .all()
            .await?;
        let lines = rows
            .iter()
            .map(|row| {
                Ok(SpacerStock {
                    label: row.get("label")?,
                    thickness: row.get("thickness_mm")?,
                    u95: row.get("u95_mm")?,
                    count: rows::count(row.get("count")?)?,
                })
            })
            .collect::<Result<_, Error>>()?;
        let revision = session
            .query("SELECT revision FROM stock_state WHERE id = 1")
            .number()
            .await?;
        Ok(KeptStock { lines, revision })
    }

    /// Replaces the stock that was read in revision `seen`; lines that are gone are marked as deleted. Gives the new
    /// revision.
    ///
    /// # Errors
    /// [`Error::SameLabel`], and [`Error::ChangedMeanwhile`] when somebody else changed it since; then nothing is
    /// changed.
    pub async fn save_stock(&self, stock: &[SpacerStock], seen: i64, at: Time) -> Result<i64, Error> {
        let mut labels = HashSet::new();
        if let Some(line) = stock.iter().find(|line| !labels.insert(&line.label)) {
            return Err(Error::SameLabel(line.label.clone()));
        }
        let mut session = self.database.write().await?;
        let changed = session
            .query("UPDATE stock_state SET revision = $1 + 1 WHERE id = 1 AND revision = $1")
            .bind(seen)
            .run()
            .await?;
        if changed != 1 {
            return Err(Error::ChangedMeanwhile("stock"));
        }
        session
            .query("UPDATE spacer_stock SET deleted_at = $1 WHERE deleted_at IS NULL")
            .bind(stamp(at))
            .run()
            .await?;
        for (position, line) in (0_i64..).zip(stock) {
            insert_line(&mut session, position, line, at).await?;
        }
        session.commit().await?;
        Ok(seen + 1)
    }
}

async fn insert_line(
    session: &mut Session,
    position: i64,
    line: &SpacerStock,
    at: Time,
) -> Result<(), Error> {
    session
        .query(
            "INSERT INTO spacer_stock (id, position, label, thickness_mm, u95_mm, count, changed_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7)",
        )
        .bind(new_id(at))
        .bind(position)
        .bind(line.label.as_str())
        .bind(line.thickness)
        .bind(line.u95)
        .bind(i64::from(line.count))
        .bind(stamp(at))
        .run()
        .await?;
    Ok(())
}
