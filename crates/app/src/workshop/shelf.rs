//! Photos that were handed in, kept in memory until they are saved or forgotten.

use super::looking::views;
use super::{Workshop, heavy, lock};
use crate::bridge::{DemoPhotos, Failure, FoundTarget, PhotoAdded, PhotoGlimpse, SoundAdded};
use crate::demo::demo_job;
use crate::job_file::{LoadedPhoto, LoadedSound};
use crate::outline::outline;
use shimwright_detect as detect;
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_live::{View, glimpse, wheel_angle};
use shimwright_measure::{PhotoInput, find_in, open};
use shimwright_record::Phrase;
use shimwright_record::{Corner, Drawn};
use shimwright_say::say;
use shimwright_target::{Target, TargetSet};
use std::collections::HashMap;
use std::sync::Arc;

/// Most photos in memory at once.
const MOST_PHOTOS: usize = 120;
/// Most decoded pictures in memory at once: the page looks at one after the other, and what gave way is decoded again.
const MOST_OPENED: usize = 2;
/// Most recordings in memory at once.
const MOST_SOUNDS: usize = 8;
/// Most bytes of photos in memory at once.
const MOST_BYTES: usize = 800_000_000;
/// What the page names as the maker of photos that it took out of a running camera.
const RUNNING_CAMERA: &str = "live";
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
    /// Pictures of photos that are about to be looked at closely, oldest first.
    opened: Vec<(String, GreyPicture)>,
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

    fn add(&mut self, photo: LoadedPhoto, picture: GreyPicture) -> Result<(), Failure> {
        let bytes: usize = self.photos.values().map(|photo| photo.bytes.len()).sum();
        if !self.photos.contains_key(&photo.id)
            && (self.photos.len() >= MOST_PHOTOS || bytes + photo.bytes.len() > MOST_BYTES)
        {
            return Err(Failure::bad_input(
                say!(
                    "{} photos of {} MB are waiting to be measured",
                    self.photos.len(),
                    bytes / 1_000_000
                ),
                say!("save or drop the running check first"),
            ));
        }
        self.opened.retain(|(id, _)| *id != photo.id);
        if self.opened.len() >= MOST_OPENED {
            self.opened.remove(0);
        }
        self.opened.push((photo.id.clone(), picture));
        self.photos.insert(photo.id.clone(), photo);
        Ok(())
    }

    /// The decoded picture of a photo that nobody looked at closely yet; given away, because that is done once.
    fn take_opened(&mut self, id: &str) -> Option<GreyPicture> {
        let at = self.opened.iter().position(|(other, _)| other == id)?;
        Some(self.opened.remove(at).1)
    }

    /// Notes from where a photo was taken; one that was dropped meanwhile stays dropped.
    fn note_views(&mut self, id: &str, views: Vec<(String, View)>) {
        if self.photos.contains_key(id) {
            self.views.insert(id.to_owned(), views);
        }
    }
}

impl Workshop {
    /// Takes in a photo: decodes it, finds the targets in it, and keeps it in memory.
    ///
    /// # Errors
    /// Bad input when it cannot be read.
    pub async fn add_photo(&self, name: &str, bytes: Vec<u8>) -> Result<PhotoAdded, Failure> {
        let glimpse = self.open_photo(name, bytes).await?;
        self.look_closer(&glimpse.id).await
    }

    /// Takes in a photo: decodes it, keeps it in memory, and tells where the targets lie as far as a reduced picture shows.
    /// [`Workshop::look_closer`] is what follows.
    ///
    /// # Errors
    /// Bad input when it cannot be read.
    pub async fn open_photo(&self, name: &str, bytes: Vec<u8>) -> Result<PhotoGlimpse, Failure> {
        let name = name.to_owned();
        let targets = self.targets.clone();
        let (photo, picture, drawn) = heavy(move || {
            let photo = LoadedPhoto::new(&name, bytes.into())?;
            let picture = opened(&photo)?;
            let drawn = glimpse(&picture, &targets)
                .iter()
                .filter_map(|found| whole_outline(found, &targets, &picture))
                .collect();
            Ok((photo, picture, drawn))
        })
        .await?;
        let glimpse = PhotoGlimpse {
            id: photo.id.clone(),
            name: photo.name.clone(),
            width: photo.facts.width,
            height: photo.facts.height,
            drawn,
        };
        lock(&self.shelf).add(photo, picture)?;
        Ok(glimpse)
    }

    /// Finds the targets in a photo that was opened, corner by corner.
    ///
    /// # Errors
    /// Not found when it is no longer in memory.
    pub async fn look_closer(&self, id: &str) -> Result<PhotoAdded, Failure> {
        let (photo, picture) = {
            let mut shelf = lock(&self.shelf);
            let photo = shelf.get(id).cloned().ok_or_else(|| {
                Failure::not_found(
                    say!("the photo is no longer in memory"),
                    say!("hand it in once more"),
                )
            })?;
            (photo, shelf.take_opened(id))
        };
        let targets = self.targets.clone();
        let (photo, found) = heavy(move || {
            let picture = picture.map_or_else(|| opened(&photo), Ok)?;
            let found = find_in(&picture, &targets);
            Ok((photo, found))
        })
        .await?;
        let added = added(&photo, &found, &self.targets);
        lock(&self.shelf).note_views(id, views(&found, added.width, added.height));
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
            shelf.take_opened(id);
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

/// The grey picture of a photo.
fn opened(photo: &LoadedPhoto) -> Result<GreyPicture, Failure> {
    let input = PhotoInput {
        name: &photo.name,
        bytes: &photo.bytes,
    };
    Ok(open(&input)?.grey)
}

/// The outline of a target's corners, also of those that were not read: as far as they lie in the picture, so that it hardly
/// moves when they are found one by one.
fn whole_outline(found: &detect::FoundTarget, targets: &TargetSet, picture: &GreyPicture) -> Option<Drawn> {
    let target = targets.by_name(&found.name)?;
    let points: Vec<[f64; 2]> = corner_places(target)
        .iter()
        .filter_map(|place| found.seen_at(place))
        .filter(|at| picture.contains(at.x, at.y, 0.0))
        .map(|at| [at.x, at.y])
        .collect();
    Some(Drawn {
        what: "target".into(),
        points: outline(&points),
    })
}

/// Places of all corners that a target is found by, mm.
fn corner_places(target: &Target) -> Vec<Vec2> {
    if target.saddles().is_empty() {
        target.tags().iter().flat_map(|tag| tag.corners).collect()
    } else {
        target.saddles().iter().map(|saddle| saddle.at).collect()
    }
}

/// What to do where a photo does not say its focal length.
fn without_focal_length(photo: &LoadedPhoto) -> Phrase {
    if photo.facts.make.as_deref() == Some(RUNNING_CAMERA) {
        say!(
            "a running camera does not say its focal length: calibrating it once, or photos of the camera's own, make the \
             answer surer"
        )
    } else {
        say!("the photo does not say its focal length: the camera's original file makes the answer surer")
    }
}

fn added(photo: &LoadedPhoto, found: &[detect::FoundTarget], targets: &TargetSet) -> PhotoAdded {
    let mut notes = Vec::new();
    if found.is_empty() {
        notes.push(say!(
            "no printed target was found: check that the whole card is in view and sharp"
        ));
    }
    let found_targets: Vec<FoundTarget> = found
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
                of: targets
                    .by_name(&target.name)
                    .map_or(0, |target| corner_places(target).len()),
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
    for (target, told) in found.iter().zip(&found_targets) {
        if told.corners <= FEW_CORNERS {
            notes.push(say!(
                "only {} corners of the {} were found",
                told.corners,
                told.name
            ));
        }
        if let Some(blur) = target.blur_px().filter(|blur| *blur > SOFT_PX) {
            notes.push(say!(
                "the photo is soft (blur {blur:.1} px at the {}): hold still and focus on it",
                told.name
            ));
        }
    }
    if photo.facts.focal_35mm.is_none() {
        notes.push(without_focal_length(photo));
    }
    PhotoAdded {
        id: photo.id.clone(),
        name: photo.name.clone(),
        width: photo.facts.width,
        height: photo.facts.height,
        camera: photo.facts.camera_name(),
        found: found_targets,
        notes,
        wheel_angle: wheel_angle(found).map(f64::to_degrees),
    }
}
