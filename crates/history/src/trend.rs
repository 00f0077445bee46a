//! Values of a corner over time.

use crate::{Error, History};
use serde::Deserialize;
use shimwright_record::{CheckKind, Corner, Quantity, Value, Verdict};
use std::collections::BTreeMap;

/// A value at one moment.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct TrendPoint {
    /// Id of the check.
    pub check_id: String,
    /// When it was saved, RFC 3339.
    pub at: String,
    /// Value, uncertainty and unit.
    pub quantity: Quantity,
    /// Whether it was within its limit then.
    pub verdict: Verdict,
}

/// What a trend needs of a result; the drawings in it are left alone.
#[derive(Deserialize)]
struct Told {
    values: BTreeMap<String, Value>,
    verdict: Verdict,
}

impl History {
    /// A value (such as `gap`) of a kind of check at a corner over time, oldest first. Checks that have no such value
    /// are left out.
    ///
    /// # Errors
    /// [`Error`] of the database, or [`Error::Stored`] for a result that cannot be read back.
    pub async fn trend(
        &self,
        board_id: &str,
        corner: Corner,
        kind: CheckKind,
        value: &str,
    ) -> Result<Vec<TrendPoint>, Error> {
        let mut session = self.database.read().await?;
        let rows = session
            .query(
                "SELECT id, at, result FROM checks
                 WHERE board_id = $1 AND corner = $2 AND kind = $3 AND deleted_at IS NULL ORDER BY at_ms, id",
            )
            .bind(board_id)
            .bind(corner.name())
            .bind(kind.name())
            .all()
            .await?;
        let mut points = Vec::with_capacity(rows.len());
        for row in &rows {
            let mut told: Told = serde_json::from_str(row.get("result")?).map_err(Error::stored("result"))?;
            if let Some(Value::One(quantity)) = told.values.remove(value) {
                points.push(TrendPoint {
                    check_id: row.get("id")?,
                    at: row.get("at")?,
                    quantity,
                    verdict: told.verdict,
                });
            }
        }
        Ok(points)
    }
}
