//! The spacers at hand.

use crate::{Error, History, Time, new_id, stamp};
use shimwright_record::SpacerStock;
use sqlx::Row;
use std::collections::HashSet;

impl History {
    /// The stock, in the order in which it was saved.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn stock(&self) -> Result<Vec<SpacerStock>, Error> {
        let rows = sqlx::query("SELECT * FROM spacer_stock WHERE deleted_at IS NULL ORDER BY position")
            .fetch_all(&self.pool)
            .await?;
        rows.iter()
            .map(|row| {
                Ok(SpacerStock {
                    label: row.try_get("label")?,
                    thickness: row.try_get("thickness_mm")?,
                    u95: row.try_get("u95_mm")?,
                    count: row.try_get("count")?,
                })
            })
            .collect()
    }

    /// Replaces the stock; lines that are gone are marked as deleted.
    ///
    /// # Errors
    /// [`Error::SameLabel`].
    pub async fn save_stock(&self, stock: &[SpacerStock], at: Time) -> Result<(), Error> {
        let mut labels = HashSet::new();
        if let Some(line) = stock.iter().find(|line| !labels.insert(&line.label)) {
            return Err(Error::SameLabel(line.label.clone()));
        }
        let mut tx = self.write().await?;
        sqlx::query("UPDATE spacer_stock SET deleted_at = $1 WHERE deleted_at IS NULL")
            .bind(stamp(at))
            .execute(&mut *tx)
            .await?;
        for (position, line) in (0_i64..).zip(stock) {
            sqlx::query(
                "INSERT INTO spacer_stock (id, position, label, thickness_mm, u95_mm, count, changed_at)
                 VALUES ($1, $2, $3, $4, $5, $6, $7)",
            )
            .bind(new_id(at))
            .bind(position)
            .bind(&line.label)
            .bind(line.thickness)
            .bind(line.u95)
            .bind(line.count)
            .bind(stamp(at))
            .execute(&mut *tx)
            .await?;
        }
        tx.commit().await?;
        Ok(())
    }
}
