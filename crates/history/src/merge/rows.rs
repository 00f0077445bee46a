//! Visits, checks, and what hangs on them.

use super::{Conflict, Merge, OnConflict, differences, id_of, text};
use crate::Error;
use crate::tables::{Cell, Cells, Table, table};
use shimwright_phrase::Phrase;
use shimwright_say::say;

impl Merge<'_> {
    /// Visits: one of the same board and day here takes in theirs.
    pub(super) async fn visits(&mut self) -> Result<(), Error> {
        let visits = table("visits")?;
        let (board, day, deleted) = (
            visits.place("board_id"),
            visits.place("day"),
            visits.place("deleted_at"),
        );
        for visit in self.all(visits).await? {
            if visits.row(&mut self.here, &visit[..1]).await?.is_some() {
                self.told.same += 1;
                continue;
            }
            let that_day = self
                .here
                .query("SELECT id FROM visits WHERE board_id = $1 AND day = $2 AND deleted_at IS NULL")
                .bind(text(&visit[board]))
                .bind(text(&visit[day]))
                .first()
                .await?;
            match that_day {
                Some(ours) if visit[deleted] == Cell::Text(None) => {
                    self.visits.insert(text(&visit[0]).to_owned(), ours.get("id")?);
                }
                _ => self.insert(visits, &visit).await?,
            }
        }
        Ok(())
    }

    /// Photos: rows for files that are here by now.
    pub(super) async fn photos(&mut self, with_files: bool) -> Result<(), Error> {
        self.rows("photos").await?;
        if !with_files {
            return Ok(());
        }
        let photos = table("photos")?;
        let (here, there) = self.histories;
        for photo in self.all(photos).await? {
            here.bring_photo(there, text(&photo[0])).await?;
        }
        Ok(())
    }

    /// Checks: the same only when they were measured from the same photos.
    pub(super) async fn checks(&mut self) -> Result<(), Error> {
        let checks = table("checks")?;
        let mut last: Option<Cells> = None;
        loop {
            let page = checks.page(&mut self.there, last.as_ref()).await?;
            for check in &page {
                self.check(checks, check).await?;
            }
            match page.into_iter().next_back() {
                Some(cells) => last = Some(cells),
                None => return Ok(()),
            }
        }
    }

    async fn check(&mut self, checks: &'static Table, theirs: &Cells) -> Result<(), Error> {
        let theirs = self.renamed(checks, theirs);
        let Some(ours) = checks.row(&mut self.here, &theirs[..1]).await? else {
            return self.insert(checks, &theirs).await;
        };
        let mut differs = differences(checks, &ours, &theirs);
        let id = text(&theirs[0]).to_owned();
        let photos = "SELECT sha256, name FROM check_photos WHERE check_id = $1 ORDER BY position";
        let mut both = Vec::new();
        for session in [&mut self.here, &mut self.there] {
            let rows = session.query(photos).bind(id.as_str()).all().await?;
            let names = rows.iter().map(|row| Ok((row.get("sha256")?, row.get("name")?)));
            both.push(names.collect::<Result<Vec<(String, String)>, Error>>()?);
        }
        if both[0] != both[1] {
            differs.push(say!("the photos are others"));
        }
        if differs.is_empty() {
            self.told.same += 1;
            return Ok(());
        }
        let what = say!("check of {}", text(&theirs[checks.place("at")]));
        self.told.conflicts.push(Conflict {
            what,
            id: id.clone(),
            differs: Phrase::joined(differs, ", "),
        });
        if self.on_conflict == OnConflict::KeepBoth {
            let mut beside = theirs.clone();
            beside[0] = Cell::Text(Some(id_of(&[&theirs])));
            self.checks.insert(id, text(&beside[0]).to_owned());
            if checks.row(&mut self.here, &beside[..1]).await?.is_none() {
                self.insert(checks, &beside).await?;
            }
        }
        Ok(())
    }

    /// Rows that are only ever added.
    pub(super) async fn rows(&mut self, name: &str) -> Result<(), Error> {
        let table = table(name)?;
        let mut last: Option<Cells> = None;
        loop {
            let page = table.page(&mut self.there, last.as_ref()).await?;
            for cells in &page {
                self.row(table, cells).await?;
            }
            match page.into_iter().next_back() {
                Some(cells) => last = Some(cells),
                None => return Ok(()),
            }
        }
    }

    async fn row(&mut self, table: &'static Table, theirs: &Cells) -> Result<(), Error> {
        let mut renamed = self.renamed(table, theirs);
        let of_copied_check =
            renamed != *theirs && table.columns.iter().any(|column| column.name == "check_id");
        if of_copied_check && table.columns[0].name == "id" {
            renamed[0] = Cell::Text(Some(id_of(&[&renamed])));
        }
        let Some(ours) = table.row(&mut self.here, &renamed[..table.keys]).await? else {
            return self.insert(table, &renamed).await;
        };
        let differs = differences(table, &ours, &renamed);
        if differs.is_empty() {
            self.told.same += 1;
            return Ok(());
        }
        let conflict = Conflict {
            what: say!("row of {}", table.name),
            id: text(&theirs[0]).to_owned(),
            differs: Phrase::joined(differs, ", "),
        };
        // A second advice of one check has no place, and a photo's name says its content.
        if table.columns[0].name != "id" || table.name == "advice" {
            self.told.left_out.push(conflict);
            return Ok(());
        }
        self.told.conflicts.push(conflict);
        if self.on_conflict == OnConflict::KeepBoth {
            renamed[0] = Cell::Text(Some(id_of(&[&renamed])));
            if table.row(&mut self.here, &renamed[..1]).await?.is_none() {
                self.insert(table, &renamed).await?;
            }
        }
        Ok(())
    }

    /// Sealed records: only as the next links of the chain that is here.
    pub(super) async fn seals(&mut self) -> Result<(), Error> {
        let seals = table("seals")?;
        let (number, previous) = (seals.place("number"), seals.place("previous"));
        for theirs in self.all(seals).await? {
            let theirs = self.renamed(seals, &theirs);
            if let Some(ours) = seals.row(&mut self.here, &theirs[..2]).await? {
                let differs = differences(seals, &ours, &theirs);
                if differs.is_empty() {
                    self.told.same += 1;
                } else {
                    self.leave_out_seal(&theirs, Phrase::joined(differs, ", "));
                }
                continue;
            }
            let last = self
                .here
                .query("SELECT number, seal FROM seals WHERE board_id = $1 ORDER BY number DESC LIMIT 1")
                .bind(text(&theirs[0]))
                .first()
                .await?;
            let (count, end): (i64, Option<String>) = match last {
                Some(row) => (row.get("number")?, Some(row.get("seal")?)),
                None => (0, None),
            };
            if theirs[number] == Cell::Integer(Some(count + 1)) && theirs[previous] == Cell::Text(end) {
                self.insert(seals, &theirs).await?;
            } else {
                self.leave_out_seal(&theirs, say!("it does not follow the last sealed record here"));
            }
        }
        Ok(())
    }

    fn leave_out_seal(&mut self, seal: &Cells, differs: Phrase) {
        let number = match seal[1] {
            Cell::Integer(Some(number)) => number,
            _ => 0,
        };
        self.told.left_out.push(Conflict {
            what: say!("sealed record {number}"),
            id: text(&seal[0]).to_owned(),
            differs,
        });
    }

    /// The row with the ids that its visit and check have here.
    fn renamed(&self, table: &Table, cells: &Cells) -> Cells {
        let mut cells = cells.clone();
        for (column, names) in [("visit_id", &self.visits), ("check_id", &self.checks)] {
            let place = table.place(column);
            if let Some(new) = cells.get(place).and_then(|cell| names.get(text(cell))) {
                cells[place] = Cell::Text(Some(new.clone()));
            }
        }
        cells
    }
}
