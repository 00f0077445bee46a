//! Measuring, and keeping what was measured.

use super::advising::{Advised, place};
use super::{Workshop, heavy, lock};
use crate::bridge::{Failure, HistoryEntry, MeasureRequest, Measured, ProgressNote};
use crate::demo::{DEMO_CAMERA, demo_camera};
use crate::job_file::{LoadedJob, LoadedPhoto, LoadedSound};
use crate::measuring::{Cancel, measure_job, propose_for};
use crate::profiles::use_kept_profile;
use shimwright_camera::CameraProfile;
use shimwright_history::{NewCheck, NewPhoto, SavedCheck, new_id};
use shimwright_record::Phrase;
use shimwright_record::{
    Board, CheckKind, CheckResult, Corner, EarlierTension, Job, JobBelt, Proposal, Stated,
};
use shimwright_say::say;

/// Most results that wait to be saved; the oldest gives way.
const MOST_DRAFTS: usize = 16;

/// A result that was not saved yet.
#[derive(Clone, Debug)]
pub(crate) struct Draft {
    board: Board,
    corner: Corner,
    loaded: LoadedJob,
    result: CheckResult,
    advised: Option<Advised>,
}

impl Workshop {
    /// Measures a check of the app and advises on it. The result waits under its draft id to be saved or dropped.
    /// A measurement that is still running is cancelled first.
    ///
    /// # Errors
    /// Bad input, not measurable, cancelled, or not found for an unknown board or photo.
    pub async fn measure(
        &self,
        request: MeasureRequest,
        progress: impl Fn(ProgressNote) + Send + Sync + 'static,
    ) -> Result<Measured, Failure> {
        let board = self.history.board(&request.board_id).await?;
        let loaded = self.loaded_for(request.job, &board, request.corner).await?;
        let cancel = self.begin();
        let targets = self.targets.clone();
        let (loaded, result) = heavy(move || {
            let result = measure_job(&loaded, &targets, &progress, &cancel)?;
            Ok((loaded, result))
        })
        .await?;
        let (advised, no_advice) = match self.advise_after(&board, request.corner, &result).await {
            Ok(advised) => (Some(advised), None),
            Err(failure) => (None, Some(failure.words())),
        };
        let measured = Measured {
            draft_id: new_id(self.now()),
            result: by_id(&result, &loaded.photos),
            advice: advised.as_ref().map(|(_, advice)| advice.clone()),
            no_advice,
            drive: loaded.job.drive.clone(),
        };
        self.keep_draft(
            &measured.draft_id,
            Draft {
                board,
                corner: request.corner,
                loaded,
                result,
                advised,
            },
        );
        Ok(measured)
    }

    /// Proposes marks for a gap check from its photos and the rim's diameter; nothing is kept of it. Stopped as a
    /// measurement is.
    ///
    /// # Errors
    /// As the engine says, or storage trouble.
    pub async fn propose(
        &self,
        request: MeasureRequest,
        progress: impl Fn(ProgressNote) + Send + Sync + 'static,
    ) -> Result<Proposal, Failure> {
        let board = self.history.board(&request.board_id).await?;
        let loaded = self.loaded_for(request.job, &board, request.corner).await?;
        let cancel = self.begin();
        let targets = self.targets.clone();
        let (loaded, mut proposal) = heavy(move || {
            let proposal = propose_for(&loaded, &targets, &progress, &cancel)?;
            Ok((loaded, proposal))
        })
        .await?;
        for (proposed, photo) in proposal.photos.iter_mut().zip(&loaded.photos) {
            proposed.file.clone_from(&photo.id);
        }
        Ok(proposal)
    }

    /// Stops the running measurement, if there is one.
    pub fn cancel_measure(&self) {
        lock(&self.running).cancel();
    }

    /// Saves a measured check with its photos and advice, all or nothing.
    ///
    /// # Errors
    /// Not found for a draft that was saved or dropped; storage trouble, and then the draft is still there.
    pub async fn save_check(&self, draft_id: &str, work_done: &str) -> Result<HistoryEntry, Failure> {
        let Some(draft) = lock(&self.drafts).get(draft_id).cloned() else {
            return Err(Failure::not_found(
                say!("this result is no longer waiting to be saved"),
                say!("measure again"),
            )
            .about(draft_id));
        };
        let entry = self.keep(draft, work_done).await?;
        lock(&self.drafts).remove(draft_id);
        Ok(entry)
    }

    /// Drops a result that is not to be saved.
    pub fn drop_draft(&self, draft_id: &str) {
        lock(&self.drafts).remove(draft_id);
    }

    /// Writes down what was done about a saved check.
    ///
    /// # Errors
    /// Not found.
    pub async fn set_work_done(&self, check_id: &str, work_done: &str) -> Result<(), Failure> {
        Ok(self
            .history
            .set_work_done(check_id, work_done, self.now())
            .await?)
    }

    /// Saves a job that was measured elsewhere, with advice from it and the other corner.
    ///
    /// # Errors
    /// Not found for an unknown board, or storage trouble; then nothing was saved.
    pub async fn save_measured(
        &self,
        board: &Board,
        corner: Corner,
        loaded: LoadedJob,
        result: CheckResult,
        work_done: &str,
    ) -> Result<HistoryEntry, Failure> {
        let advised = self.advise_after(board, corner, &result).await.ok();
        self.keep(
            Draft {
                board: board.clone(),
                corner,
                loaded,
                result,
                advised,
            },
            work_done,
        )
        .await
    }

    async fn keep(&self, draft: Draft, work_done: &str) -> Result<HistoryEntry, Failure> {
        let mut photos = draft
            .loaded
            .photos
            .iter()
            .map(new_photo)
            .collect::<Result<Vec<NewPhoto>, Failure>>()?;
        // A recording is evidence like a photo, and is kept in the same store, behind the job's photos.
        photos.extend(draft.loaded.sound.as_ref().map(new_sound));
        let check = NewCheck {
            board: draft.board,
            corner: draft.corner,
            job: draft.loaded.job,
            camera: draft.loaded.camera.as_ref().map(CameraProfile::to_json),
            result: draft.result,
            advice: draft.advised,
            work_done: work_done.trim().to_owned(),
            photos,
        };
        let id = self.history.save_check(check, self.now()).await?;
        Ok(entry(self.history.check(&id).await?))
    }

    fn keep_draft(&self, id: &str, draft: Draft) {
        let mut drafts = lock(&self.drafts);
        // Ids are ordered by time, so the smallest is the oldest.
        while drafts.len() >= MOST_DRAFTS
            && let Some(oldest) = drafts.keys().min().cloned()
        {
            drafts.remove(&oldest);
        }
        drafts.insert(id.to_owned(), draft);
    }

    /// Cancels what runs and gives the way to cancel what begins.
    pub(super) fn begin(&self) -> Cancel {
        let mut running = lock(&self.running);
        running.cancel();
        *running = Cancel::default();
        running.clone()
    }

    /// The app's job with all that it needs from memory and history.
    async fn loaded_for(&self, mut job: Job, board: &Board, corner: Corner) -> Result<LoadedJob, Failure> {
        if job.check != CheckKind::Tension {
            let notes = self.fill_in(&mut job, board, corner).await?;
            let mut loaded = self.loaded(job)?;
            loaded.notes.extend(notes);
            return Ok(loaded);
        }
        let id = job.sound.clone().ok_or_else(|| {
            Failure::bad_input(
                say!("the tension check names no recording"),
                say!("record the plucks"),
            )
            .about("sound")
        })?;
        let sound = lock(&self.shelf).sound(&id).cloned().ok_or_else(|| {
            Failure::not_found(
                say!("the recording of this check is no longer in memory"),
                say!("record the plucks again"),
            )
            .about(&id)
        })?;
        job.sound = Some(sound.name.clone());
        if let Some(belt) = &mut job.belt
            && belt.earlier.is_none()
        {
            belt.earlier = self.earlier_tension(belt, board, corner).await?;
        }
        Ok(LoadedJob::of_sound(job, sound))
    }

    /// The newest saved tension of a corner. Its pitch comes along when belt and span are what they were then.
    async fn earlier_tension(
        &self,
        belt: &JobBelt,
        board: &Board,
        corner: Corner,
    ) -> Result<Option<EarlierTension>, Failure> {
        let Some(saved) = self.history.newest(&board.id, corner, CheckKind::Tension).await? else {
            return Ok(None);
        };
        let stated = |name| {
            saved.result.quantity(name).map(|quantity| Stated {
                value: quantity.value,
                u95: quantity.u95,
            })
        };
        let same = saved.job.belt.as_ref().is_some_and(|then| {
            then.span == belt.span
                && then.mass_per_length == belt.mass_per_length
                && then.stiffness == belt.stiffness
        });
        Ok(stated("tension").map(|tension| EarlierTension {
            tension,
            frequency: if same { stated("frequency") } else { None },
        }))
    }

    /// The app's job with its photos from memory and the camera profile it names.
    fn loaded(&self, mut job: Job) -> Result<LoadedJob, Failure> {
        let mut photos: Vec<LoadedPhoto> = Vec::with_capacity(job.photos.len());
        {
            let shelf = lock(&self.shelf);
            for wanted in &mut job.photos {
                let mut photo = shelf.get(&wanted.file).cloned().ok_or_else(|| {
                    Failure::not_found(
                        say!("a photo of this check is no longer in memory"),
                        say!("add the photo again"),
                    )
                    .about(&wanted.file)
                })?;
                photo.name = unused_name(&photo.name, &photos);
                wanted.file = photo.name.clone();
                photos.push(photo);
            }
        }
        let camera = match job.camera.as_deref() {
            None => None,
            Some(DEMO_CAMERA) => Some(demo_camera()?),
            Some(other) => {
                return Err(Failure::bad_input(
                    say!("there is no camera profile called {other}"),
                    say!("measure without a profile"),
                )
                .about("camera"));
            }
        };
        let mut loaded = LoadedJob::new(job, photos, camera)?;
        use_kept_profile(self.history.folder(), &mut loaded)?;
        Ok(loaded)
    }
}

/// The name, or the name with a number behind it when another photo of the job has it: phones count anew in each folder.
pub(super) fn unused_name(name: &str, others: &[LoadedPhoto]) -> String {
    let taken = |name: &str| others.iter().any(|other| other.name == name);
    let mut unused = name.to_owned();
    let mut number = 2;
    while taken(&unused) {
        unused = format!("{name} ({number})");
        number += 1;
    }
    unused
}

/// The result with its photos named by their ids, as the app knows them.
pub(super) fn by_id(result: &CheckResult, photos: &[LoadedPhoto]) -> CheckResult {
    let mut result = result.clone();
    for used in &mut result.photos {
        if let Some(photo) = photos.iter().find(|photo| photo.name == used.file) {
            used.file = photo.id.clone();
        }
    }
    result
}

fn new_sound(sound: &LoadedSound) -> NewPhoto {
    NewPhoto {
        name: sound.name.clone(),
        bytes: sound.bytes.clone(),
        facts: serde_json::json!({"seconds": sound.seconds, "rate_hz": sound.rate_hz}),
    }
}

fn new_photo(photo: &LoadedPhoto) -> Result<NewPhoto, Failure> {
    let facts = serde_json::to_value(&photo.facts)
        .map_err(|error| Failure::internal(Phrase::foreign(error.to_string())))?;
    Ok(NewPhoto {
        name: photo.name.clone(),
        bytes: photo.bytes.clone(),
        facts,
    })
}

/// A saved check as the shells see it.
pub(crate) fn entry(saved: SavedCheck) -> HistoryEntry {
    HistoryEntry {
        id: saved.id,
        at: saved.at,
        corner: saved.corner,
        fitted: saved.board.corners[place(saved.corner)].clone(),
        result: saved.result,
        // What stands behind the job's photos is a recording.
        photo_ids: saved
            .photos
            .into_iter()
            .take(saved.job.photos.len())
            .map(|photo| photo.sha256)
            .collect(),
        job: saved.job,
        advice: saved.advice,
        work_done: saved.work_done,
    }
}
