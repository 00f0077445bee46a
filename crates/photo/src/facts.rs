//! What a photo's EXIF data says about camera, lens and time.

use crate::{Format, Orientation};
use exif::{Exif, In, Reader, Tag, Value};
use serde::{Deserialize, Serialize};
use std::io::Cursor;

/// What is known of a photo without looking at its pixels.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PhotoFacts {
    /// Maker of the camera.
    pub make: Option<String>,
    /// Camera model.
    pub model: Option<String>,
    /// Lens model.
    pub lens: Option<String>,
    /// Focal length, mm.
    pub focal_mm: Option<f64>,
    /// Focal length that gives the same picture diagonal on 35 mm film (36 x 24 mm), mm.
    pub focal_35mm: Option<f64>,
    /// Width of the upright picture, px.
    pub width: u32,
    /// Height of the upright picture, px.
    pub height: u32,
    /// Width as stored, px.
    pub stored_width: u32,
    /// Height as stored, px.
    pub stored_height: u32,
    /// EXIF orientation of the stored picture, 1 to 8; 1 when the photo does not say.
    pub orientation: u8,
    /// When it was taken, as the camera's clock said: `2023-07-09T20:36:33`, with its offset from UTC when the
    /// camera recorded one.
    pub taken: Option<String>,
    /// Whether the file holds the place where it was taken.
    pub has_gps: bool,
    /// Kind of file.
    pub format: Format,
}

impl PhotoFacts {
    /// Make and model in one line, without the make twice; empty when neither is known.
    pub fn camera_name(&self) -> String {
        match (&self.make, &self.model) {
            (Some(make), Some(model)) if model.to_lowercase().starts_with(&make.to_lowercase()) => {
                model.clone()
            }
            (Some(make), Some(model)) => format!("{make} {model}"),
            (Some(name), None) | (None, Some(name)) => name.clone(),
            (None, None) => String::new(),
        }
    }
}

/// The EXIF fields that matter here.
#[derive(Clone, Debug, Default)]
pub(crate) struct Tags {
    make: Option<String>,
    model: Option<String>,
    lens: Option<String>,
    focal_mm: Option<f64>,
    focal_35mm: Option<f64>,
    pub(crate) orientation: Orientation,
    taken: Option<String>,
    has_gps: bool,
}

impl Tags {
    /// Reads what can be read; broken EXIF data counts as absent, because the picture may still be good.
    ///
    /// `jpeg_block` is the TIFF structure inside a JPEG's Exif segment, when the file is a JPEG and has one.
    pub(crate) fn read(bytes: &[u8], jpeg_block: Option<Option<&[u8]>>) -> Self {
        let mut reader = Reader::new();
        reader.continue_on_error(true);
        let exif = match jpeg_block {
            Some(Some(block)) => reader.read_raw(block.to_vec()),
            Some(None) => return Self::default(),
            None => reader.read_from_container(&mut Cursor::new(bytes)),
        };
        exif.or_else(|error| error.distill_partial_result(|_| {}))
            .map(|exif| Self::from_exif(&exif))
            .unwrap_or_default()
    }

    fn from_exif(exif: &Exif) -> Self {
        Self {
            make: text(exif, Tag::Make),
            model: text(exif, Tag::Model),
            lens: text(exif, Tag::LensModel),
            focal_mm: number(exif, Tag::FocalLength),
            focal_35mm: number(exif, Tag::FocalLengthIn35mmFilm),
            orientation: number(exif, Tag::Orientation)
                .and_then(|n| Orientation::from_exif(n as u32))
                .unwrap_or_default(),
            taken: taken(exif),
            has_gps: exif.get_field(Tag::GPSLatitude, In::PRIMARY).is_some()
                || exif.get_field(Tag::GPSLongitude, In::PRIMARY).is_some(),
        }
    }

    /// Joins the tags with the stored size.
    pub(crate) fn into_facts(self, format: Format, stored_width: u32, stored_height: u32) -> PhotoFacts {
        let (width, height) = if self.orientation.swaps_sides() {
            (stored_height, stored_width)
        } else {
            (stored_width, stored_height)
        };
        PhotoFacts {
            make: self.make,
            model: self.model,
            lens: self.lens,
            focal_mm: self.focal_mm,
            focal_35mm: self.focal_35mm,
            width,
            height,
            stored_width,
            stored_height,
            orientation: self.orientation.exif(),
            taken: self.taken,
            has_gps: self.has_gps,
            format,
        }
    }
}

/// A text field without padding and control characters; `None` when nothing is left.
fn text(exif: &Exif, tag: Tag) -> Option<String> {
    const MOST_CHARACTERS: usize = 80;
    let Value::Ascii(parts) = &exif.get_field(tag, In::PRIMARY)?.value else {
        return None;
    };
    let whole = String::from_utf8_lossy(parts.first()?).into_owned();
    let clean: String = whole
        .chars()
        .filter(|c| !c.is_control())
        .take(MOST_CHARACTERS)
        .collect();
    let clean = clean.trim();
    (!clean.is_empty()).then(|| clean.to_owned())
}

/// A positive number; EXIF writes 0 for "unknown".
fn number(exif: &Exif, tag: Tag) -> Option<f64> {
    let value = match &exif.get_field(tag, In::PRIMARY)?.value {
        Value::Rational(values) => values.first()?.to_f64(),
        Value::Short(values) => f64::from(*values.first()?),
        Value::Long(values) => f64::from(*values.first()?),
        _ => return None,
    };
    (value.is_finite() && value > 0.0).then_some(value)
}

/// Time of the shot; the file's own time when the camera gave no other.
fn taken(exif: &Exif) -> Option<String> {
    let ascii = |tag| match &exif.get_field(tag, In::PRIMARY)?.value {
        Value::Ascii(parts) => parts.first().cloned(),
        _ => None,
    };
    let (clock, offset) = match ascii(Tag::DateTimeOriginal) {
        Some(clock) => (clock, ascii(Tag::OffsetTimeOriginal)),
        None => (ascii(Tag::DateTime)?, ascii(Tag::OffsetTime)),
    };
    let mut time = exif::DateTime::from_ascii(&clock).ok()?;
    if let Some(offset) = offset {
        // An offset that cannot be read leaves a time without one.
        let _ = time.parse_offset(&offset);
    }
    let mut text = format!(
        "{:04}-{:02}-{:02}T{:02}:{:02}:{:02}",
        time.year, time.month, time.day, time.hour, time.minute, time.second
    );
    if let Some(minutes) = time.offset {
        let sign = if minutes < 0 { '-' } else { '+' };
        text += &format!("{sign}{:02}:{:02}", minutes.abs() / 60, minutes.abs() % 60);
    }
    Some(text)
}
