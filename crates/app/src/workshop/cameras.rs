//! Calibrating a camera from the app, and the profiles that are kept.

use super::checks::{by_id, unused_name};
use super::{Workshop, heavy, lock};
use crate::bridge::{CalibrateRequest, Calibrated, Failure, KeptCamera, ProgressNote};
use crate::calibrate::{calibration_job, camera_profile};
use crate::demo::demo_camera;
use crate::job_file::LoadedPhoto;
use crate::measuring::measure_job;
use crate::profiles::{forget_profile, keep_profile, keep_profile_if_new, kept_profiles};
use shimwright_camera::CameraProfile;
use shimwright_history::new_id;
use shimwright_say::say;

/// Most calibrations that wait to be kept; the oldest gives way.
const MOST_WAITING: usize = 4;

/// A calibration that was not kept yet.
pub(crate) type Calibration = CameraProfile;

impl Workshop {
    /// Calibrates the camera that took photos of the bench sheet. The profile waits under its draft id to be kept or dropped.
    ///
    /// # Errors
    /// Bad input, not measurable, cancelled, or not found for an unknown photo.
    pub async fn calibrate(
        &self,
        request: CalibrateRequest,
        progress: impl Fn(ProgressNote) + Send + Sync + 'static,
    ) -> Result<Calibrated, Failure> {
        let photos = self.calibration_photos(&request.photo_ids)?;
        let mut loaded = calibration_job(photos)?;
        loaded.job.print_scale = request.print_scale;
        let cancel = self.begin();
        let targets = self.targets.clone();
        let (loaded, result) = heavy(move || {
            let result = measure_job(&loaded, &targets, &progress, &cancel)?;
            Ok((loaded, result))
        })
        .await?;
        let profile = camera_profile(&result, &loaded.photos)?;
        let calibrated = Calibrated {
            draft_id: new_id(self.now()),
            result: by_id(&result, &loaded.photos),
            camera: name_of(&profile),
        };
        let mut waiting = lock(&self.calibrations);
        // Ids are ordered by time, so the smallest is the oldest.
        while waiting.len() >= MOST_WAITING
            && let Some(oldest) = waiting.keys().min().cloned()
        {
            waiting.remove(&oldest);
        }
        waiting.insert(calibrated.draft_id.clone(), profile);
        Ok(calibrated)
    }

    /// Keeps a calibrated camera for later checks, in place of an older profile of the same camera and setting.
    ///
    /// # Errors
    /// Not found for a draft that was kept or dropped; bad input when its photos named no camera; storage trouble.
    pub async fn keep_camera(&self, draft_id: &str) -> Result<Vec<KeptCamera>, Failure> {
        let waiting = lock(&self.calibrations).get(draft_id).cloned();
        let profile = waiting.ok_or_else(|| {
            Failure::not_found(
                say!("this calibration is no longer waiting to be kept"),
                say!("calibrate again"),
            )
            .about(draft_id)
        })?;
        let folder = self.history.folder().to_owned();
        heavy(move || keep_profile(&folder, &profile)).await?;
        lock(&self.calibrations).remove(draft_id);
        self.cameras().await
    }

    /// Keeps the profile of the demo's camera like one that was calibrated here, unless there is one of the same camera and
    /// setting.
    ///
    /// # Errors
    /// Storage trouble.
    pub async fn keep_demo_camera(&self) -> Result<(), Failure> {
        let folder = self.history.folder().to_owned();
        heavy(move || keep_profile_if_new(&folder, &demo_camera()?)).await
    }

    /// The camera profiles that are kept.
    ///
    /// # Errors
    /// Bad input when one cannot be read.
    pub async fn cameras(&self) -> Result<Vec<KeptCamera>, Failure> {
        let folder = self.history.folder().to_owned();
        let (profiles, of_demo) = heavy(move || Ok((kept_profiles(&folder)?, demo_camera()?))).await?;
        Ok(profiles
            .into_iter()
            .map(|(id, profile)| KeptCamera {
                id,
                name: name_of(&profile),
                demo: profile == of_demo,
                lens: profile.lens,
                focal_mm: profile.focal_mm,
                width: profile.camera.width,
                height: profile.camera.height,
            })
            .collect())
    }

    /// Takes a kept camera profile away; later checks solve for the camera themselves.
    ///
    /// # Errors
    /// Not found, or storage trouble.
    pub async fn forget_camera(&self, id: &str) -> Result<Vec<KeptCamera>, Failure> {
        let (folder, id) = (self.history.folder().to_owned(), id.to_owned());
        heavy(move || forget_profile(&folder, &id)).await?;
        self.cameras().await
    }

    /// Photos from memory, each under a name of its own.
    fn calibration_photos(&self, ids: &[String]) -> Result<Vec<LoadedPhoto>, Failure> {
        let shelf = lock(&self.shelf);
        let mut photos: Vec<LoadedPhoto> = Vec::with_capacity(ids.len());
        for id in ids {
            let mut photo = shelf.get(id).cloned().ok_or_else(|| {
                Failure::not_found(
                    say!("a photo of this calibration is no longer in memory"),
                    say!("add the photo again"),
                )
                .about(id)
            })?;
            photo.name = unused_name(&photo.name, &photos);
            photos.push(photo);
        }
        Ok(photos)
    }
}

fn name_of(profile: &CameraProfile) -> String {
    format!("{} {}", profile.make, profile.model).trim().to_owned()
}
