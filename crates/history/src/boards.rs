//! Boards with their drive and what is fitted at their corners.

use crate::database::{Row, Session};
use crate::search::searched_of;
use crate::{Error, History, Time, new_id, rows, stamp};
use shimwright_record::{Board, Corner, CornerState};

/// A board in the list of boards.
#[derive(Clone, Debug, PartialEq)]
pub struct BoardLine {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Its owner.
    pub owner: String,
    /// When its newest check was saved, RFC 3339.
    pub last_check: Option<String>,
    /// How many checks it has.
    pub checks: u64,
}

impl BoardLine {
    /// The list's statement with more conditions and an end. Only lines that are shown have their checks counted.
    pub(crate) fn sql(conditions: &str, end: &str) -> String {
        format!(
            "SELECT l.id, l.name, l.owner,
                    (SELECT count(*) FROM checks WHERE board_id = l.id AND deleted_at IS NULL) AS checks,
                    (SELECT at FROM checks WHERE board_id = l.id AND deleted_at IS NULL
                     ORDER BY at_ms DESC, id DESC LIMIT 1) AS last_check
             FROM (SELECT b.id, b.name, b.owner,
                          (SELECT max(at_ms) FROM checks WHERE board_id = b.id AND deleted_at IS NULL) AS newest
                   FROM boards b WHERE b.deleted_at IS NULL{conditions}
                   ORDER BY newest DESC NULLS LAST, b.name, b.id{end}) l
             ORDER BY l.newest DESC NULLS LAST, l.name, l.id"
        )
    }

    pub(crate) fn read(row: &Row) -> Result<Self, Error> {
        Ok(Self {
            id: row.get("id")?,
            name: row.get("name")?,
            owner: row.get("owner")?,
            last_check: row.get("last_check")?,
            checks: row.get::<i64>("checks")?.unsigned_abs(),
        })
    }
}

/// The beginning of a list of boards.
#[derive(Clone, Debug, PartialEq)]
pub struct BoardList {
    /// Its first lines.
    pub lines: Vec<BoardLine>,
    /// How many lines the whole list has.
    pub all: u64,
}

/// A board with the revision in which it was read.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptBoard {
    /// The board.
    pub board: Board,
    /// Goes up with every change of it.
    pub revision: i64,
}

impl History {
    /// All boards that are not deleted: last measured first, then by name.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn boards(&self) -> Result<Vec<BoardLine>, Error> {
        let mut session = self.database.read().await?;
        let rows = session.query_built(BoardLine::sql("", "")).all().await?;
        rows.iter().map(BoardLine::read).collect()
    }

    /// A board by its id.
    ///
    /// # Errors
    /// [`Error::NotFound`] also for one that was deleted.
    pub async fn board(&self, id: &str) -> Result<Board, Error> {
        Ok(self.kept_board(id).await?.board)
    }

    /// A board by its id, with the revision from which it can be changed.
    ///
    /// # Errors
    /// As [`History::board`].
    pub async fn kept_board(&self, id: &str) -> Result<KeptBoard, Error> {
        let mut session = self.database.read().await?;
        let row = session
            .query(
                "SELECT b.id, b.name, b.owner, b.notes, b.revision, d.*
                 FROM boards b JOIN drives d ON d.board_id = b.id WHERE b.id = $1 AND b.deleted_at IS NULL",
            )
            .bind(id)
            .first()
            .await?
            .ok_or_else(|| missing(id))?;
        let mut corners = [CornerState::default(), CornerState::default()];
        for row in session
            .query("SELECT * FROM corners WHERE board_id = $1")
            .bind(id)
            .all()
            .await?
        {
            corners[place(rows::corner(row.get("corner")?)?)] = rows::corner_state(&row)?;
        }
        Ok(KeptBoard {
            board: rows::board(&row, corners)?,
            revision: row.get("revision")?,
        })
    }

    /// Saves a new board, whose id is empty. Gives it back with its id.
    ///
    /// # Errors
    /// [`Error::HasId`] for a board that has an id: see [`History::change_board`].
    pub async fn save_board(&self, board: &Board, at: Time) -> Result<Board, Error> {
        if !board.id.is_empty() {
            return Err(Error::HasId(board.id.clone()));
        }
        let mut board = board.clone();
        board.id = new_id(at);
        let mut session = self.database.write().await?;
        insert_board(&mut session, &board, at).await?;
        write_drive(&mut session, &board).await?;
        write_corners(&mut session, &board).await?;
        session.commit().await?;
        Ok(board)
    }

    /// Changes a board that was read in revision `seen`. Gives its new revision.
    ///
    /// # Errors
    /// [`Error::ChangedMeanwhile`] when somebody else changed it since, and then nothing is changed;
    /// [`Error::NotFound`] for an id that is not there.
    pub async fn change_board(&self, board: &Board, seen: i64, at: Time) -> Result<i64, Error> {
        let mut session = self.database.write().await?;
        let changed = session
            .query(
                "UPDATE boards SET name = $3, owner = $4, notes = $5, changed_at = $6, search = $7, revision = $2 + 1
                 WHERE id = $1 AND revision = $2 AND deleted_at IS NULL",
            )
            .bind(board.id.as_str())
            .bind(seen)
            .bind(board.name.as_str())
            .bind(board.owner.as_str())
            .bind(board.notes.as_str())
            .bind(stamp(at))
            .bind(searched_of(board))
            .run()
            .await?;
        if changed != 1 {
            let there = board_is_there(&mut session, &board.id).await?;
            return Err(if there {
                Error::ChangedMeanwhile("board")
            } else {
                missing(&board.id)
            });
        }
        write_drive(&mut session, board).await?;
        write_corners(&mut session, board).await?;
        session.commit().await?;
        Ok(seen + 1)
    }

    /// Marks a board as deleted; its checks and photos stay stored.
    ///
    /// # Errors
    /// [`Error::NotFound`].
    pub async fn delete_board(&self, id: &str, at: Time) -> Result<(), Error> {
        let mut session = self.database.write().await?;
        let changed = session
            .query("UPDATE boards SET deleted_at = $2 WHERE id = $1 AND deleted_at IS NULL")
            .bind(id)
            .bind(stamp(at))
            .run()
            .await?;
        if changed != 1 {
            return Err(missing(id));
        }
        session.commit().await
    }
}

/// The place of a corner in a board's pair.
pub(crate) fn place(corner: Corner) -> usize {
    match corner {
        Corner::Left => 0,
        Corner::Right => 1,
    }
}

fn missing(id: &str) -> Error {
    Error::NotFound {
        what: "board",
        id: id.to_owned(),
    }
}

/// Whether a board is there and not deleted.
pub(crate) async fn board_is_there(session: &mut Session, id: &str) -> Result<bool, Error> {
    let count = session
        .query("SELECT count(*) FROM boards WHERE id = $1 AND deleted_at IS NULL")
        .bind(id)
        .number()
        .await?;
    Ok(count > 0)
}

pub(crate) async fn insert_board(session: &mut Session, board: &Board, at: Time) -> Result<(), Error> {
    session
        .query(
            "INSERT INTO boards (id, name, owner, notes, created_at, changed_at, search)
             VALUES ($1, $2, $3, $4, $5, $5, $6)",
        )
        .bind(board.id.as_str())
        .bind(board.name.as_str())
        .bind(board.owner.as_str())
        .bind(board.notes.as_str())
        .bind(stamp(at))
        .bind(searched_of(board))
        .run()
        .await?;
    Ok(())
}

pub(crate) async fn write_drive(session: &mut Session, board: &Board) -> Result<(), Error> {
    let drive = &board.drive;
    let description = drive
        .description
        .as_ref()
        .map(|description| serde_json::to_string(description).map_err(Error::stored("drive description")))
        .transpose()?;
    session
        .query(
            "INSERT INTO drives (board_id, rim_diameter_mm, mount_chamfer_mm, rim_chamfer_mm, located, minimum_gap_mm,
                                 motor_slide_in_mm, motor_slide_out_mm, same_spacer_everywhere, stack_limit,
                                 description)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)
             ON CONFLICT (board_id) DO UPDATE SET
                rim_diameter_mm = excluded.rim_diameter_mm, mount_chamfer_mm = excluded.mount_chamfer_mm,
                rim_chamfer_mm = excluded.rim_chamfer_mm, located = excluded.located,
                minimum_gap_mm = excluded.minimum_gap_mm, motor_slide_in_mm = excluded.motor_slide_in_mm,
                motor_slide_out_mm = excluded.motor_slide_out_mm,
                same_spacer_everywhere = excluded.same_spacer_everywhere, stack_limit = excluded.stack_limit,
                description = excluded.description",
        )
        .bind(board.id.as_str())
        .bind(drive.rim_diameter)
        .bind(drive.mount_chamfer)
        .bind(drive.rim_chamfer)
        .bind(rows::located_name(drive.located))
        .bind(drive.minimum_gap)
        .bind(drive.motor_slide[0])
        .bind(drive.motor_slide[1])
        .bind(i64::from(drive.same_spacer_everywhere))
        .bind(i64::from(drive.stack_limit))
        .bind(description)
        .run()
        .await?;
    Ok(())
}

pub(crate) async fn write_corners(session: &mut Session, board: &Board) -> Result<(), Error> {
    for corner in Corner::BOTH {
        let state = &board.corners[place(corner)];
        session
            .query(
                "INSERT INTO corners (board_id, corner, spacer_label, spacer_thickness_mm, belt_offset_mm,
                                      belt_offset_u95_mm)
                 VALUES ($1, $2, $3, $4, $5, $6)
                 ON CONFLICT (board_id, corner) DO UPDATE SET
                    spacer_label = excluded.spacer_label, spacer_thickness_mm = excluded.spacer_thickness_mm,
                    belt_offset_mm = excluded.belt_offset_mm, belt_offset_u95_mm = excluded.belt_offset_u95_mm",
            )
            .bind(board.id.as_str())
            .bind(corner.name())
            .bind(state.spacer_label.as_str())
            .bind(state.spacer_thickness)
            .bind(state.belt_offset)
            .bind(state.belt_offset_u95)
            .run()
            .await?;
    }
    Ok(())
}
