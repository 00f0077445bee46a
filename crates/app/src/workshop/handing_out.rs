//! Records, bundles, backups and exports as files in a folder of the user's, and what is taken in from there.

use super::verifying::verify_bytes;
use super::{BundleAsked, Clock, ExportPhotos, RecordAsked, Workshop};
use crate::bridge::{
    BundleRequest, BundleVerified, Failure, FilesTold, Keeping, ProgressNote, RecordRequest, RecordWritten,
    RecordsOfBoard, SealTold, VisitTold,
};
use crate::files_out::{file_name, found, free_path, make_folder, write_new};
use crate::measuring::Cancel;
use crate::told::handed_out::{left_out, merged, replaced, verified};
use crate::told::{photos, photos_gone, size};
use shimwright_history::{ExportForm, History, Home, OnConflict};
use shimwright_say::say;
use std::path::Path;

impl Workshop {
    /// What records of a board are made from.
    ///
    /// # Errors
    /// Not found, or storage trouble.
    pub async fn records_of(&self, board_id: &str) -> Result<RecordsOfBoard, Failure> {
        let board = self.history.board(board_id).await?;
        let mut visits = Vec::new();
        for visit in self.history.visits(board_id).await? {
            visits.push(VisitTold {
                checks: self.history.visit_checks(&visit.id).await?.len(),
                id: visit.id,
                day: visit.day,
                notes: visit.notes,
            });
        }
        Ok(RecordsOfBoard {
            board_name: board.name,
            shop: self.history.shop().await?,
            visits,
            sealed: self.history.seals(board_id).await?.len(),
            public_key: self.shop_key()?,
        })
    }

    /// Writes the record of a visit into a folder.
    ///
    /// # Errors
    /// As [`Workshop::record_pdf`]; bad input when the folder cannot be written.
    pub async fn write_record(
        &self,
        request: &RecordRequest,
        folder: &Path,
    ) -> Result<RecordWritten, Failure> {
        let board = self.history.board(&request.board_id).await?;
        let made = self.record_pdf(&board, &asked(request)).await?;
        let stem = format!("{} {} record", file_name(&board.name), made.day);
        Ok(RecordWritten {
            file: write_new(folder, &stem, "pdf", made.pdf).await?,
            fingerprint: made.fingerprint,
            sealed: None,
        })
    }

    /// Seals a visit and writes its bundle into a folder. The same bundle again is the same file.
    ///
    /// # Errors
    /// As [`Workshop::bundle`]; bad input when the folder cannot be written.
    pub async fn write_bundle(
        &self,
        request: &BundleRequest,
        folder: &Path,
    ) -> Result<RecordWritten, Failure> {
        let board = self.history.board(&request.record.board_id).await?;
        let wanted = BundleAsked {
            record: asked(&request.record),
            sign: request.sign,
            with_place: request.with_place,
        };
        let made = self.bundle(&board, &wanted).await?;
        let stem = format!("{} {} bundle {}", file_name(&board.name), made.day, made.number);
        Ok(RecordWritten {
            file: write_new(folder, &stem, "zip", made.zip).await?,
            fingerprint: made.fingerprint,
            sealed: Some(SealTold {
                number: made.number,
                seal: made.seal,
                public_key: made.public_key,
            }),
        })
    }

    /// Verifies a bundle and measures again from its photos.
    ///
    /// # Errors
    /// Bad input for a file that is no bundle; cancelled.
    pub async fn verify_handed_in(
        &self,
        name: &str,
        bytes: Vec<u8>,
        progress: impl Fn(ProgressNote) + Send + Sync + 'static,
    ) -> Result<BundleVerified, Failure> {
        let cancel = Cancel::default();
        *super::lock(&self.running) = cancel.clone();
        let verification = verify_bytes(name, bytes, self, progress, &cancel).await?;
        Ok(verified(&verification))
    }

    /// How the history is kept; `folder` is where files are written.
    ///
    /// # Errors
    /// Storage trouble.
    pub async fn keeping(&self, folder: &Path) -> Result<Keeping, Failure> {
        let sizes = self.history.photo_sizes().await?;
        let shared = sizes.uses.saturating_sub(sizes.named);
        let mut room = say!("{}, {}", photos(sizes.named), size(sizes.named_bytes));
        if shared > 0 {
            room = say!("{room}; {shared} further uses take no room, because equal photos are stored once");
        }
        let mut copies: Vec<String> = History::daily_copies(self.history.folder())
            .iter()
            .map(|copy| copy.day())
            .collect();
        copies.reverse();
        Ok(Keeping {
            out_folder: folder.display().to_string(),
            photos: room,
            unnamed: (sizes.unnamed > 0)
                .then(|| say!("{}, {}", photos(sizes.unnamed), size(sizes.unnamed_bytes))),
            missing: sizes.missing,
            copies,
            found: found(folder),
            notice: self.notice().cloned(),
        })
    }

    /// Writes a backup into a folder, as [`Workshop::back_up`] does.
    ///
    /// # Errors
    /// Storage trouble.
    pub async fn back_up_into(&self, folder: &Path, with_place: bool) -> Result<FilesTold, Failure> {
        make_folder(folder)?;
        let stem = format!("backup {}", self.now().format("%Y-%m-%d"));
        let backup = self.back_up(&free_path(folder, &stem, "tar"), with_place).await?;
        Ok(FilesTold {
            file: Some(backup.file.display().to_string()),
            lines: vec![say!(
                "{} with {}",
                size(backup.bytes),
                photos_gone(backup.photos, backup.copies)
            )],
            trouble: left_out(&backup.left_out, &backup.kept_back),
        })
    }

    /// Writes an export into a folder of its own in a folder.
    ///
    /// # Errors
    /// Storage trouble.
    pub async fn export_into(
        &self,
        folder: &Path,
        form: ExportForm,
        with: ExportPhotos,
    ) -> Result<FilesTold, Failure> {
        make_folder(folder)?;
        let stem = format!("export {}", self.now().format("%Y-%m-%d"));
        let place = free_path(folder, &stem, "");
        let exported = self.export(&place, form, with).await?;
        let rows: u64 = exported.rows.values().sum();
        let mut lines = vec![say!(
            "{rows} rows in {} files; COLUMNS.md says what the columns mean",
            exported.rows.len()
        )];
        if with != ExportPhotos::None {
            lines.push(photos_gone(exported.photos, exported.copies));
        }
        Ok(FilesTold {
            file: Some(exported.folder.display().to_string()),
            lines,
            trouble: left_out(&exported.left_out, &exported.kept_back),
        })
    }

    /// Takes in a backup, an export, a bundle, or the folder of a history, and tells it.
    ///
    /// # Errors
    /// As [`Workshop::import`].
    pub async fn import_told(&self, from: &Path, keep_both: bool) -> Result<FilesTold, Failure> {
        let on_conflict = if keep_both {
            OnConflict::KeepBoth
        } else {
            OnConflict::Refuse
        };
        Ok(merged(&self.import(from, on_conflict).await?))
    }

    /// Puts a backup in the place of a history that nobody has open, and tells it.
    ///
    /// # Errors
    /// As [`Workshop::restore`].
    pub async fn restore_told(home: &Home, file: &Path, clock: Clock) -> Result<FilesTold, Failure> {
        let restored = Self::restore(home, file, clock).await?;
        let line = say!(
            "the backup of {} with {} is in place",
            restored.made_at,
            photos(restored.photos)
        );
        Ok(replaced(line, restored.kept_aside.as_deref()))
    }

    /// Puts the newest good daily copy in the place of a database that nobody has open, and tells it.
    ///
    /// # Errors
    /// As [`Workshop::restore_newest_copy`].
    pub async fn restore_copy_told(home: &Home, clock: Clock) -> Result<FilesTold, Failure> {
        let restored = Self::restore_newest_copy(home, clock).await?;
        let line = say!(
            "the copy of {} is in place; what was saved after it is missing",
            restored.day
        );
        Ok(replaced(line, restored.kept_aside.as_deref()))
    }

    /// Removes photos that nothing names, and tells it.
    ///
    /// # Errors
    /// As [`Workshop::clean_up_photos`].
    pub async fn clean_up_told(&self) -> Result<FilesTold, Failure> {
        let done = self.clean_up_photos(false).await?;
        Ok(FilesTold {
            file: None,
            lines: vec![say!(
                "{} removed, {} freed",
                photos(done.photos.len() as u64),
                size(done.bytes)
            )],
            trouble: Vec::new(),
        })
    }
}

fn asked(request: &RecordRequest) -> RecordAsked {
    RecordAsked {
        visit: Some(request.visit.clone()),
        paper: request.paper.clone(),
    }
}
