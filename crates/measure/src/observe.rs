//! From the bytes of a photo to the targets seen in it.

use crate::{Error, JobInput, PhotoInput, Watch};
use shimwright_detect::{FoundTarget, MOST_TAGS, Tag, TagParams, TargetParams, find_tags, find_target};
use shimwright_geom::GreyPicture;
use shimwright_photo::{Limits, Photo, PhotoFacts, decode, read_facts};
use shimwright_say::say;
use shimwright_target::TargetSet;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// What was found in one photo.
#[derive(Clone, Debug)]
pub struct FoundInPhoto {
    /// What is known about the photo.
    pub facts: PhotoFacts,
    /// Every known target in view.
    pub targets: Vec<FoundTarget>,
}

/// A photo as the jobs see it.
pub(crate) struct Observed {
    pub name: String,
    pub picture: GreyPicture,
    pub found: FoundInPhoto,
}

/// Decodes a photo and finds every known target in it.
///
/// # Errors
/// Bad input when the photo cannot be decoded.
pub fn look_at(photo: &PhotoInput, targets: &TargetSet) -> Result<FoundInPhoto, Error> {
    Ok(observe(photo, targets)?.found)
}

/// Decodes a photo and looks for nothing in it yet.
///
/// # Errors
/// Bad input when the photo cannot be decoded.
pub fn open(photo: &PhotoInput) -> Result<Photo, Error> {
    decode(photo.bytes, &Limits::default()).map_err(|error| Error::from_photo(photo.name, &error))
}

/// Every known target in an opened photo, corner by corner; none where more than [`MOST_TAGS`] tags are in view.
pub fn find_in(picture: &GreyPicture, targets: &TargetSet) -> Vec<FoundTarget> {
    let tags = find_tags(picture, &TagParams::default());
    if tags.len() > MOST_TAGS {
        return Vec::new();
    }
    targets_among(picture, &tags, targets)
}

fn targets_among(picture: &GreyPicture, tags: &[Tag], targets: &TargetSet) -> Vec<FoundTarget> {
    targets
        .iter()
        .filter_map(|target| find_target(picture, tags, target, &TargetParams::default()))
        .collect()
}

fn observe(photo: &PhotoInput, targets: &TargetSet) -> Result<Observed, Error> {
    let opened = open(photo)?;
    let tags = find_tags(&opened.grey, &TagParams::default());
    if tags.len() > MOST_TAGS {
        return Err(Error::bad(
            Some(photo.name),
            say!(
                "{} shows {} tags and the limit is {MOST_TAGS}",
                photo.name,
                tags.len()
            ),
            say!("photograph the targets of the job alone"),
        ));
    }
    let targets = targets_among(&opened.grey, &tags, targets);
    Ok(Observed {
        name: photo.name.to_owned(),
        picture: opened.grey,
        found: FoundInPhoto {
            facts: opened.facts,
            targets,
        },
    })
}

/// Most pixels of all photos of a job together: they stay in memory, a byte each, until it is done.
const MOST_PIXELS: u64 = 500_000_000;

/// Refuses photos that are too much together. What is wrong with one of them is told when it is decoded.
fn check_pixels(photos: &[PhotoInput]) -> Result<(), Error> {
    let of_photo = |photo: &PhotoInput| {
        let facts = read_facts(photo.bytes, &Limits::default()).ok();
        facts.map_or(0, |facts| u64::from(facts.width) * u64::from(facts.height))
    };
    let pixels: u64 = photos.iter().map(of_photo).sum();
    if pixels <= MOST_PIXELS {
        return Ok(());
    }
    Err(Error::bad(
        Some("photos"),
        say!(
            "the job's {} photos have {} megapixels together and the limit is {}",
            photos.len(),
            pixels.div_ceil(1_000_000),
            MOST_PIXELS / 1_000_000
        ),
        say!("leave the poorer ones out, or set the camera to fewer megapixels"),
    ))
}

/// Looks at all photos of a job, on as many threads as there are cores. The order is the job's.
pub(crate) fn observe_all(input: &JobInput, watch: &dyn Watch) -> Result<Vec<Observed>, Error> {
    check_pixels(input.photos)?;
    let count = input.photos.len();
    let next = AtomicUsize::new(0);
    let done = AtomicUsize::new(0);
    let slots: Vec<Mutex<Option<Result<Observed, Error>>>> = (0..count).map(|_| Mutex::new(None)).collect();
    let threads = std::thread::available_parallelism()
        .map_or(1, |n| n.get())
        .min(count.max(1));
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    if i >= count || watch.cancelled() {
                        return;
                    }
                    let seen = observe(&input.photos[i], input.targets);
                    if let Ok(mut slot) = slots[i].lock() {
                        *slot = Some(seen);
                    }
                    let done = done.fetch_add(1, Ordering::Relaxed) + 1;
                    watch.step(say!("finding the targets"), 0.6 * done as f64 / count as f64);
                }
            });
        }
    });
    slots
        .into_iter()
        .map(|slot| {
            slot.into_inner()
                .ok()
                .flatten()
                .unwrap_or_else(|| Err(Error::cancelled()))
        })
        .collect()
}
