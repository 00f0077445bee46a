//! A visit from elsewhere, as an evidence bundle tells it: laid out as a history of its own and then merged as any other.

use super::{Merged, OnConflict};
use crate::boards::{insert_board, write_corners, write_drive};
use crate::checks::{insert_advice, insert_work};
use crate::database::{Reached, Session, reach_sqlite};
use crate::folder::{DATABASE, lock_in_use};
use crate::scratch::Scratch;
use crate::seals::insert_seal;
use crate::tables::{Cell, table};
use crate::{Error, History, NewCheck, PhotoStore, SavedVisit, Seal, Time, aside, sha256_hex, stamp};
use shimwright_record::{Board, Corner, ServiceDone, SpacerAdvice, VisitNotes};
use std::sync::Arc;

/// A visit from elsewhere with what hangs on it, under the ids that it has there.
#[derive(Clone, Debug)]
pub struct ForeignVisit {
    /// Its board as it was when the visit was handed out.
    pub board: Board,
    /// The visit.
    pub visit: SavedVisit,
    /// Its checks.
    pub checks: Vec<ForeignCheck>,
    /// Service that was done on that day.
    pub service: Vec<ServiceDone>,
    /// How it was sealed.
    pub seal: Seal,
}

/// A check from elsewhere.
#[derive(Clone, Debug)]
pub struct ForeignCheck {
    /// Its id.
    pub id: String,
    /// When it was saved.
    pub at: Time,
    /// Version of the program that measured it.
    pub program: String,
    /// The check; its advice is given beside, because what was asked is not known.
    pub check: NewCheck,
    /// The advice given with it.
    pub advice: Option<SpacerAdvice>,
    /// SHA-256 of the photos as the camera wrote them, of which those in `check` may be copies.
    pub originals: Vec<String>,
}

impl History {
    /// Takes in a visit from elsewhere. A board, a visit or a check that is here stays as it is here; a check is the same
    /// when its photos are, or are copies of those here.
    ///
    /// # Errors
    /// As [`History::merge`].
    pub async fn take_in(
        &self,
        mut visit: ForeignVisit,
        on_conflict: OnConflict,
        now: Time,
    ) -> Result<Merged, Error> {
        let same = self.drop_known(&mut visit).await?;
        let scratch = Scratch::new(&self.folder)?;
        let folder = scratch.path("");
        let other = History {
            database: reach_sqlite(&scratch.path(DATABASE), Reached::ToWrite, &self.program).await?,
            photos: PhotoStore::open(&scratch.path("photos"))?,
            program: self.program.clone(),
            _in_use: Arc::new(lock_in_use(&folder)?),
            folder,
        };
        let merged = match self.lay_out(&other, &visit, now).await {
            Ok(()) => self.merge(&other, on_conflict).await,
            Err(error) => Err(error),
        };
        other.close().await;
        let mut merged = merged?;
        merged.same += same;
        Ok(merged)
    }

    /// Leaves out of a visit what is here already; gives how much that is.
    async fn drop_known(&self, visit: &mut ForeignVisit) -> Result<u64, Error> {
        let before = visit.checks.len() + visit.service.len();
        let mut checks = Vec::new();
        for check in std::mem::take(&mut visit.checks) {
            if !self.has_check(&check).await? {
                checks.push(check);
            }
        }
        visit.checks = checks;
        let done = self.service_done(&visit.board.id).await?;
        visit.service.retain(|one| !done.contains(one));
        let here = self.visits(&visit.board.id).await?;
        if here
            .iter()
            .any(|one| one.id == visit.visit.id && one.notes != VisitNotes::default())
        {
            visit.visit.notes = VisitNotes::default();
        }
        Ok((before - visit.checks.len() - visit.service.len()) as u64)
    }

    async fn has_check(&self, theirs: &ForeignCheck) -> Result<bool, Error> {
        let ours = match self.check(&theirs.id).await {
            Ok(ours) => ours,
            Err(Error::NotFound { .. }) => return Ok(false),
            Err(error) => return Err(error),
        };
        let copies: Vec<String> = theirs
            .check
            .photos
            .iter()
            .map(|photo| crate::sha256_hex(&photo.bytes))
            .collect();
        let ours: Vec<&str> = ours.photos.iter().map(|photo| photo.sha256.as_str()).collect();
        Ok(ours == theirs.originals || ours == copies)
    }

    /// Writes a visit into an empty history, with the board as it is here when it is here.
    async fn lay_out(&self, other: &History, visit: &ForeignVisit, now: Time) -> Result<(), Error> {
        let board_id = visit.board.id.as_str();
        let mut into = other.database.write().await?;
        self.lay_out_board(&mut into, &visit.board, now).await?;
        into.query("INSERT INTO visits (id, board_id, day, opened_at) VALUES ($1, $2, $3, $4)")
            .bind(visit.visit.id.as_str())
            .bind(board_id)
            .bind(visit.visit.day.as_str())
            .bind(stamp(now))
            .run()
            .await?;
        for check in &visit.checks {
            let sums = other.store_foreign(check).await?;
            // A check keeps the version that measured it.
            let as_it_was = History {
                program: check.program.clone(),
                ..other.clone()
            };
            as_it_was
                .insert_check(&mut into, &check.id, &visit.visit.id, &check.check, check.at)
                .await?;
            other
                .insert_photos(&mut into, &check.id, &check.check.photos, &sums, check.at)
                .await?;
            if let Some(advice) = &check.advice {
                insert_advice(&mut into, &check.id, None, advice, check.at).await?;
            }
            if !check.check.work_done.is_empty() {
                insert_work(&mut into, &check.id, &check.check.work_done, check.at).await?;
            }
        }
        if self.seal_has_a_place(board_id, &visit.seal).await? {
            insert_seal(&mut into, board_id, &visit.seal).await?;
        }
        into.commit().await?;
        for done in &visit.service {
            other.add_service_done(board_id, done, now).await?;
        }
        if visit.visit.notes != VisitNotes::default() {
            other
                .set_visit_notes(&visit.visit.id, &visit.visit.notes, now)
                .await?;
        }
        Ok(())
    }

    /// Stores a check's photos under the names of those that the camera wrote; gives these names.
    async fn store_foreign(&self, check: &ForeignCheck) -> Result<Vec<String>, Error> {
        let store = self.photos.clone();
        let all: Vec<_> = check
            .check
            .photos
            .iter()
            .map(|photo| photo.bytes.clone())
            .collect();
        let originals = check.originals.clone();
        aside(move || {
            let mut names = Vec::with_capacity(all.len());
            for (place, bytes) in all.iter().enumerate() {
                let original = originals.get(place).filter(|sum| **sum != sha256_hex(bytes));
                names.push(match original {
                    Some(original) => {
                        store.put_copy(original, bytes)?;
                        original.clone()
                    }
                    None => store.put(bytes)?,
                });
            }
            Ok(names)
        })
        .await
    }

    async fn lay_out_board(&self, into: &mut Session, board: &Board, now: Time) -> Result<(), Error> {
        let mut here = self.database.read().await?;
        let id = Cell::Text(Some(board.id.clone()));
        let boards = table("boards")?;
        let Some(row) = boards.row(&mut here, std::slice::from_ref(&id)).await? else {
            insert_board(into, board, now).await?;
            write_drive(into, board).await?;
            return write_corners(into, board).await;
        };
        boards.insert(into, &row).await?;
        let corner = |corner: Corner| vec![id.clone(), Cell::Text(Some(corner.name().into()))];
        let parts = [
            ("drives", vec![id.clone()]),
            ("corners", corner(Corner::Left)),
            ("corners", corner(Corner::Right)),
        ];
        for (name, key) in parts {
            let part = table(name)?;
            if let Some(row) = part.row(&mut here, &key).await? {
                part.insert(into, &row).await?;
            }
        }
        Ok(())
    }

    /// Whether a seal is the next of the chain here, or contradicts one that is in it.
    async fn seal_has_a_place(&self, board_id: &str, seal: &Seal) -> Result<bool, Error> {
        let here = self.seals(board_id).await?;
        if let Some(ours) = here.iter().find(|ours| ours.number == seal.number) {
            return Ok(ours.seal != seal.seal);
        }
        let last = here.last();
        let next = last.map_or(1, |last| last.number + 1);
        Ok(seal.number == next && seal.previous.as_ref() == last.map(|last| &last.seal))
    }
}
