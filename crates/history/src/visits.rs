//! The shop, and what is written down of visits.

use crate::{Error, History, SavedCheck, Time, checks, new_id, stamp};
use shimwright_record::{Shop, VisitNotes};

/// A visit with what was written down of it.
#[derive(Clone, Debug, PartialEq)]
pub struct SavedVisit {
    /// Its id.
    pub id: String,
    /// Its day as the user's clock showed it, such as `2026-03-08`.
    pub day: String,
    /// What was last written down.
    pub notes: VisitNotes,
}

impl History {
    /// The shop; empty when nobody has said.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn shop(&self) -> Result<Shop, Error> {
        let mut session = self.database.read().await?;
        let row = session
            .query("SELECT name, address, technician FROM shop WHERE id = 1")
            .first()
            .await?;
        let Some(row) = row else {
            return Ok(Shop::default());
        };
        Ok(Shop {
            name: row.get("name")?,
            address: row.get("address")?,
            technician: row.get("technician")?,
        })
    }

    /// Writes down who the shop is.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn save_shop(&self, shop: &Shop, at: Time) -> Result<(), Error> {
        let mut session = self.database.write().await?;
        session
            .query(
                "INSERT INTO shop (id, name, address, technician, changed_at) VALUES (1, $1, $2, $3, $4)
                 ON CONFLICT (id) DO UPDATE SET name = excluded.name, address = excluded.address,
                    technician = excluded.technician, changed_at = excluded.changed_at",
            )
            .bind(shop.name.as_str())
            .bind(shop.address.as_str())
            .bind(shop.technician.as_str())
            .bind(stamp(at))
            .run()
            .await?;
        session.commit().await
    }

    /// The visits of a board, newest first.
    ///
    /// # Errors
    /// [`Error`] of the database, or [`Error::Stored`] for a text that cannot be read back.
    pub async fn visits(&self, board_id: &str) -> Result<Vec<SavedVisit>, Error> {
        let mut session = self.database.read().await?;
        let rows = session
            .query(
                "SELECT v.id, v.day,
                        (SELECT notes FROM visit_notes WHERE visit_id = v.id ORDER BY at_ms DESC, id DESC LIMIT 1) AS notes
                 FROM visits v WHERE v.board_id = $1 AND v.deleted_at IS NULL ORDER BY v.day DESC, v.id DESC",
            )
            .bind(board_id)
            .all()
            .await?;
        rows.iter()
            .map(|row| {
                let notes: Option<String> = row.get("notes")?;
                Ok(SavedVisit {
                    id: row.get("id")?,
                    day: row.get("day")?,
                    notes: notes
                        .map(|text| checks::read("visit's notes", &text))
                        .transpose()?
                        .unwrap_or_default(),
                })
            })
            .collect()
    }

    /// The checks of a visit, oldest first.
    ///
    /// # Errors
    /// As [`History::check`].
    pub async fn visit_checks(&self, visit_id: &str) -> Result<Vec<SavedCheck>, Error> {
        let mut session = self.database.read().await?;
        let sql = SavedCheck::sql("c.visit_id = $1", "c.at_ms, c.id");
        let rows = session.query_built(sql).bind(visit_id).all().await?;
        SavedCheck::read_all(&mut session, &rows).await
    }

    /// The board's visit of today, opened when there is none yet; gives its id.
    ///
    /// # Errors
    /// [`Error::NotFound`] when the board is not there.
    pub async fn open_visit(&self, board_id: &str, at: Time) -> Result<String, Error> {
        let mut session = self.database.write().await?;
        let id = checks::visit_of(&mut session, board_id, at).await?;
        session.commit().await?;
        Ok(id)
    }

    /// Writes down what is to be said of a visit. Earlier words are kept behind it.
    ///
    /// # Errors
    /// [`Error::NotFound`].
    pub async fn set_visit_notes(&self, visit_id: &str, notes: &VisitNotes, at: Time) -> Result<(), Error> {
        let mut session = self.database.write().await?;
        let there = session
            .query("SELECT count(*) FROM visits WHERE id = $1 AND deleted_at IS NULL")
            .bind(visit_id)
            .number()
            .await?;
        if there == 0 {
            return Err(Error::NotFound {
                what: "visit",
                id: visit_id.to_owned(),
            });
        }
        session
            .query("INSERT INTO visit_notes (id, visit_id, notes, at, at_ms) VALUES ($1, $2, $3, $4, $5)")
            .bind(new_id(at))
            .bind(visit_id)
            .bind(checks::json("visit's notes", notes)?)
            .bind(stamp(at))
            .bind(at.timestamp_millis())
            .run()
            .await?;
        session.commit().await
    }
}
