//! Photos that were handed in, kept in memory until they are saved or forgotten.

use super::looking::views;
use super::{Workshop, heavy, lock};
use crate::bridge::{DemoPhotos, Failure, FoundTarget, PhotoAdded, SoundAdded};
use crate::demo::demo_job;
use crate::job_file::{LoadedPhoto, LoadedSound};
use crate::outline::outline;
use shimwright_live::{View, wheel_angle};
use shimwright_measure::{FoundInPhoto, PhotoInput, look_at};
use shimwright_record::{Corner, Drawn};
use shimwright_target::TargetSet;
use std::collections::HashMap;
use std::sync::Arc;

/// Most photos in memory at once.
const MOST_PHOTOS: usize = 120;
/// Most recordings in memory at once.
const MOST_SOUNDS: usize = 8;
/// Most bytes of photos in memory at once.
const MOST_BYTES: usize = 800_000_000;
/// Blur from which on a photo is called soft, px (standard deviation across an edge).
const SOFT_PX: f64 = 3.0;
/// Corners with which a board can just be used.
const FEW_CORNERS: usize = 6;

/// The photos in memory, by their SHA-256.
#[derive(Default)]
pub(crate) struct Shelf {
    photos: HashMap<String, LoadedPhoto>,
    /// From where each was taken, by the target that is taken to stand still.
    views: HashMap<String, Vec<(String, View)>>,
    /// Recordings, oldest first.
    sounds: Vec<LoadedSound>,
}

impl Shelf {
    pub(crate) fn get(&self, id: &str) -> Option<&LoadedPhoto> {
        self.photos.get(id)
    }

    /// From where a photo was taken, by a target in it.
    pub(super) fn view(&self, id: &str, target: &str) -> Option<&View> {
        let of_photo = self.views.get(id)?;
        of_photo
            .iter()
            .find(|(name, _)| name == target)
            .map(|(_, view)| view)
    }

    pub(crate) fn sound(&self, id: &str) -> Option<&LoadedSound> {
        self.sounds.iter().find(|sound| sound.id == id)
    }

    /// Keeps a recording; the oldest gives way.
    fn add_sound(&mut self, sound: LoadedSound) {
        self.sounds.retain(|other| other.id != sound.id);
        if self.sounds.len() >= MOST_SOUNDS {
            self.sounds.remove(0);
        }
        self.sounds.push(sound);
    }

    fn add(&mut self, photo: LoadedPhoto, views: Vec<(String, View)>) -> Result<(), Failure> {
        let bytes: usize = self.photos.values().map(|photo| photo.bytes.len()).sum();
        if !self.photos.contains_key(&photo.id)
            && (self.photos.len() >= MOST_PHOTOS || bytes + photo.bytes.len() > MOST_BYTES)
        {
            return Err(Failure::bad_input(
                format!(
                    "{} photos of {} MB are waiting to be measured",
                    self.photos.len(),
                    bytes / 1_000_000
                ),
                "save or drop the running check first",
            ));
        }
        self.views.insert(photo.id.clone(), views);
        self.photos.insert(photo.id.clone(), photo);
        Ok(())
    }
}

impl Workshop {
    /// Takes in a photo: decodes it, finds the targets in it, and keeps it in memory.
    ///
    /// # Errors
    /// Bad input when it cannot be read.
    pub async fn add_photo(&self, name: &str, bytes: Vec<u8>) -> Result<PhotoAdded, Failure> {
        let name = name.to_owned();
        let targets = self.targets.clone();
        let (photo, found) = heavy(move || {
            let photo = LoadedPhoto::new(&name, bytes.into())?;
            let found = look_at(
                &PhotoInput {
                    name: &photo.name,
                    bytes: &photo.bytes,
                },
                &targets,
            )?;
            Ok((photo, found))
        })
        .await?;
        let added = added(&photo, &found, &self.targets);
        let views = views(&found.targets, added.width, added.height);
        lock(&self.shelf).add(photo, views)?;
        Ok(added)
    }

    /// Takes in a recording of plucks, a WAV file, and keeps it in memory.
    ///
    /// # Errors
    /// Bad input when it cannot be read.
    pub async fn add_sound(&self, name: &str, bytes: Vec<u8>) -> Result<SoundAdded, Failure> {
        let name = name.to_owned();
        let sound = heavy(move || LoadedSound::new(&name, bytes.into())).await?;
        let added = SoundAdded {
            id: sound.id.clone(),
            name: sound.name.clone(),
            seconds: sound.seconds,
            clipped: sound.clipped,
        };
        lock(&self.shelf).add_sound(sound);
        Ok(added)
    }

    /// Takes in the demo's photos of a corner, and gives its job with the marks prepared.
    ///
    /// # Errors
    /// Bad input when memory is full of photos.
    pub async fn add_demo_photos(&self, corner: Corner) -> Result<DemoPhotos, Failure> {
        let loaded = heavy(move || demo_job(corner)).await?;
        let mut job = loaded.job;
        let mut photos = Vec::with_capacity(loaded.photos.len());
        for (wanted, photo) in job.photos.iter_mut().zip(loaded.photos) {
            wanted.file = photo.id.clone();
            photos.push(self.add_photo(&photo.name, photo.bytes.to_vec()).await?);
        }
        Ok(DemoPhotos { photos, job })
    }

    /// Drops photos from memory; saved ones stay in the history.
    pub fn forget_photos(&self, ids: &[String]) {
        let mut shelf = lock(&self.shelf);
        for id in ids {
            shelf.photos.remove(id);
            shelf.views.remove(id);
        }
    }

    /// The unchanged bytes of a photo, from memory or from the history.
    ///
    /// # Errors
    /// Not found, or storage trouble.
    pub async fn photo(&self, id: &str) -> Result<Arc<[u8]>, Failure> {
        if let Some(photo) = lock(&self.shelf).get(id) {
            return Ok(photo.bytes.clone());
        }
        let (store, id) = (self.history.photos().clone(), id.to_owned());
        heavy(move || Ok(store.get(&id)?.into())).await
    }
}

fn added(photo: &LoadedPhoto, found: &FoundInPhoto, targets: &TargetSet) -> PhotoAdded {
    let mut notes = Vec::new();
    if found.targets.is_empty() {
        notes.push("no printed target was found: check that the whole card is in view and sharp".to_owned());
    }
    let found_targets: Vec<FoundTarget> = found
        .targets
        .iter()
        .map(|target| {
            let points: Vec<[f64; 2]> = target
                .corners
                .iter()
                .map(|corner| [corner.at.x, corner.at.y])
                .collect();
            FoundTarget {
                name: target.name.clone(),
                corners: target.corners.len(),
                of: targets.by_name(&target.name).map_or(0, |t| {
                    if t.saddles().is_empty() {
                        4 * t.tags().len()
                    } else {
                        t.saddles().len()
                    }
                }),
                drawn: vec![
                    Drawn {
                        what: "target".into(),
                        points: outline(&points),
                    },
                    Drawn {
                        what: "corner".into(),
                        points,
                    },
                ],
            }
        })
        .collect();
    for (target, told) in found.targets.iter().zip(&found_targets) {
        if told.corners <= FEW_CORNERS {
            notes.push(format!(
                "only {} corners of the {} were found",
                told.corners, told.name
            ));
        }
        if let Some(blur) = target.blur_px().filter(|blur| *blur > SOFT_PX) {
            notes.push(format!(
                "the photo is soft (blur {blur:.1} px at the {}): hold still and focus on it",
                told.name
            ));
        }
    }
    if photo.facts.focal_35mm.is_none() {
        notes.push(
            "the photo does not say its focal length: the camera's original file makes the answer surer"
                .to_owned(),
        );
    }
    PhotoAdded {
        id: photo.id.clone(),
        name: photo.name.clone(),
        width: photo.facts.width,
        height: photo.facts.height,
        camera: photo.facts.camera_name(),
        found: found_targets,
        notes,
        wheel_angle: wheel_angle(&found.targets).map(f64::to_degrees),
    }
}
