//! PNG, TIFF and WebP.

use crate::{Error, Format, luma};
use image::{DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader};
use std::io::Cursor;

/// Most memory that a decoder may take; a 60 megapixel picture with 16-bit colours and alpha fits.
const MAX_MEMORY: u64 = 640_000_000;

/// Stored size in pixels, read from the head of the file.
pub(crate) fn size(bytes: &[u8], format: Format) -> Result<(u32, u32), Error> {
    let decoder = reader(bytes, format)
        .into_decoder()
        .map_err(|error| explain(bytes, format, error))?;
    Ok(decoder.dimensions())
}

/// Grey bytes with width and height.
pub(crate) fn decode_grey(bytes: &[u8], format: Format) -> Result<(usize, usize, Vec<u8>), Error> {
    let picture = read(bytes, format)?;
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    let grey = match picture {
        DynamicImage::ImageLuma8(grey) => grey.into_raw(),
        DynamicImage::ImageLuma16(_) => picture.into_luma8().into_raw(),
        coloured => luma::from_rgb(&opaque(coloured)),
    };
    Ok((width, height, grey))
}

/// RGB bytes with width and height.
pub(crate) fn decode_rgb(bytes: &[u8], format: Format) -> Result<(usize, usize, Vec<u8>), Error> {
    let picture = read(bytes, format)?;
    Ok((
        picture.width() as usize,
        picture.height() as usize,
        opaque(picture),
    ))
}

fn reader(bytes: &[u8], format: Format) -> ImageReader<Cursor<&[u8]>> {
    let mut reader = ImageReader::with_format(
        Cursor::new(bytes),
        match format {
            Format::Jpeg => ImageFormat::Jpeg,
            Format::Png => ImageFormat::Png,
            Format::Tiff => ImageFormat::Tiff,
            Format::WebP => ImageFormat::WebP,
        },
    );
    let mut limits = image::Limits::default();
    limits.max_alloc = Some(MAX_MEMORY);
    reader.limits(limits);
    reader
}

fn read(bytes: &[u8], format: Format) -> Result<DynamicImage, Error> {
    reader(bytes, format)
        .decode()
        .map_err(|error| explain(bytes, format, error))
}

/// RGB bytes, with transparent parts shown on white paper.
fn opaque(picture: DynamicImage) -> Vec<u8> {
    if !picture.color().has_alpha() {
        return picture.into_rgb8().into_raw();
    }
    picture
        .into_rgba8()
        .pixels()
        .flat_map(|p| {
            let alpha = u32::from(p[3]);
            [p[0], p[1], p[2]].map(|c| ((u32::from(c) * alpha + 255 * (255 - alpha) + 127) / 255) as u8)
        })
        .collect()
}

/// Sorts a decoder's complaint: cut short, of a kind that is not read, or damaged.
fn explain(bytes: &[u8], format: Format, error: ImageError) -> Error {
    let text = error.to_string().to_lowercase();
    let ends_early = matches!(&error, ImageError::IoError(io) if io.kind() == std::io::ErrorKind::UnexpectedEof)
        || [
            "unexpected eof",
            "unexpected end",
            "unexpectedeof",
            "failed to fill whole buffer",
            "eof",
        ]
        .iter()
        .any(|sign| text.contains(sign));
    match error {
        _ if ends_early => Error::Truncated {
            format,
            bytes: bytes.len(),
        },
        ImageError::Unsupported(error) => Error::Unsupported {
            format,
            what: error.to_string(),
        },
        error => Error::damaged(format, error),
    }
}
