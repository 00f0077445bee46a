//! Copies to hand out: the picture and the facts of the camera, and nothing that tells where the photo was taken.
//!
//! What is kept is listed, and all else is left out: place data hides in GPS fields, but also in XMP texts, in makers'
//! notes and in previews with Exif blocks of their own, behind the picture's end. The picture's coded data are kept bit
//! for bit, so that the copy measures exactly as the original does. The same photo always gives the same copy, so whoever
//! holds the original can show which copy is its own.

mod facts_block;
mod jpeg;
mod png;
mod tiff;
mod webp;

use crate::{Error, Format, Limits, PhotoFacts, read_facts};

/// The copy of a photo without place data.
///
/// # Errors
/// As [`crate::decode`] for a file that cannot be read, and [`Error::NoSharedCopy`] for one from which place data cannot
/// be taken without changing the measurement.
pub fn shared_copy(bytes: &[u8], limits: &Limits) -> Result<Vec<u8>, Error> {
    let facts = read_facts(bytes, limits)?;
    let none = |reason: &'static str| Error::NoSharedCopy {
        format: facts.format,
        reason,
    };
    let copy = match facts.format {
        Format::Jpeg => jpeg::copy(bytes)?,
        Format::Png => png::copy(bytes).ok_or_else(|| none("its chunks are damaged"))?,
        Format::WebP => webp::copy(bytes).ok_or_else(|| none("its chunks are damaged"))?,
        Format::Tiff => tiff::copy(bytes).ok_or_else(|| none("its directories are damaged"))?,
    };
    let expected = PhotoFacts {
        has_gps: false,
        ..facts.clone()
    };
    if read_facts(&copy, limits)? != expected {
        return Err(none(
            "its camera data are damaged, and without them it would measure differently",
        ));
    }
    Ok(copy)
}
