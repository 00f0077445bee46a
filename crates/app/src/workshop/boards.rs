//! Boards, stock and the demo.

use super::{Workshop, lock};
use crate::bridge::{BoardDetail, BoardSummary, BoardsShown, Failure};
use crate::demo::{demo_board, demo_stock};
use crate::workshop::checks::entry;
use shimwright_history::{BoardLine, KeptBoard, KeptStock};
use shimwright_record::Phrase;
use shimwright_record::{Board, SpacerStock};
use shimwright_say::say;

impl Workshop {
    /// All boards, last measured first.
    ///
    /// # Errors
    /// Storage trouble.
    pub async fn boards(&self) -> Result<Vec<BoardSummary>, Failure> {
        let lines = self.history.boards().await?;
        Ok(lines.into_iter().map(summary).collect())
    }

    /// A board with its history.
    ///
    /// # Errors
    /// Not found, or storage trouble.
    pub async fn board(&self, id: &str) -> Result<BoardDetail, Failure> {
        let KeptBoard { board, revision } = self.history.kept_board(id).await?;
        lock(&self.seen).boards.insert(id.to_owned(), revision);
        let history = self.history.checks(id).await?.into_iter().map(entry).collect();
        Ok(BoardDetail { board, history })
    }

    /// The first boards of those whose name, owner or notes hold all words of a text, last measured first; no text finds
    /// all of them.
    ///
    /// # Errors
    /// Storage trouble.
    pub async fn board_list(&self, text: &str, most: u32) -> Result<BoardsShown, Failure> {
        let list = self.history.board_list(text, most).await?;
        Ok(BoardsShown {
            boards: list.lines.into_iter().map(summary).collect(),
            all: list.all,
        })
    }

    /// The board with this name or id; case does not matter.
    ///
    /// # Errors
    /// Not found, with the names that there are; bad input when two boards have the name.
    pub async fn board_named(&self, name: &str) -> Result<Board, Failure> {
        let same = self.history.boards_called(name).await?;
        match same[..] {
            [ref id] => {
                let KeptBoard { board, revision } = self.history.kept_board(id).await?;
                lock(&self.seen).boards.insert(id.clone(), revision);
                Ok(board)
            }
            [] => {
                let there = self.history.board_list("", MOST_NAMED).await?;
                let names: Vec<&str> = there.lines.iter().map(|line| line.name.as_str()).collect();
                let more = there.all - names.len() as u64;
                let hint = match (names.is_empty(), more) {
                    (true, _) => say!("add one with `shimwright board add`, or try `shimwright demo`"),
                    (false, 0) => say!("there are: {}", names.join(", ")),
                    (false, _) => say!(
                        "there are: {} and {more} more; `shimwright board list --search WORDS` finds one",
                        names.join(", ")
                    ),
                };
                Err(Failure::not_found(say!("there is no board called {name}"), hint).about(name))
            }
            _ => Err(Failure::bad_input(
                say!("{} boards are called {name}", same.len()),
                say!("name it by its id: {}", same.join(" or ")),
            )),
        }
    }

    /// Saves a board; an empty id makes a new one. A change counts as made from the state that [`Workshop::board`] last
    /// showed.
    ///
    /// # Errors
    /// Bad input for a board without a name or with numbers that no drive has; not found for an unknown id; changed
    /// when another bench changed the board since it was shown, and then nothing is saved.
    pub async fn save_board(&self, board: &Board) -> Result<Board, Failure> {
        check_board(board)?;
        if board.id.is_empty() {
            return Ok(self.history.save_board(board, self.now()).await?);
        }
        let shown = lock(&self.seen).boards.get(&board.id).copied();
        // One that this workshop never showed is changed as it is now.
        let seen = match shown {
            Some(revision) => revision,
            None => self.history.kept_board(&board.id).await?.revision,
        };
        let revision = self.history.change_board(board, seen, self.now()).await?;
        lock(&self.seen).boards.insert(board.id.clone(), revision);
        Ok(board.clone())
    }

    /// Takes a board out of sight; its history stays stored.
    ///
    /// # Errors
    /// Not found.
    pub async fn delete_board(&self, id: &str) -> Result<(), Failure> {
        Ok(self.history.delete_board(id, self.now()).await?)
    }

    /// The spacer stock.
    ///
    /// # Errors
    /// Storage trouble.
    pub async fn stock(&self) -> Result<Vec<SpacerStock>, Failure> {
        let KeptStock { lines, revision } = self.history.kept_stock().await?;
        lock(&self.seen).stock = Some(revision);
        Ok(lines)
    }

    /// Replaces the spacer stock, as [`Workshop::stock`] last showed it.
    ///
    /// # Errors
    /// Bad input for a line without a label, two lines with one label, or numbers that no ring has; changed when another
    /// bench changed the stock since it was shown, and then nothing is saved.
    pub async fn save_stock(&self, stock: &[SpacerStock]) -> Result<(), Failure> {
        for line in stock {
            check_ring(line)?;
        }
        let shown = lock(&self.seen).stock;
        let seen = match shown {
            Some(revision) => revision,
            None => self.history.kept_stock().await?.revision,
        };
        let revision = self.history.save_stock(stock, seen, self.now()).await?;
        lock(&self.seen).stock = Some(revision);
        Ok(())
    }

    /// The demo board, added to the history with its stock when it is not there yet. Sizes that the drawer has
    /// already are left as they are.
    ///
    /// # Errors
    /// Storage trouble.
    pub async fn load_demo(&self) -> Result<Board, Failure> {
        let wanted = demo_board()?;
        let KeptStock {
            lines: mut stock,
            revision,
        } = self.history.kept_stock().await?;
        let known = stock.len();
        for ring in demo_stock()? {
            if !stock.iter().any(|line| line.label == ring.label) {
                stock.push(ring);
            }
        }
        if stock.len() > known {
            self.history.save_stock(&stock, revision, self.now()).await?;
        }
        let there = self.history.search(&wanted.name, MOST_ALIKE).await?;
        match there
            .iter()
            .find(|line| line.name == wanted.name && line.owner == wanted.owner)
        {
            Some(line) => Ok(self.history.board(&line.id).await?),
            None => Ok(self.history.save_board(&wanted, self.now()).await?),
        }
    }
}

/// Most boards that are named when one is not there.
const MOST_NAMED: u32 = 20;
/// Most boards with the demo board's name among which it is looked for.
const MOST_ALIKE: u32 = 1000;

fn summary(line: BoardLine) -> BoardSummary {
    BoardSummary {
        id: line.id,
        name: line.name,
        owner: line.owner,
        last_check: line.last_check,
        checks: line.checks,
    }
}

/// Largest length of anything on a drive, mm.
const MOST_MM: f64 = 1000.0;

fn check_board(board: &Board) -> Result<(), Failure> {
    if board.name.trim().is_empty() {
        return Err(Failure::bad_input(say!("the board has no name"), say!("give it one")).about("name"));
    }
    let contradictions = shimwright_advice::check_drive(&board.drive);
    if !contradictions.is_empty() {
        return Err(Failure::bad_input(
            say!("the drive description does not hold together"),
            Phrase::joined(contradictions, "; "),
        )
        .about("drive"));
    }
    for corner in &board.corners {
        for (name, value, least) in [
            ("spacer_thickness", corner.spacer_thickness, 0.0),
            ("belt_offset", corner.belt_offset, -MOST_MM),
            ("belt_offset_u95", corner.belt_offset_u95, 0.0),
        ] {
            check_number(name, value, least)?;
        }
    }
    Ok(())
}

fn check_ring(line: &SpacerStock) -> Result<(), Failure> {
    if line.label.trim().is_empty() {
        return Err(Failure::bad_input(
            say!("the ring of {} mm has no label", line.thickness),
            say!("write down what its drawer says"),
        )
        .about("label"));
    }
    check_number("thickness", line.thickness, 0.01)?;
    check_number("u95", line.u95, 0.0)
}

fn check_number(name: &str, value: f64, least: f64) -> Result<(), Failure> {
    if value >= least && value <= MOST_MM {
        return Ok(());
    }
    Err(Failure::bad_input(
        say!("`{name}` is {value} mm, which is not between {least} and {MOST_MM} mm"),
        say!("give it in millimetres"),
    )
    .about(name))
}
