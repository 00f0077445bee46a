//! Service checks that were done by hand.

use crate::{Error, History, Time, new_id, stamp};
use shimwright_record::ServiceDone;

impl History {
    /// Writes down that a check was done.
    ///
    /// # Errors
    /// [`Error::NotFound`] for a board that is not there.
    pub async fn add_service_done(&self, board_id: &str, done: &ServiceDone, at: Time) -> Result<(), Error> {
        let mut session = self.database.write().await?;
        let written = session
            .query(
                "INSERT INTO service_done (id, board_id, check_name, day, odometer_km, note, at, at_ms)
                 SELECT $1, id, $3, $4, $5, $6, $7, $8 FROM boards WHERE id = $2 AND deleted_at IS NULL",
            )
            .bind(new_id(at))
            .bind(board_id)
            .bind(done.check.as_str())
            .bind(done.day.to_string())
            .bind(done.odometer_km)
            .bind(done.note.as_str())
            .bind(stamp(at))
            .bind(at.timestamp_millis())
            .run()
            .await?;
        if written == 0 {
            return Err(Error::NotFound {
                what: "board",
                id: board_id.to_owned(),
            });
        }
        session.commit().await
    }

    /// All that was done on a board, newest first.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn service_done(&self, board_id: &str) -> Result<Vec<ServiceDone>, Error> {
        let mut session = self.database.read().await?;
        let rows = session
            .query(
                "SELECT check_name, day, odometer_km, note FROM service_done
                 WHERE board_id = $1 AND deleted_at IS NULL ORDER BY day DESC, at_ms DESC, id DESC",
            )
            .bind(board_id)
            .all()
            .await?;
        rows.iter()
            .map(|row| {
                let day: String = row.get("day")?;
                Ok(ServiceDone {
                    check: row.get("check_name")?,
                    day: day
                        .parse()
                        .map_err(|_| Error::damaged(format!("unknown day {day:?}")))?,
                    odometer_km: row.get("odometer_km")?,
                    note: row.get("note")?,
                })
            })
            .collect()
    }
}
