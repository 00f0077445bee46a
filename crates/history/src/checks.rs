//! Checks with their photos, advice and what was done.

use crate::{Error, History, Time, new_id, rows, stamp};
use serde::Serialize;
use serde::de::DeserializeOwned;
use shimwright_record::{Board, CheckKind, CheckResult, Corner, Job, SpacerAdvice, SpacerQuestion};
use sqlx::sqlite::SqliteRow;
use sqlx::{Row, Sqlite, Transaction};
use std::sync::Arc;

/// A check to be saved.
#[derive(Clone, Debug)]
pub struct NewCheck {
    /// The board as it was when it was measured.
    pub board: Board,
    /// Which corner was measured.
    pub corner: Corner,
    /// What was asked.
    pub job: Job,
    /// The camera profile it was measured with, as its file's text.
    pub camera: Option<String>,
    /// What came out.
    pub result: CheckResult,
    /// The advice given with it, and what it was asked with.
    pub advice: Option<(SpacerQuestion, SpacerAdvice)>,
    /// What was done about it; may be empty.
    pub work_done: String,
    /// Its photos, in the job's order.
    pub photos: Vec<NewPhoto>,
}

/// A photo to be stored with a check.
#[derive(Clone, Debug)]
pub struct NewPhoto {
    /// Its original file name.
    pub name: String,
    /// Its unchanged bytes.
    pub bytes: Arc<[u8]>,
    /// What is known of it.
    pub facts: serde_json::Value,
}

/// A saved check.
#[derive(Clone, Debug, PartialEq)]
pub struct SavedCheck {
    /// Its id.
    pub id: String,
    /// When it was saved, RFC 3339.
    pub at: String,
    /// The board as it was then.
    pub board: Board,
    /// Which corner was measured.
    pub corner: Corner,
    /// What was asked.
    pub job: Job,
    /// The camera profile it was measured with, as its file's text.
    pub camera: Option<String>,
    /// What came out.
    pub result: CheckResult,
    /// The advice given with it.
    pub advice: Option<SpacerAdvice>,
    /// What was done about it, as last written.
    pub work_done: String,
    /// Version of the program that measured it.
    pub program: String,
    /// Its photos, in the job's order.
    pub photos: Vec<SavedPhoto>,
}

/// A photo of a saved check.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SavedPhoto {
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Its original file name.
    pub name: String,
}

impl History {
    /// Saves a check with its photos, all or nothing. Gives its id. When this returns, it is on the disk for good.
    ///
    /// # Errors
    /// [`Error::NotFound`] when the board is not there; any other [`Error`] means that nothing was saved.
    pub async fn save_check(&self, check: NewCheck, at: Time) -> Result<String, Error> {
        let sums = self.store_photos(&check.photos).await?;
        let id = new_id(at);
        let mut tx = self.write().await?;
        let visit = visit_of(&mut tx, &check.board.id, at).await?;
        self.insert_check(&mut tx, &id, &visit, &check, at).await?;
        for (position, (photo, sha256)) in (0_i64..).zip(check.photos.iter().zip(&sums)) {
            insert_photo(&mut tx, photo, sha256, at).await?;
            sqlx::query(
                "INSERT INTO check_photos (check_id, position, sha256, name) VALUES ($1, $2, $3, $4)",
            )
            .bind(&id)
            .bind(position)
            .bind(sha256)
            .bind(&photo.name)
            .execute(&mut *tx)
            .await?;
        }
        if let Some((question, answer)) = &check.advice {
            sqlx::query("INSERT INTO advice (id, check_id, question, answer) VALUES ($1, $2, $3, $4)")
                .bind(new_id(at))
                .bind(&id)
                .bind(json("question", question)?)
                .bind(json("advice", answer)?)
                .execute(&mut *tx)
                .await?;
        }
        if !check.work_done.is_empty() {
            insert_work(&mut tx, &id, &check.work_done, at).await?;
        }
        tx.commit().await?;
        Ok(id)
    }

    /// The checks of a board, newest first.
    ///
    /// # Errors
    /// [`Error`] of the database, or [`Error::Stored`] for a text that cannot be read back.
    pub async fn checks(&self, board_id: &str) -> Result<Vec<SavedCheck>, Error> {
        let rows = sqlx::query(concat!(
            "SELECT c.*, a.answer, ",
            "(SELECT text FROM work_done WHERE check_id = c.id ORDER BY at_ms DESC, rowid DESC LIMIT 1) AS work ",
            "FROM checks c LEFT JOIN advice a ON a.check_id = c.id ",
            "WHERE c.board_id = $1 AND c.deleted_at IS NULL ORDER BY c.at_ms DESC, c.rowid DESC"
        ))
        .bind(board_id)
        .fetch_all(&self.pool)
        .await?;
        let mut checks = Vec::with_capacity(rows.len());
        for row in &rows {
            checks.push(self.saved(row).await?);
        }
        Ok(checks)
    }

    /// One check by its id.
    ///
    /// # Errors
    /// [`Error::NotFound`].
    pub async fn check(&self, id: &str) -> Result<SavedCheck, Error> {
        let row = sqlx::query(concat!(
            "SELECT c.*, a.answer, ",
            "(SELECT text FROM work_done WHERE check_id = c.id ORDER BY at_ms DESC, rowid DESC LIMIT 1) AS work ",
            "FROM checks c LEFT JOIN advice a ON a.check_id = c.id WHERE c.id = $1 AND c.deleted_at IS NULL"
        ))
        .bind(id)
        .fetch_optional(&self.pool)
        .await?
        .ok_or_else(|| Error::NotFound { what: "check", id: id.to_owned() })?;
        self.saved(&row).await
    }

    /// The newest check of a kind at a corner.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn newest(
        &self,
        board_id: &str,
        corner: Corner,
        kind: CheckKind,
    ) -> Result<Option<SavedCheck>, Error> {
        let id: Option<String> = sqlx::query_scalar(
            "SELECT id FROM checks WHERE board_id = $1 AND corner = $2 AND kind = $3 AND deleted_at IS NULL
             ORDER BY at_ms DESC, rowid DESC LIMIT 1",
        )
        .bind(board_id)
        .bind(corner.name())
        .bind(kind.name())
        .fetch_optional(&self.pool)
        .await?;
        match id {
            Some(id) => self.check(&id).await.map(Some),
            None => Ok(None),
        }
    }

    /// Writes down what was done about a check. Earlier words are kept behind it.
    ///
    /// # Errors
    /// [`Error::NotFound`].
    pub async fn set_work_done(&self, check_id: &str, text: &str, at: Time) -> Result<(), Error> {
        let mut tx = self.write().await?;
        let there: i64 =
            sqlx::query_scalar("SELECT count(*) FROM checks WHERE id = $1 AND deleted_at IS NULL")
                .bind(check_id)
                .fetch_one(&mut *tx)
                .await?;
        if there == 0 {
            return Err(Error::NotFound {
                what: "check",
                id: check_id.to_owned(),
            });
        }
        insert_work(&mut tx, check_id, text, at).await?;
        tx.commit().await?;
        Ok(())
    }

    /// Puts the photos on the disk, away from the threads that serve others.
    async fn store_photos(&self, photos: &[NewPhoto]) -> Result<Vec<String>, Error> {
        let store = self.photos.clone();
        let all: Vec<Arc<[u8]>> = photos.iter().map(|photo| photo.bytes.clone()).collect();
        tokio::task::spawn_blocking(move || all.iter().map(|bytes| store.put(bytes)).collect())
            .await
            .map_err(|_| Error::Busy(0))?
    }

    async fn insert_check(
        &self,
        tx: &mut Transaction<'_, Sqlite>,
        id: &str,
        visit: &str,
        check: &NewCheck,
        at: Time,
    ) -> Result<(), Error> {
        sqlx::query(
            "INSERT INTO checks (id, visit_id, board_id, corner, kind, at, at_ms, board, job, camera, result, program)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
        )
        .bind(id)
        .bind(visit)
        .bind(&check.board.id)
        .bind(check.corner.name())
        .bind(check.result.check.name())
        .bind(stamp(at))
        .bind(at.timestamp_millis())
        .bind(json("board", &check.board)?)
        .bind(json("job", &check.job)?)
        .bind(&check.camera)
        .bind(json("result", &check.result)?)
        .bind(&self.program)
        .execute(&mut **tx)
        .await?;
        Ok(())
    }

    async fn saved(&self, row: &SqliteRow) -> Result<SavedCheck, Error> {
        let id: String = row.try_get("id")?;
        let photos =
            sqlx::query("SELECT sha256, name FROM check_photos WHERE check_id = $1 ORDER BY position")
                .bind(&id)
                .fetch_all(&self.pool)
                .await?
                .iter()
                .map(|row| {
                    Ok(SavedPhoto {
                        sha256: row.try_get("sha256")?,
                        name: row.try_get("name")?,
                    })
                })
                .collect::<Result<_, Error>>()?;
        Ok(SavedCheck {
            id,
            at: row.try_get("at")?,
            board: read("board", row.try_get("board")?)?,
            corner: rows::corner(row.try_get("corner")?)?,
            job: read("job", row.try_get("job")?)?,
            camera: row.try_get("camera")?,
            result: read("result", row.try_get("result")?)?,
            advice: row
                .try_get::<Option<String>, _>("answer")?
                .map(|text| read("advice", &text))
                .transpose()?,
            work_done: row.try_get::<Option<String>, _>("work")?.unwrap_or_default(),
            program: row.try_get("program")?,
            photos,
        })
    }
}

/// The board's visit of that day, opened when there is none yet.
pub(crate) async fn visit_of(
    tx: &mut Transaction<'_, Sqlite>,
    board_id: &str,
    at: Time,
) -> Result<String, Error> {
    let there: i64 = sqlx::query_scalar("SELECT count(*) FROM boards WHERE id = $1 AND deleted_at IS NULL")
        .bind(board_id)
        .fetch_one(&mut **tx)
        .await?;
    if there == 0 {
        return Err(Error::NotFound {
            what: "board",
            id: board_id.to_owned(),
        });
    }
    let day = at.format("%Y-%m-%d").to_string();
    let open: Option<String> =
        sqlx::query_scalar("SELECT id FROM visits WHERE board_id = $1 AND day = $2 AND deleted_at IS NULL")
            .bind(board_id)
            .bind(&day)
            .fetch_optional(&mut **tx)
            .await?;
    if let Some(id) = open {
        return Ok(id);
    }
    let id = new_id(at);
    sqlx::query("INSERT INTO visits (id, board_id, day, opened_at) VALUES ($1, $2, $3, $4)")
        .bind(&id)
        .bind(board_id)
        .bind(&day)
        .bind(stamp(at))
        .execute(&mut **tx)
        .await?;
    Ok(id)
}

async fn insert_photo(
    tx: &mut Transaction<'_, Sqlite>,
    photo: &NewPhoto,
    sha256: &str,
    at: Time,
) -> Result<(), Error> {
    sqlx::query("INSERT OR IGNORE INTO photos (sha256, bytes, facts, stored_at) VALUES ($1, $2, $3, $4)")
        .bind(sha256)
        .bind(i64::try_from(photo.bytes.len()).unwrap_or(i64::MAX))
        .bind(json("photo facts", &photo.facts)?)
        .bind(stamp(at))
        .execute(&mut **tx)
        .await?;
    Ok(())
}

async fn insert_work(
    tx: &mut Transaction<'_, Sqlite>,
    check: &str,
    text: &str,
    at: Time,
) -> Result<(), Error> {
    sqlx::query("INSERT INTO work_done (id, check_id, text, at, at_ms) VALUES ($1, $2, $3, $4, $5)")
        .bind(new_id(at))
        .bind(check)
        .bind(text)
        .bind(stamp(at))
        .bind(at.timestamp_millis())
        .execute(&mut **tx)
        .await?;
    Ok(())
}

pub(crate) fn json(what: &'static str, value: &impl Serialize) -> Result<String, Error> {
    serde_json::to_string(value).map_err(Error::stored(what))
}

pub(crate) fn read<T: DeserializeOwned>(what: &'static str, text: &str) -> Result<T, Error> {
    serde_json::from_str(text).map_err(Error::stored(what))
}
