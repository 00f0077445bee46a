//! Small pictures of photos, to be looked at in lists. They are made when somebody asks, kept to be quick the next
//! time, and never evidence: they lie apart from the photos and can be thrown away at any time.

use super::{Workshop, heavy};
use crate::bridge::Failure;
use image::imageops::FilterType;
use shimwright_photo::{Limits, decode_rgb, encode_jpeg};
use std::path::Path;
use std::sync::Arc;

const FOLDER: &str = "thumbnails";
/// Sizes that are made, px: others would only fill the folder.
const SIZES: [u32; 2] = [160, 480];
/// JPEG quality; they are only looked at.
const QUALITY: u8 = 80;

impl Workshop {
    /// A small upright JPEG of a photo, its longer side at most about `longest` px (160 or 480).
    ///
    /// # Errors
    /// As [`Workshop::photo`]; bad input for a photo that cannot be decoded.
    pub async fn thumbnail(&self, id: &str, longest: u32) -> Result<Arc<[u8]>, Failure> {
        let size = SIZES
            .into_iter()
            .find(|size| *size >= longest)
            .unwrap_or(SIZES[1]);
        let photo = self.photo(id).await?;
        // The photo was found under this name, so it is a sum and no path.
        let kept = self
            .history
            .folder()
            .join(FOLDER)
            .join(format!("{id}-{size}.jpg"));
        let id = id.to_owned();
        heavy(move || {
            if let Ok(bytes) = std::fs::read(&kept) {
                return Ok(bytes.into());
            }
            let small = made(&id, &photo, size)?;
            // A thumbnail that cannot be kept is made again.
            let _ = keep(&kept, &small);
            Ok(small.into())
        })
        .await
    }
}

fn made(id: &str, photo: &[u8], size: u32) -> Result<Vec<u8>, Failure> {
    let picture = decode_rgb(photo, &Limits::default()).map_err(|error| Failure::of_photo(id, &error))?;
    let scale = f64::from(size) / f64::from(picture.width().max(picture.height()));
    let side = |length: u32| ((f64::from(length) * scale.min(1.0)).round() as u32).max(1);
    let small = image::imageops::resize(
        &picture,
        side(picture.width()),
        side(picture.height()),
        FilterType::Triangle,
    );
    encode_jpeg(&small, QUALITY).map_err(|error| Failure::of_photo(id, &error))
}

/// Under another name first: a half-written one must not be shown.
fn keep(place: &Path, bytes: &[u8]) -> std::io::Result<()> {
    if let Some(folder) = place.parent() {
        std::fs::create_dir_all(folder)?;
    }
    let unfinished = place.with_extension(format!("{}.unfinished", std::process::id()));
    std::fs::write(&unfinished, bytes)?;
    std::fs::rename(&unfinished, place)
}
