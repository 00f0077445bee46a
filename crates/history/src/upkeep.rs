//! Service checks that were done by hand.

use crate::{Error, History, Time, new_id, stamp};
use shimwright_record::ServiceDone;
use sqlx::Row;

impl History {
    /// Writes down that a check was done.
    ///
    /// # Errors
    /// [`Error::NotFound`] for a board that is not there.
    pub async fn add_service_done(&self, board_id: &str, done: &ServiceDone, at: Time) -> Result<(), Error> {
        let written = sqlx::query(
            "INSERT INTO service_done (id, board_id, check_name, day, odometer_km, note, at, at_ms)
             SELECT $1, id, $3, $4, $5, $6, $7, $8 FROM boards WHERE id = $2 AND deleted_at IS NULL",
        )
        .bind(new_id(at))
        .bind(board_id)
        .bind(&done.check)
        .bind(done.day.to_string())
        .bind(done.odometer_km)
        .bind(&done.note)
        .bind(stamp(at))
        .bind(at.timestamp_millis())
        .execute(&self.pool)
        .await?;
        if written.rows_affected() == 0 {
            return Err(Error::NotFound {
                what: "board",
                id: board_id.to_owned(),
            });
        }
        Ok(())
    }

    /// All that was done on a board, newest first.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn service_done(&self, board_id: &str) -> Result<Vec<ServiceDone>, Error> {
        let rows = sqlx::query(
            "SELECT check_name, day, odometer_km, note FROM service_done
             WHERE board_id = $1 AND deleted_at IS NULL ORDER BY day DESC, at_ms DESC, rowid DESC",
        )
        .bind(board_id)
        .fetch_all(&self.pool)
        .await?;
        rows.iter()
            .map(|row| {
                let day: String = row.try_get("day")?;
                Ok(ServiceDone {
                    check: row.try_get("check_name")?,
                    day: day
                        .parse()
                        .map_err(|_| Error::Damaged(format!("unknown day {day:?}")))?,
                    odometer_km: row.try_get("odometer_km")?,
                    note: row.try_get("note")?,
                })
            })
            .collect()
    }
}
