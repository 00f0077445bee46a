//! From the bytes of a photo to an upright grey picture and what its EXIF data says.
//!
//! The kind of file is told from its content, never from its name. Size limits are checked before anything is
//! decoded. The EXIF orientation is applied here, once, so that every later pixel coordinate is that of the
//! upright photo. A file that is cut short is refused, never filled up with grey.
//!
//! It opens no file and finds no target.
//!
//! ```
//! use shimwright_photo::{Error, Limits, decode};
//! assert!(matches!(decode(b"", &Limits::default()), Err(Error::Empty)));
//! ```

mod error;
mod facts;
mod jpeg;
mod kind;
mod limits;
mod luma;
mod orientation;
mod raster;
mod shared;

pub use error::Error;
pub use facts::PhotoFacts;
pub use kind::Format;
pub use limits::Limits;
pub use orientation::Orientation;
pub use shared::shared_copy;

use image::RgbImage;
use kind::{Kind, sniff};
use shimwright_geom::GreyPicture;

/// A decoded photo.
#[derive(Clone, Debug, PartialEq)]
pub struct Photo {
    /// The upright grey picture: luma of the encoded values (ITU-R BT.601 weights, as JPEG's own luma channel).
    pub grey: GreyPicture,
    /// What is known about it.
    pub facts: PhotoFacts,
}

/// Decodes a photo to its upright grey picture and its facts.
///
/// # Errors
/// Every [`Error`] is bad input: the file is empty, of another kind, too large, too small, cut short or damaged.
pub fn decode(bytes: &[u8], limits: &Limits) -> Result<Photo, Error> {
    let opened = Opened::new(bytes, limits)?;
    let (width, height, data) = match &opened.layout {
        Some(layout) => guarded(Format::Jpeg, || jpeg::decode_grey(bytes, layout))?,
        None => guarded(opened.format, || raster::decode_grey(bytes, opened.format))?,
    };
    let (width, height, data) = opened.orientation.apply::<1>(width, height, data);
    let grey = GreyPicture::new(width, height, data)
        .ok_or_else(|| Error::damaged(opened.format, "its rows do not fill its size"))?;
    Ok(Photo {
        grey,
        facts: opened.facts(),
    })
}

/// Decodes a photo to upright colours, for pictures that people look at.
///
/// # Errors
/// As [`decode`].
pub fn decode_rgb(bytes: &[u8], limits: &Limits) -> Result<RgbImage, Error> {
    let opened = Opened::new(bytes, limits)?;
    let (width, height, data) = match &opened.layout {
        Some(layout) => guarded(Format::Jpeg, || jpeg::decode_rgb(bytes, layout))?,
        None => guarded(opened.format, || raster::decode_rgb(bytes, opened.format))?,
    };
    let (width, height, data) = opened.orientation.apply::<3>(width, height, data);
    u32::try_from(width)
        .ok()
        .zip(u32::try_from(height).ok())
        .and_then(|(w, h)| RgbImage::from_raw(w, h, data))
        .ok_or_else(|| Error::damaged(opened.format, "its rows do not fill its size"))
}

/// Reads the facts of a photo without decoding its pixels; limits are checked all the same.
///
/// # Errors
/// As [`decode`], but damage inside the pixel data stays unseen.
pub fn read_facts(bytes: &[u8], limits: &Limits) -> Result<PhotoFacts, Error> {
    Ok(Opened::new(bytes, limits)?.facts())
}

/// The part of a picture between `left, top` and `right, bottom` (px), made smaller so that no side is longer than
/// `longest` px; it is never made larger. A part that reaches beyond the picture is cut there.
pub fn picture_part(picture: &RgbImage, [left, top, right, bottom]: [u32; 4], longest: u32) -> RgbImage {
    let (width, height) = (right.saturating_sub(left), bottom.saturating_sub(top));
    let part = image::imageops::crop_imm(picture, left, top, width, height).to_image();
    let scale = f64::from(longest) / f64::from(part.width().max(part.height()).max(1));
    if scale >= 1.0 {
        return part;
    }
    let size = |side: u32| ((f64::from(side) * scale).round() as u32).max(1);
    let (width, height) = (size(part.width()), size(part.height()));
    image::imageops::resize(&part, width, height, image::imageops::FilterType::Triangle)
}

/// Encodes an upright picture as JPEG, quality 1 to 100, without any metadata.
///
/// # Errors
/// [`Error::Damaged`] when the encoder refuses the picture's size.
pub fn encode_jpeg(picture: &RgbImage, quality: u8) -> Result<Vec<u8>, Error> {
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, quality.clamp(1, 100))
        .encode_image(picture)
        .map_err(|error| Error::damaged(Format::Jpeg, error))?;
    Ok(bytes)
}

/// A photo whose head was read and found within the limits.
struct Opened {
    format: Format,
    width: u32,
    height: u32,
    layout: Option<jpeg::Layout>,
    orientation: Orientation,
    tags: facts::Tags,
}

impl Opened {
    fn new(bytes: &[u8], limits: &Limits) -> Result<Self, Error> {
        limits.check_bytes(bytes.len())?;
        let format = match sniff(bytes) {
            Kind::Readable(format) => format,
            Kind::Heic => return Err(Error::Heic),
            Kind::Other(name) => return Err(Error::OtherFormat { name }),
            Kind::Unknown => return Err(Error::NotAPicture),
        };
        let (layout, (width, height)) = if format == Format::Jpeg {
            let layout = jpeg::Layout::read(bytes)?;
            let size = layout.size();
            (Some(layout), size)
        } else {
            (None, guarded(format, || raster::size(bytes, format))?)
        };
        limits.check_size(width, height)?;
        if let Some(layout) = &layout {
            layout.check_complete(bytes.len())?;
        }
        let exif_block = layout.as_ref().map(|layout| layout.exif(bytes));
        let tags = guarded(format, || Ok(facts::Tags::read(bytes, exif_block))).unwrap_or_default();
        Ok(Self {
            format,
            width,
            height,
            layout,
            orientation: tags.orientation,
            tags,
        })
    }

    fn facts(self) -> PhotoFacts {
        self.tags.into_facts(self.format, self.width, self.height)
    }
}

/// Runs a decoder on foreign bytes. The decoders are not ours, and one that panics on a crafted file must cost the
/// user that file and not the program.
fn guarded<T>(format: Format, work: impl FnOnce() -> Result<T, Error>) -> Result<T, Error> {
    std::panic::catch_unwind(std::panic::AssertUnwindSafe(work))
        .unwrap_or_else(|_| Err(Error::damaged(format, "its decoder gave up on it")))
}
