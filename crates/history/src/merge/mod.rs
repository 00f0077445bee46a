//! Taking in another history: rows are told apart by their stable ids, and nothing here is overwritten.
//!
//! What is not here is added. What is here and the same is left. What is here and different is a conflict: either
//! nothing at all is imported and the conflicts are listed, or both are kept, theirs under an id made from its content,
//! so that importing the same again adds nothing. Marks of deletion are not carried over to what is here.

mod boards;
mod foreign;
mod rows;
mod stock;

pub use foreign::{ForeignCheck, ForeignVisit};

use crate::database::Session;
use crate::tables::{Cell, Cells, Column, Table, table};
use crate::{Error, History, aside};
use shimwright_phrase::Phrase;
use shimwright_say::say;
use std::collections::{BTreeMap, HashMap};

/// What to do with what is different here and there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OnConflict {
    /// Import nothing and list the conflicts.
    Refuse,
    /// Keep both: theirs beside ours.
    KeepBoth,
}

/// Something that is different here and there.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Conflict {
    /// What it is, such as `board Kestrel 2`.
    pub what: Phrase,
    /// Its id.
    pub id: String,
    /// What is different, with both values.
    pub differs: Phrase,
}

/// What an import did.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Merged {
    /// Whether anything was written. Not when there are conflicts and they were to be refused.
    pub done: bool,
    /// How many rows were added, by table.
    pub added: BTreeMap<&'static str, u64>,
    /// How many rows were here already.
    pub same: u64,
    /// What is different here and there.
    pub conflicts: Vec<Conflict>,
    /// Conflicts that cannot be kept beside each other, such as two sealed records of one number: ours stays, theirs
    /// was left out.
    pub left_out: Vec<Conflict>,
}

/// An import under way.
struct Merge<'m> {
    here: Session,
    there: Session,
    on_conflict: OnConflict,
    told: Merged,
    /// Their visits and checks by the id that they got here.
    visits: HashMap<String, String>,
    checks: HashMap<String, String>,
    histories: (&'m History, &'m History),
}

impl History {
    /// Takes in another history with its photos, all or nothing. With [`OnConflict::Refuse`] and a conflict nothing is
    /// written, and [`Merged::done`] says so.
    ///
    /// # Errors
    /// [`Error::NotFound`] for a photo that a record there names and that is in neither place; [`Error`] of either
    /// database.
    pub async fn merge(&self, other: &History, on_conflict: OnConflict) -> Result<Merged, Error> {
        let (_, looked) = self.merged(other, on_conflict, false).await?;
        let refused =
            on_conflict == OnConflict::Refuse && !(looked.conflicts.is_empty() && looked.left_out.is_empty());
        if refused {
            return Ok(looked);
        }
        // Large files are copied before the database is held; those that a clean-up takes meanwhile are copied again.
        self.bring_photos(other).await?;
        let (session, mut told) = self.merged(other, on_conflict, true).await?;
        session.commit().await?;
        self.fill_search().await?;
        told.done = true;
        Ok(told)
    }

    /// The merge in an open transaction.
    async fn merged(
        &self,
        other: &History,
        on_conflict: OnConflict,
        with_photos: bool,
    ) -> Result<(Session, Merged), Error> {
        let mut merge = Merge {
            here: self.database.write().await?,
            there: other.database.read().await?,
            on_conflict,
            told: Merged::default(),
            visits: HashMap::new(),
            checks: HashMap::new(),
            histories: (self, other),
        };
        merge.shop().await?;
        merge.boards().await?;
        merge.stock().await?;
        merge.visits().await?;
        merge.rows("visit_notes").await?;
        merge.rows("service_done").await?;
        merge.photos(with_photos).await?;
        merge.checks().await?;
        for name in ["advice", "work_done", "check_photos"] {
            merge.rows(name).await?;
        }
        merge.seals().await?;
        Ok((merge.here, merge.told))
    }

    async fn bring_photos(&self, other: &History) -> Result<(), Error> {
        let photos = table("photos")?;
        let mut last = None;
        loop {
            let mut there = other.database.read().await?;
            let page = photos.page(&mut there, last.as_ref()).await?;
            drop(there);
            for cells in &page {
                self.bring_photo(other, text(&cells[0])).await?;
            }
            match page.into_iter().next_back() {
                Some(cells) => last = Some(cells),
                None => return Ok(()),
            }
        }
    }

    /// Copies a photo from there when it is not here.
    async fn bring_photo(&self, other: &History, sha256: &str) -> Result<(), Error> {
        let (here, there, sha256) = (self.photos.clone(), other.photos.clone(), sha256.to_owned());
        aside(move || here.take_from(&there, &sha256)).await
    }
}

impl Merge<'_> {
    fn added(&mut self, table: &'static Table) {
        *self.told.added.entry(table.name).or_default() += 1;
    }

    async fn insert(&mut self, table: &'static Table, cells: &Cells) -> Result<(), Error> {
        table.insert(&mut self.here, cells).await?;
        self.added(table);
        Ok(())
    }

    /// All rows of a table there.
    async fn all(&mut self, table: &'static Table) -> Result<Vec<Cells>, Error> {
        let mut all: Vec<Cells> = Vec::new();
        loop {
            let page = table.page(&mut self.there, all.last()).await?;
            if page.is_empty() {
                return Ok(all);
            }
            all.extend(page);
        }
    }
}

/// The text of a cell; empty when there is none.
fn text(cell: &Cell) -> &str {
    match cell {
        Cell::Text(Some(text)) => text,
        _ => "",
    }
}

/// What tells two rows of a table apart: each column with both values, or nothing.
fn differences(table: &Table, here: &Cells, there: &Cells) -> Vec<Phrase> {
    table
        .columns
        .iter()
        .zip(here.iter().zip(there))
        .filter(|(column, (here, there))| column.told_apart && here != there)
        .map(|(column, (here, there))| difference(column, here, there))
        .collect()
}

fn difference(column: &Column, here: &Cell, there: &Cell) -> Phrase {
    say!(
        "{} is {} here and {} there",
        column.name,
        shown(here),
        shown(there)
    )
}

/// A value as a person reads it, cut short.
fn shown(cell: &Cell) -> Phrase {
    const LONGEST: usize = 40;
    match cell {
        Cell::Text(Some(text)) if text.chars().count() > LONGEST => {
            let short = text.chars().take(LONGEST).collect::<String>() + "…";
            say!("{short:?}")
        }
        Cell::Text(Some(text)) => say!("{text:?}"),
        Cell::Integer(Some(number)) => say!("{number}"),
        Cell::Real(Some(number)) => say!("{number}"),
        Cell::Text(None) | Cell::Integer(None) | Cell::Real(None) => say!("empty"),
    }
}

/// An id made from content (UUID version 8, RFC 9562): the same content gives the same id again.
fn id_of(cells: &[&Cells]) -> String {
    let sum = crate::sha256_hex(format!("{cells:?}").as_bytes());
    let mut bytes = [0; 16];
    for (byte, digits) in bytes.iter_mut().zip(sum.as_bytes().chunks(2)) {
        let digits = std::str::from_utf8(digits).unwrap_or("00");
        *byte = u8::from_str_radix(digits, 16).unwrap_or(0);
    }
    uuid::Builder::from_custom_bytes(bytes).into_uuid().to_string()
}
