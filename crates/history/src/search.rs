//! Finding boards by what is written about them.

use crate::{BoardLine, BoardList, Error, History};
use shimwright_record::Board;

/// What is searched of a board, in small letters.
pub(crate) fn searched(name: &str, owner: &str, notes: &str) -> String {
    format!("{name}\n{owner}\n{notes}").to_lowercase()
}

pub(crate) fn searched_of(board: &Board) -> String {
    searched(&board.name, &board.owner, &board.notes)
}

impl History {
    /// Boards whose name, owner or notes (where a shop writes serial numbers) hold every word of the text, in any
    /// order and in letters of either size; last measured first, at most `limit`. A board's id finds it too.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn search(&self, text: &str, limit: u32) -> Result<Vec<BoardLine>, Error> {
        let words: Vec<String> = text.to_lowercase().split_whitespace().map(pattern).collect();
        let mut session = self.database.read().await?;
        let sql = BoardLine::sql(&conditions(words.len(), 2), " LIMIT $1");
        let mut statement = session.query_built(sql).bind(i64::from(limit));
        for word in &words {
            statement = statement.bind(word.as_str());
        }
        statement.all().await?.iter().map(BoardLine::read).collect()
    }

    /// The first boards of the list that [`History::search`] finds; no text finds all of them.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn board_list(&self, text: &str, most: u32) -> Result<BoardList, Error> {
        let lines = self.search(text, most).await?;
        if lines.len() < most as usize {
            let all = lines.len() as u64;
            return Ok(BoardList { lines, all });
        }
        let words: Vec<String> = text.to_lowercase().split_whitespace().map(pattern).collect();
        let mut session = self.database.read().await?;
        let conditions = conditions(words.len(), 1);
        let sql = format!("SELECT count(*) FROM boards b WHERE b.deleted_at IS NULL{conditions}");
        let mut statement = session.query_built(sql);
        for word in &words {
            statement = statement.bind(word.as_str());
        }
        let all = statement.number().await?.unsigned_abs();
        Ok(BoardList { lines, all })
    }

    /// The ids of boards that have this name, in letters of either size, or this id.
    ///
    /// # Errors
    /// [`Error`] of the database.
    pub async fn boards_called(&self, name: &str) -> Result<Vec<String>, Error> {
        let begins = format!("{}\n%", escaped(&name.to_lowercase()));
        let mut session = self.database.read().await?;
        let rows = session
            .query(
                "SELECT id FROM boards WHERE deleted_at IS NULL AND (id = $1 OR search LIKE $2 ESCAPE '\\')
                 ORDER BY name, id",
            )
            .bind(name)
            .bind(begins)
            .all()
            .await?;
        rows.iter().map(|row| row.get("id")).collect()
    }

    /// Fills in what is searched of boards that an older program wrote.
    pub(crate) async fn fill_search(&self) -> Result<(), Error> {
        let mut session = self.database.read().await?;
        let open = session
            .query("SELECT count(*) FROM boards WHERE search IS NULL")
            .number()
            .await?;
        drop(session);
        if open == 0 {
            return Ok(());
        }
        let mut session = self.database.write().await?;
        let rows = session
            .query("SELECT id, name, owner, notes FROM boards WHERE search IS NULL")
            .all()
            .await?;
        for row in &rows {
            session
                .query("UPDATE boards SET search = $2 WHERE id = $1")
                .bind(row.get::<&str>("id")?)
                .bind(searched(row.get("name")?, row.get("owner")?, row.get("notes")?))
                .run()
                .await?;
        }
        session.commit().await
    }
}

/// Conditions for so many words, of which the first is bound to the place `first`.
fn conditions(words: usize, first: usize) -> String {
    (first..first + words)
        .map(|place| format!(" AND (b.search LIKE ${place} ESCAPE '\\' OR b.id LIKE ${place} ESCAPE '\\')"))
        .collect()
}

/// A word as a pattern that is found anywhere.
fn pattern(word: &str) -> String {
    format!("%{}%", escaped(word))
}

/// A text as a pattern in which signs with a meaning stand for themselves.
fn escaped(text: &str) -> String {
    let mut pattern = String::with_capacity(text.len());
    for sign in text.chars() {
        if matches!(sign, '%' | '_' | '\\') {
            pattern.push('\\');
        }
        pattern.push(sign);
    }
    pattern
}

#[cfg(test)]
mod tests {
    use super::pattern;

    #[test]
    fn signs_of_patterns_stand_for_themselves() {
        assert_eq!(pattern("50%_a\\"), "%50\\%\\_a\\\\%");
    }
}
