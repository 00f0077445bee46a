//! Boards with their drive and corners, and the shop.

use super::{Conflict, Merge, OnConflict, differences, id_of, text};
use crate::Error;
use crate::tables::{Cell, Cells, table};
use shimwright_phrase::Phrase;
use shimwright_record::Corner;
use shimwright_say::say;

/// What a board's name gets when both are kept.
pub(super) const IMPORTED: &str = " (imported)";

impl Merge<'_> {
    /// Who the shop is stays as it is here, and is taken over only where nobody has said yet.
    pub(super) async fn shop(&mut self) -> Result<(), Error> {
        let shop = table("shop")?;
        for cells in self.all(shop).await? {
            if shop.row(&mut self.here, &cells[..1]).await?.is_none() {
                self.insert(shop, &cells).await?;
            }
        }
        Ok(())
    }

    pub(super) async fn boards(&mut self) -> Result<(), Error> {
        let boards = table("boards")?;
        for theirs in self.all(boards).await? {
            let parts = self.board_parts(&theirs[0]).await?;
            let Some(ours) = boards.row(&mut self.here, &theirs[..1]).await? else {
                self.add_board(theirs, parts).await?;
                continue;
            };
            let mut differs = differences(boards, &ours, &theirs);
            for (name, part) in &parts {
                let table = table(name)?;
                match table.row(&mut self.here, &part[..table.keys]).await? {
                    Some(ours) => differs.extend(differences(table, &ours, part)),
                    None => differs.push(say!("{name} is missing here")),
                }
            }
            if differs.is_empty() {
                self.told.same += 1;
                continue;
            }
            self.told.conflicts.push(Conflict {
                what: say!("board {}", text(&theirs[boards.place("name")])),
                id: text(&theirs[0]).to_owned(),
                differs: Phrase::joined(differs, ", "),
            });
            if self.on_conflict == OnConflict::KeepBoth {
                self.add_beside(theirs, parts).await?;
            }
        }
        Ok(())
    }

    /// A board's rows in `drives` and `corners` there.
    async fn board_parts(&mut self, id: &Cell) -> Result<Vec<(&'static str, Cells)>, Error> {
        let mut parts = Vec::new();
        if let Some(drive) = table("drives")?
            .row(&mut self.there, std::slice::from_ref(id))
            .await?
        {
            parts.push(("drives", drive));
        }
        for corner in Corner::BOTH {
            let key = [id.clone(), Cell::Text(Some(corner.name().into()))];
            if let Some(state) = table("corners")?.row(&mut self.there, &key).await? {
                parts.push(("corners", state));
            }
        }
        Ok(parts)
    }

    async fn add_board(&mut self, board: Cells, parts: Vec<(&'static str, Cells)>) -> Result<(), Error> {
        self.insert(table("boards")?, &board).await?;
        for (name, part) in parts {
            self.insert(table(name)?, &part).await?;
        }
        Ok(())
    }

    /// Adds their description of a board beside ours. Its checks stay with the board whose id they name.
    async fn add_beside(
        &mut self,
        mut board: Cells,
        mut parts: Vec<(&'static str, Cells)>,
    ) -> Result<(), Error> {
        let boards = table("boards")?;
        let all: Vec<&Cells> = std::iter::once(&board)
            .chain(parts.iter().map(|(_, part)| part))
            .collect();
        let id = Cell::Text(Some(id_of(&all)));
        board[0] = id.clone();
        if boards.row(&mut self.here, &board[..1]).await?.is_some() {
            return Ok(());
        }
        let name = boards.place("name");
        board[name] = Cell::Text(Some(format!("{}{IMPORTED}", text(&board[name]))));
        for (_, part) in &mut parts {
            part[0] = id.clone();
        }
        self.add_board(board, parts).await
    }
}
