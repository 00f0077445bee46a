//! Boards with their drive and what is fitted at their corners.

use crate::{Error, History, Time, new_id, rows, stamp};
use shimwright_record::{Board, Corner, CornerState};
use sqlx::{Row, Sqlite, Transaction};

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

impl History {
    /// All boards that are not deleted: last measured first, then by name.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn boards(&self) -> Result<Vec<BoardLine>, Error> {
        let rows = sqlx::query(
            "SELECT b.id, b.name, b.owner, count(c.id) AS checks, max(c.at_ms) AS newest,
                    (SELECT at FROM checks WHERE board_id = b.id AND deleted_at IS NULL
                     ORDER BY at_ms DESC, rowid DESC LIMIT 1) AS last_check
             FROM boards b LEFT JOIN checks c ON c.board_id = b.id AND c.deleted_at IS NULL
             WHERE b.deleted_at IS NULL
             GROUP BY b.id
             ORDER BY newest IS NULL, newest DESC, b.name, b.id",
        )
        .fetch_all(&self.pool)
        .await?;
        rows.iter()
            .map(|row| {
                Ok(BoardLine {
                    id: row.try_get("id")?,
                    name: row.try_get("name")?,
                    owner: row.try_get("owner")?,
                    last_check: row.try_get("last_check")?,
                    checks: row.try_get::<i64, _>("checks")?.unsigned_abs(),
                })
            })
            .collect()
    }

    /// A board by its id.
    ///
    /// # Errors
    /// [`Error::NotFound`] also for one that was deleted.
    pub async fn board(&self, id: &str) -> Result<Board, Error> {
        let row = sqlx::query(
            "SELECT b.id, b.name, b.owner, b.notes, d.* FROM boards b JOIN drives d ON d.board_id = b.id
             WHERE b.id = $1 AND b.deleted_at IS NULL",
        )
        .bind(id)
        .fetch_optional(&self.pool)
        .await?
        .ok_or_else(|| Error::NotFound {
            what: "board",
            id: id.to_owned(),
        })?;
        let mut corners = [CornerState::default(), CornerState::default()];
        for row in sqlx::query("SELECT * FROM corners WHERE board_id = $1")
            .bind(id)
            .fetch_all(&self.pool)
            .await?
        {
            corners[place(rows::corner(row.try_get("corner")?)?)] = rows::corner_state(&row)?;
        }
        rows::board(&row, corners)
    }

    /// Saves a board; an empty id makes a new one. Gives it back with its id.
    ///
    /// # Errors
    /// [`Error::NotFound`] for an id that is not there.
    pub async fn save_board(&self, board: &Board, at: Time) -> Result<Board, Error> {
        let mut board = board.clone();
        let mut tx = self.write().await?;
        if board.id.is_empty() {
            board.id = new_id(at);
            insert_board(&mut tx, &board, at).await?;
        } else {
            update_board(&mut tx, &board, at).await?;
        }
        write_drive(&mut tx, &board).await?;
        write_corners(&mut tx, &board).await?;
        tx.commit().await?;
        Ok(board)
    }

    /// Marks a board as deleted; its checks and photos stay stored.
    ///
    /// # Errors
    /// [`Error::NotFound`].
    pub async fn delete_board(&self, id: &str, at: Time) -> Result<(), Error> {
        let changed = sqlx::query("UPDATE boards SET deleted_at = $2 WHERE id = $1 AND deleted_at IS NULL")
            .bind(id)
            .bind(stamp(at))
            .execute(&self.pool)
            .await?;
        found(changed.rows_affected(), id)
    }
}

/// The place of a corner in a board's pair.
pub(crate) fn place(corner: Corner) -> usize {
    match corner {
        Corner::Left => 0,
        Corner::Right => 1,
    }
}

fn found(rows: u64, id: &str) -> Result<(), Error> {
    if rows == 1 {
        Ok(())
    } else {
        Err(Error::NotFound {
            what: "board",
            id: id.to_owned(),
        })
    }
}

async fn insert_board(tx: &mut Transaction<'_, Sqlite>, board: &Board, at: Time) -> Result<(), Error> {
    sqlx::query(
        "INSERT INTO boards (id, name, owner, notes, created_at, changed_at) VALUES ($1, $2, $3, $4, $5, $5)",
    )
    .bind(&board.id)
    .bind(&board.name)
    .bind(&board.owner)
    .bind(&board.notes)
    .bind(stamp(at))
    .execute(&mut **tx)
    .await?;
    Ok(())
}

async fn update_board(tx: &mut Transaction<'_, Sqlite>, board: &Board, at: Time) -> Result<(), Error> {
    let changed = sqlx::query(
        "UPDATE boards SET name = $2, owner = $3, notes = $4, changed_at = $5 WHERE id = $1 AND deleted_at IS NULL",
    )
    .bind(&board.id)
    .bind(&board.name)
    .bind(&board.owner)
    .bind(&board.notes)
    .bind(stamp(at))
    .execute(&mut **tx)
    .await?;
    found(changed.rows_affected(), &board.id)
}

async fn write_drive(tx: &mut Transaction<'_, Sqlite>, board: &Board) -> Result<(), Error> {
    let drive = &board.drive;
    let description = drive
        .description
        .as_ref()
        .map(|description| serde_json::to_string(description).map_err(Error::stored("drive description")))
        .transpose()?;
    sqlx::query("INSERT OR REPLACE INTO drives VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)")
        .bind(&board.id)
        .bind(drive.rim_diameter)
        .bind(drive.mount_chamfer)
        .bind(drive.rim_chamfer)
        .bind(rows::located_name(drive.located))
        .bind(drive.minimum_gap)
        .bind(drive.motor_slide[0])
        .bind(drive.motor_slide[1])
        .bind(drive.same_spacer_everywhere)
        .bind(drive.stack_limit)
        .bind(description)
        .execute(&mut **tx)
        .await?;
    Ok(())
}

async fn write_corners(tx: &mut Transaction<'_, Sqlite>, board: &Board) -> Result<(), Error> {
    for corner in Corner::BOTH {
        let state = &board.corners[place(corner)];
        sqlx::query("INSERT OR REPLACE INTO corners VALUES ($1, $2, $3, $4, $5, $6)")
            .bind(&board.id)
            .bind(corner.name())
            .bind(&state.spacer_label)
            .bind(state.spacer_thickness)
            .bind(state.belt_offset)
            .bind(state.belt_offset_u95)
            .execute(&mut **tx)
            .await?;
    }
    Ok(())
}
