//! Annotated pictures: what was found, drawn over the upright photo, with the result written under it.

mod canvas;
mod caption;

use crate::bridge::Failure;
use crate::job_file::LoadedPhoto;
use crate::told;
use canvas::{Canvas, Colour};
use caption::Caption;
use shimwright_photo::{Limits, decode_rgb, encode_jpeg};
use shimwright_record::{CheckResult, Conformity, Drawn, PhotoUse};

/// JPEG quality of the annotated pictures.
const QUALITY: u8 = 88;

// Colours that stay apart for colour-blind eyes (Okabe and Ito, "Color Universal Design", 2008).
const ORANGE: Colour = [230, 159, 0];
const SKY: Colour = [86, 180, 233];
const VERMILION: Colour = [213, 94, 0];
const YELLOW: Colour = [240, 228, 66];
const WHITE: Colour = [255, 255, 255];

/// An annotated picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MarkedPicture {
    /// A file name made from the photo's.
    pub name: String,
    /// The JPEG file's bytes. It holds no metadata: no place and no serial number.
    pub jpeg: Vec<u8>,
}

/// Draws what was found in each photo. Photos that the result does not name are left out.
///
/// # Errors
/// Bad input when a photo cannot be decoded.
pub fn marked_pictures(result: &CheckResult, photos: &[LoadedPhoto]) -> Result<Vec<MarkedPicture>, Failure> {
    photos
        .iter()
        .filter_map(|photo| Some((photo, result.photos.iter().find(|used| used.file == photo.name)?)))
        .map(|(photo, used)| marked_picture(result, photo, used))
        .collect()
}

fn marked_picture(
    result: &CheckResult,
    photo: &LoadedPhoto,
    used: &PhotoUse,
) -> Result<MarkedPicture, Failure> {
    let picture = decode_rgb(&photo.bytes, &Limits::default())
        .map_err(|error| Failure::of_photo(&photo.name, &error))?;
    let mut canvas = Canvas::new(picture);
    for drawn in &used.drawn {
        draw(&mut canvas, drawn);
    }
    for drawn in &used.drawn {
        label(&mut canvas, drawn);
    }
    let picture = caption_of(result, used).under(canvas.into_picture());
    let jpeg = encode_jpeg(&picture, QUALITY).map_err(|error| Failure::of_photo(&photo.name, &error))?;
    Ok(MarkedPicture {
        name: marked_name(&photo.name),
        jpeg,
    })
}

/// `a/b c.jpg` becomes `b c-marked.jpg`.
fn marked_name(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or(name);
    let stem = last.rsplit_once('.').map_or(last, |(stem, _)| stem);
    format!("{stem}-marked.jpg")
}

fn draw(canvas: &mut Canvas, drawn: &Drawn) {
    let unit = canvas.unit();
    match drawn.what.as_str() {
        "corner" => drawn
            .points
            .iter()
            .for_each(|&at| canvas.ring(at, 3.0 * unit, 0.7 * unit, SKY)),
        "edge_point" => drawn
            .points
            .iter()
            .for_each(|&at| canvas.dot(at, 0.9 * unit, WHITE)),
        "target" => {
            let mut around = drawn.points.clone();
            around.extend(drawn.points.first());
            canvas.line(&around, 0.8 * unit, SKY);
        }
        "mount_edge" | "outer" | "edge_a" => canvas.line(&drawn.points, 1.3 * unit, ORANGE),
        "rim_edge" | "inner" | "edge_b" => canvas.line(&drawn.points, 1.3 * unit, VERMILION),
        "axis" => {
            canvas.line(&drawn.points, 1.3 * unit, YELLOW);
            if let Some(&at) = drawn.points.first() {
                canvas.dot(at, 2.2 * unit, YELLOW);
            }
        }
        "gap" => {
            canvas.line(&drawn.points, 1.6 * unit, YELLOW);
            drawn
                .points
                .iter()
                .for_each(|&at| canvas.dot(at, 2.2 * unit, YELLOW));
        }
        _ => canvas.line(&drawn.points, 0.8 * unit, WHITE),
    }
}

/// Lines say in words what they are: colour alone does not tell them apart for everybody.
fn label(canvas: &mut Canvas, drawn: &Drawn) {
    let (words, colour) = match drawn.what.as_str() {
        "mount_edge" => ("mount edge", ORANGE),
        "rim_edge" => ("rim edge", VERMILION),
        "outer" => ("outer rim", ORANGE),
        "inner" => ("bore", VERMILION),
        "edge_a" => ("edge a", ORANGE),
        "edge_b" => ("edge b", VERMILION),
        "gap" => ("gap", YELLOW),
        "axis" => ("axis", YELLOW),
        _ => return,
    };
    if let Some(&end) = drawn.points.last() {
        canvas.label(end, words, colour);
    }
}

fn caption_of(result: &CheckResult, used: &PhotoUse) -> Caption {
    let headline = result.main_value().map_or_else(
        || format!("{} check", result.check.name()),
        |(name, quantity)| format!("{} {}", told::value_name(name), told::quantity(quantity)),
    );
    let state = match result.verdict.state {
        Conformity::Within => "WITHIN",
        Conformity::Outside => "OUTSIDE",
        Conformity::Undecided => "UNDECIDED",
    };
    let mut about = format!(
        "{}: {} corners, residual {:.2} px",
        used.file, used.corners, used.rms_px
    );
    if !used.used {
        about += ", not used";
    }
    if let Some(note) = &used.note {
        about += &format!(" ({note})");
    }
    Caption {
        headline,
        verdict: format!("{state}: {}", result.verdict.text),
        about,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_keep_the_stem_and_drop_the_folders() {
        assert_eq!(marked_name("photos/left 1.JPG"), "left 1-marked.jpg");
        assert_eq!(marked_name("noext"), "noext-marked.jpg");
    }
}
