//! Finding boards by what is written about them.

use crate::{BoardLine, Error, History};
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
        let conditions: String = (0..words.len())
            .map(|place| {
                format!(
                    " AND (b.search LIKE ${0} ESCAPE '\\' OR b.id LIKE ${0} ESCAPE '\\')",
                    place + 2
                )
            })
            .collect();
        let mut session = self.database.read().await?;
        let mut statement = session
            .query_built(BoardLine::sql(&conditions, " LIMIT $1"))
            .bind(i64::from(limit));
        for word in &words {
            statement = statement.bind(word.as_str());
        }
        statement.all().await?.iter().map(BoardLine::read).collect()
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

/// A word as a pattern that is found anywhere; signs with a meaning in patterns stand for themselves.
fn pattern(word: &str) -> String {
    let mut pattern = String::from("%");
    for sign in word.chars() {
        if matches!(sign, '%' | '_' | '\\') {
            pattern.push('\\');
        }
        pattern.push(sign);
    }
    pattern + "%"
}

#[cfg(test)]
mod tests {
    use super::pattern;

    #[test]
    fn signs_of_patterns_stand_for_themselves() {
        assert_eq!(pattern("50%_a\\"), "%50\\%\\_a\\\\%");
    }
}
