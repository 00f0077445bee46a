//! Spacer rings: a line's id changes with every change of the drawer, so lines are told apart by their labels.

use super::boards::IMPORTED;
use super::{Conflict, Merge, OnConflict, differences, text};
use crate::Error;
use crate::tables::{Cell, Cells, Table, table};
use shimwright_phrase::Phrase;
use shimwright_say::say;
use std::collections::HashMap;

impl Merge<'_> {
    pub(super) async fn stock(&mut self) -> Result<(), Error> {
        let stock = table("spacer_stock")?;
        let deleted = stock.place("deleted_at");
        let mut ours = self.stock_here(stock).await?;
        let mut changed = false;
        for line in self.all(stock).await? {
            if stock.row(&mut self.here, &line[..1]).await?.is_some() {
                self.told.same += 1;
            } else if line[deleted] != Cell::Text(None) {
                self.insert(stock, &line).await?;
            } else if let Some(line) = self.line_to_add(stock, line, &ours) {
                ours.insert(text(&line[stock.place("label")]).to_owned(), line.clone());
                self.insert(stock, &line).await?;
                changed = true;
            }
        }
        if changed {
            self.here
                .query("UPDATE stock_state SET revision = revision + 1 WHERE id = 1")
                .run()
                .await?;
        }
        Ok(())
    }

    /// The lines here that are not deleted, by label.
    async fn stock_here(&mut self, stock: &'static Table) -> Result<HashMap<String, Cells>, Error> {
        let (label, deleted) = (stock.place("label"), stock.place("deleted_at"));
        let mut lines = HashMap::new();
        let mut last = None;
        loop {
            let page = stock.page(&mut self.here, last.as_ref()).await?;
            let live = page.iter().filter(|line| line[deleted] == Cell::Text(None));
            lines.extend(live.map(|line| (text(&line[label]).to_owned(), line.clone())));
            match page.into_iter().next_back() {
                Some(line) => last = Some(line),
                None => return Ok(lines),
            }
        }
    }

    /// The line as it is to be added, if it is.
    fn line_to_add(
        &mut self,
        stock: &'static Table,
        mut line: Cells,
        ours: &HashMap<String, Cells>,
    ) -> Option<Cells> {
        let label = stock.place("label");
        let wanted = text(&line[label]).to_owned();
        let Some(known) = ours.get(&wanted) else {
            return Some(line);
        };
        // Ids, the first column, differ by nature.
        let mut alike = known.clone();
        alike[0] = line[0].clone();
        let differs = differences(stock, &alike, &line);
        if differs.is_empty() {
            self.told.same += 1;
            return None;
        }
        self.told.conflicts.push(Conflict {
            what: say!("spacer {wanted}"),
            id: text(&line[0]).to_owned(),
            differs: Phrase::joined(differs, ", "),
        });
        if self.on_conflict == OnConflict::Refuse {
            return None;
        }
        let mut free = format!("{wanted}{IMPORTED}");
        while ours.contains_key(&free) {
            free += IMPORTED;
        }
        line[label] = Cell::Text(Some(free));
        Some(line)
    }
}
