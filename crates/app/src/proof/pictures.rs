//! Pictures for the record: re-encoded, without metadata, one of them close to the edges.

use crate::bridge::Failure;
use image::RgbImage;
use shimwright_photo::{Limits, decode_rgb, encode_jpeg, picture_part};
use shimwright_record::{Drawn, PhotoUse};
use shimwright_report::RecordPhoto;

const QUALITY: u8 = 82;
/// Longest side of a picture that is shown small, px: 300 dots an inch on paper.
const SMALL_PX: u32 = 700;
/// Longest side of the one that is shown large, px.
const LARGE_PX: u32 = 1_200;
/// Width to height of the close picture.
const CLOSE_RATIO: f64 = 4.0 / 3.0;
/// White around the edges in the close picture, as a share of their extent.
const CLOSE_MARGIN: f64 = 0.18;
/// Narrowest close picture, px: closer shows grain and not more.
const CLOSE_LEAST_PX: f64 = 500.0;

/// A photo of a check, what was found in it, and how it is told.
pub(crate) struct Shown<'a> {
    pub bytes: &'a [u8],
    pub used: &'a PhotoUse,
    /// Words at the gap.
    pub number: &'a str,
    /// Corner and check.
    pub check: &'a str,
}

/// The pictures of a check: one close to the edges, then all of them whole.
///
/// # Errors
/// Bad input when a photo cannot be decoded.
pub(crate) fn record_photos(photos: &[Shown]) -> Result<Vec<RecordPhoto>, Failure> {
    let best = (0..photos.len())
        .rev()
        .max_by_key(|place| edge_points(photos[*place].used));
    let mut pictures = Vec::with_capacity(photos.len() + 1);
    let mut close = None;
    for (place, photo) in photos.iter().enumerate() {
        let picture = decode_rgb(photo.bytes, &Limits::default())
            .map_err(|error| Failure::of_photo(&photo.used.file, &error))?;
        if Some(place) == best
            && let Some(window) = close_window(photo.used, &picture)
        {
            close = Some(picture_of(
                photo,
                &picture,
                window,
                LARGE_PX,
                "close to the edges",
            )?);
        }
        let whole = [0.0, 0.0, f64::from(picture.width()), f64::from(picture.height())];
        pictures.push(picture_of(photo, &picture, whole, SMALL_PX, "whole")?);
    }
    Ok(close.into_iter().chain(pictures).collect())
}

fn edge_points(used: &PhotoUse) -> usize {
    edges(used).map(|drawn| drawn.points.len()).sum()
}

fn edges(used: &PhotoUse) -> impl Iterator<Item = &Drawn> {
    used.drawn
        .iter()
        .filter(|drawn| matches!(drawn.what.as_str(), "mount_edge" | "rim_edge" | "gap"))
}

/// The part around the edges, in the picture; `None` when no edge was found.
fn close_window(used: &PhotoUse, picture: &RgbImage) -> Option<[f64; 4]> {
    let points = edges(used)
        .flat_map(|drawn| drawn.points.iter())
        .filter(|[x, y]| x.is_finite() && y.is_finite());
    let start = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    let extent = points.fold(start, |e, [x, y]| {
        [e[0].min(*x), e[1].min(*y), e[2].max(*x), e[3].max(*y)]
    });
    if extent[0] > extent[2] {
        return None;
    }
    let (full_width, full_height) = (f64::from(picture.width()), f64::from(picture.height()));
    let wide = (extent[2] - extent[0]) * (1.0 + 2.0 * CLOSE_MARGIN);
    let high = (extent[3] - extent[1]) * (1.0 + 2.0 * CLOSE_MARGIN);
    let width = wide
        .max(high * CLOSE_RATIO)
        .max(CLOSE_LEAST_PX)
        .min(full_width)
        .min(full_height * CLOSE_RATIO)
        .floor();
    let height = (width / CLOSE_RATIO).floor();
    let left = ((extent[0] + extent[2] - width) / 2.0)
        .clamp(0.0, full_width - width)
        .floor();
    let top = ((extent[1] + extent[3] - height) / 2.0)
        .clamp(0.0, full_height - height)
        .floor();
    Some([left, top, left + width, top + height])
}

fn picture_of(
    shown: &Shown,
    picture: &RgbImage,
    window: [f64; 4],
    longest_px: u32,
    how: &str,
) -> Result<RecordPhoto, Failure> {
    // Windows have whole numbers and lie in the picture.
    let part = picture_part(picture, window.map(|side| side as u32), longest_px);
    let used = shown.used;
    let jpeg = encode_jpeg(&part, QUALITY).map_err(|error| Failure::of_photo(&used.file, &error))?;
    let mut caption = format!(
        "{}, {how}: {} corners, residual {:.2} px",
        used.file, used.corners, used.rms_px
    );
    if !used.used {
        caption += ", not used";
    }
    if let Some(note) = &used.note {
        caption += &format!(" ({note})");
    }
    let found: Vec<&str> = [
        ("mount_edge", "the mount's edge"),
        ("rim_edge", "the rim's edge"),
        ("gap", "the gap"),
    ]
    .into_iter()
    .filter(|(what, _)| used.drawn.iter().any(|drawn| drawn.what == *what))
    .map(|(_, words)| words)
    .collect();
    let told = match found[..] {
        [] => format!("{}, photo {} {how}, nothing drawn", shown.check, used.file),
        _ => format!(
            "{}, photo {} {how}, with {} drawn as found: {}",
            shown.check,
            used.file,
            found.join(", "),
            shown.number
        ),
    };
    Ok(RecordPhoto {
        jpeg,
        window,
        drawn: used.drawn.clone(),
        gap: shown.number.to_owned(),
        caption,
        told,
    })
}
