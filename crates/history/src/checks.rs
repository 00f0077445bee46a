//! Checks with their photos, advice and what was done.

use crate::boards::board_is_there;
use crate::database::{Row, Session};
use crate::{Error, History, Time, aside, new_id, rows, stamp};
use serde::Serialize;
use serde::de::DeserializeOwned;
use shimwright_record::{Board, CheckKind, CheckResult, Corner, Job, SpacerAdvice, SpacerQuestion};
use std::collections::HashMap;
use std::sync::Arc;

/// Checks whose photos are read at once.
const AT_ONCE: usize = 500;

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

impl SavedCheck {
    /// The statement that reads checks, with a condition and an order.
    pub(crate) fn sql(condition: &str, order: &str) -> String {
        format!(
            "SELECT c.*, a.answer,
                    (SELECT text FROM work_done WHERE check_id = c.id ORDER BY at_ms DESC, id DESC LIMIT 1) AS work
             FROM checks c LEFT JOIN advice a ON a.check_id = c.id
             WHERE {condition} AND c.deleted_at IS NULL ORDER BY {order}"
        )
    }

    pub(crate) async fn read_all(session: &mut Session, rows: &[Row]) -> Result<Vec<Self>, Error> {
        let mut checks = rows.iter().map(Self::bare).collect::<Result<Vec<_>, Error>>()?;
        for some in checks.chunks_mut(AT_ONCE) {
            read_photos(session, some).await?;
        }
        Ok(checks)
    }

    async fn read(session: &mut Session, row: &Row) -> Result<Self, Error> {
        let mut check = Self::bare(row)?;
        read_photos(session, std::slice::from_mut(&mut check)).await?;
        Ok(check)
    }

    /// Without its photos.
    fn bare(row: &Row) -> Result<Self, Error> {
        Ok(Self {
            id: row.get("id")?,
            at: row.get("at")?,
            board: read("board", row.get("board")?)?,
            corner: rows::corner(row.get("corner")?)?,
            job: read("job", row.get("job")?)?,
            camera: row.get("camera")?,
            result: read("result", row.get("result")?)?,
            advice: row
                .get::<Option<String>>("answer")?
                .map(|text| read("advice", &text))
                .transpose()?,
            work_done: row.get::<Option<String>>("work")?.unwrap_or_default(),
            program: row.get("program")?,
            photos: Vec::new(),
        })
    }
}

/// Reads the photos of some checks with one statement.
async fn read_photos(session: &mut Session, checks: &mut [SavedCheck]) -> Result<(), Error> {
    let places: Vec<String> = (1..=checks.len()).map(|place| format!("${place}")).collect();
    let mut statement = session.query_built(format!(
        "SELECT check_id, sha256, name FROM check_photos WHERE check_id IN ({}) ORDER BY check_id, position",
        places.join(", ")
    ));
    for check in &*checks {
        statement = statement.bind(check.id.as_str());
    }
    let mut by_check: HashMap<String, Vec<SavedPhoto>> = HashMap::new();
    for row in statement.all().await? {
        by_check
            .entry(row.get("check_id")?)
            .or_default()
            .push(SavedPhoto {
                sha256: row.get("sha256")?,
                name: row.get("name")?,
            });
    }
    for check in checks {
        check.photos = by_check.remove(&check.id).unwrap_or_default();
    }
    Ok(())
}

impl History {
    /// Saves a check with its photos, all or nothing. Gives its id. When this returns, it is stored for good.
    ///
    /// # Errors
    /// [`Error::NotFound`] when the board is not there; any other [`Error`] means that nothing was saved.
    pub async fn save_check(&self, check: NewCheck, at: Time) -> Result<String, Error> {
        let sums = self.store_photos(&check.photos).await?;
        let id = new_id(at);
        let mut session = self.database.write().await?;
        let visit = visit_of(&mut session, &check.board.id, at).await?;
        self.insert_check(&mut session, &id, &visit, &check, at).await?;
        self.insert_photos(&mut session, &id, &check.photos, &sums, at)
            .await?;
        if let Some((question, answer)) = &check.advice {
            insert_advice(&mut session, &id, Some(question), answer, at).await?;
        }
        if !check.work_done.is_empty() {
            insert_work(&mut session, &id, &check.work_done, at).await?;
        }
        session.commit().await?;
        Ok(id)
    }

    /// The checks of a board, newest first.
    ///
    /// # Errors
    /// [`Error`] of the database, or [`Error::Stored`] for a text that cannot be read back.
    pub async fn checks(&self, board_id: &str) -> Result<Vec<SavedCheck>, Error> {
        let mut session = self.database.read().await?;
        let sql = SavedCheck::sql("c.board_id = $1", "c.at_ms DESC, c.id DESC");
        let rows = session.query_built(sql).bind(board_id).all().await?;
        SavedCheck::read_all(&mut session, &rows).await
    }

    /// One check by its id.
    ///
    /// # Errors
    /// [`Error::NotFound`].
    pub async fn check(&self, id: &str) -> Result<SavedCheck, Error> {
        let mut session = self.database.read().await?;
        let sql = SavedCheck::sql("c.id = $1", "c.id");
        let row = session
            .query_built(sql)
            .bind(id)
            .first()
            .await?
            .ok_or_else(|| missing(id))?;
        SavedCheck::read(&mut session, &row).await
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
        let mut session = self.database.read().await?;
        let sql = SavedCheck::sql(
            "c.board_id = $1 AND c.corner = $2 AND c.kind = $3",
            "c.at_ms DESC, c.id DESC LIMIT 1",
        );
        let row = session
            .query_built(sql)
            .bind(board_id)
            .bind(corner.name())
            .bind(kind.name())
            .first()
            .await?;
        match row {
            Some(row) => SavedCheck::read(&mut session, &row).await.map(Some),
            None => Ok(None),
        }
    }

    /// Writes down what was done about a check. Earlier words are kept behind it.
    ///
    /// # Errors
    /// [`Error::NotFound`].
    pub async fn set_work_done(&self, check_id: &str, text: &str, at: Time) -> Result<(), Error> {
        let mut session = self.database.write().await?;
        let there = session
            .query("SELECT count(*) FROM checks WHERE id = $1 AND deleted_at IS NULL")
            .bind(check_id)
            .number()
            .await?;
        if there == 0 {
            return Err(missing(check_id));
        }
        insert_work(&mut session, check_id, text, at).await?;
        session.commit().await
    }

    /// Puts the photos where they stay, away from the threads that serve others.
    pub(crate) async fn store_photos(&self, photos: &[NewPhoto]) -> Result<Vec<String>, Error> {
        let store = self.photos.clone();
        let all: Vec<Arc<[u8]>> = photos.iter().map(|photo| photo.bytes.clone()).collect();
        aside(move || all.iter().map(|bytes| store.put(bytes)).collect()).await
    }

    /// Puts those photos back that were stored and are not there any more.
    async fn store_missing(&self, photos: &[NewPhoto], sums: &[String]) -> Result<(), Error> {
        let (store, sums) = (self.photos.clone(), sums.to_vec());
        let all: Vec<Arc<[u8]>> = photos.iter().map(|photo| photo.bytes.clone()).collect();
        aside(move || {
            for (sha256, bytes) in sums.iter().zip(&all) {
                if !store.has_everywhere(sha256)? {
                    store.put(bytes)?;
                }
            }
            Ok(())
        })
        .await
    }

    pub(crate) async fn insert_check(
        &self,
        session: &mut Session,
        id: &str,
        visit: &str,
        check: &NewCheck,
        at: Time,
    ) -> Result<(), Error> {
        session
            .query(
                "INSERT INTO checks (id, visit_id, board_id, corner, kind, at, at_ms, board, job, camera, result, program)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
            )
            .bind(id)
            .bind(visit)
            .bind(check.board.id.as_str())
            .bind(check.corner.name())
            .bind(check.result.check.name())
            .bind(stamp(at))
            .bind(at.timestamp_millis())
            .bind(json("board", &check.board)?)
            .bind(json("job", &check.job)?)
            .bind(check.camera.as_deref())
            .bind(json("result", &check.result)?)
            .bind(self.program.as_str())
            .run()
            .await?;
        Ok(())
    }

    pub(crate) async fn insert_photos(
        &self,
        session: &mut Session,
        check_id: &str,
        photos: &[NewPhoto],
        sums: &[String],
        at: Time,
    ) -> Result<(), Error> {
        let mut ordered: Vec<(&String, &NewPhoto)> = sums.iter().zip(photos).collect();
        // Two benches that save the same photos take them in the same order, or each could wait for the other.
        ordered.sort_by_key(|(sha256, _)| *sha256);
        for (sha256, photo) in ordered {
            insert_photo(session, photo, sha256, at).await?;
        }
        // A clean-up may have taken a photo that nothing named yet; from here on it cannot.
        self.store_missing(photos, sums).await?;
        for (position, (photo, sha256)) in (0_i64..).zip(photos.iter().zip(sums)) {
            session
                .query("INSERT INTO check_photos (check_id, position, sha256, name) VALUES ($1, $2, $3, $4)")
                .bind(check_id)
                .bind(position)
                .bind(sha256.as_str())
                .bind(photo.name.as_str())
                .run()
                .await?;
        }
        Ok(())
    }
}

fn missing(id: &str) -> Error {
    Error::NotFound {
        what: "check",
        id: id.to_owned(),
    }
}

/// The board's visit of that day, opened when there is none yet.
pub(crate) async fn visit_of(session: &mut Session, board_id: &str, at: Time) -> Result<String, Error> {
    if !board_is_there(session, board_id).await? {
        return Err(Error::NotFound {
            what: "board",
            id: board_id.to_owned(),
        });
    }
    let day = at.format("%Y-%m-%d").to_string();
    // Another bench may open it at the same moment: then its visit is the one.
    session
        .query(
            "INSERT INTO visits (id, board_id, day, opened_at) VALUES ($1, $2, $3, $4)
             ON CONFLICT (board_id, day) WHERE deleted_at IS NULL DO NOTHING",
        )
        .bind(new_id(at))
        .bind(board_id)
        .bind(day.as_str())
        .bind(stamp(at))
        .run()
        .await?;
    let row = session
        .query("SELECT id FROM visits WHERE board_id = $1 AND day = $2 AND deleted_at IS NULL")
        .bind(board_id)
        .bind(day.as_str())
        .first()
        .await?;
    row.ok_or_else(|| Error::damaged("a visit that was just opened is not there".into()))?
        .get("id")
}

async fn insert_photo(session: &mut Session, photo: &NewPhoto, sha256: &str, at: Time) -> Result<(), Error> {
    session
        .query(
            "INSERT INTO photos (sha256, bytes, facts, stored_at) VALUES ($1, $2, $3, $4)
             ON CONFLICT (sha256) DO NOTHING",
        )
        .bind(sha256)
        .bind(i64::try_from(photo.bytes.len()).unwrap_or(i64::MAX))
        .bind(json("photo facts", &photo.facts)?)
        .bind(stamp(at))
        .run()
        .await?;
    Ok(())
}

/// Adds the advice given with a check; what was asked is not known of one that came from elsewhere.
pub(crate) async fn insert_advice(
    session: &mut Session,
    check: &str,
    question: Option<&SpacerQuestion>,
    answer: &SpacerAdvice,
    at: Time,
) -> Result<(), Error> {
    let question = question.map(|question| json("question", question)).transpose()?;
    session
        .query("INSERT INTO advice (id, check_id, question, answer) VALUES ($1, $2, $3, $4)")
        .bind(new_id(at))
        .bind(check)
        .bind(question)
        .bind(json("advice", answer)?)
        .run()
        .await?;
    Ok(())
}

pub(crate) async fn insert_work(
    session: &mut Session,
    check: &str,
    text: &str,
    at: Time,
) -> Result<(), Error> {
    session
        .query("INSERT INTO work_done (id, check_id, text, at, at_ms) VALUES ($1, $2, $3, $4, $5)")
        .bind(new_id(at))
        .bind(check)
        .bind(text)
        .bind(stamp(at))
        .bind(at.timestamp_millis())
        .run()
        .await?;
    Ok(())
}

pub(crate) fn json(what: &'static str, value: &impl Serialize) -> Result<String, Error> {
    serde_json::to_string(value).map_err(Error::stored(what))
}

pub(crate) fn read<T: DeserializeOwned>(what: &'static str, text: &str) -> Result<T, Error> {
    serde_json::from_str(text).map_err(Error::stored(what))
}
