//! The strip under an annotated picture.

use crate::marked::canvas::{Canvas, Colour};
use image::{Rgb, RgbImage};

const PAPER: Colour = [20, 24, 28];
const INK: Colour = [255, 255, 255];
const FAINT: Colour = [190, 198, 206];

/// The words under an annotated picture.
pub(crate) struct Caption {
    /// The number.
    pub headline: String,
    /// What it means.
    pub verdict: String,
    /// What this photo gave.
    pub about: String,
}

impl Caption {
    /// The picture with a strip of words added below it; no part of the photo is covered.
    pub(crate) fn under(&self, picture: RgbImage) -> RgbImage {
        let (width, height) = picture.dimensions();
        let measure = Canvas::new(RgbImage::new(width, height));
        let unit = measure.unit();
        let margin = 16.0 * unit;
        let room = f64::from(width) - 2.0 * margin;
        let mut lines = Vec::new();
        for (words, size, colour) in [
            (&self.headline, 34.0 * unit, INK),
            (&self.verdict, 20.0 * unit, INK),
            (&self.about, 16.0 * unit, FAINT),
        ] {
            lines.extend(
                wrap(&measure, words, size, room)
                    .into_iter()
                    .map(|line| (line, size, colour)),
            );
        }
        let strip = lines.iter().map(|(_, size, _)| size * 1.35).sum::<f64>() + 2.0 * margin;
        let mut taller = RgbImage::from_pixel(width, height + strip.ceil() as u32, Rgb(PAPER));
        image::imageops::replace(&mut taller, &picture, 0, 0);
        let mut canvas = Canvas::new(taller);
        let mut top = f64::from(height) + margin;
        for (line, size, colour) in lines {
            canvas.text([margin, top], &line, size, colour);
            top += size * 1.35;
        }
        canvas.into_picture()
    }
}

/// Breaks words into lines that fit.
fn wrap(canvas: &Canvas, words: &str, size: f64, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match lines.last_mut() {
            Some(line) if canvas.text_width(&format!("{line} {word}"), size) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_strip_is_added_below_and_the_photo_is_untouched() {
        let photo = RgbImage::from_pixel(800, 600, Rgb([200, 100, 50]));
        let caption = Caption {
            headline: "gap 1.42 ± 0.05 mm".into(),
            verdict: "WITHIN: it clears. ".repeat(30),
            about: "a.jpg".into(),
        };
        let picture = caption.under(photo);
        assert_eq!(picture.width(), 800);
        assert!(picture.height() > 680, "{}", picture.height());
        assert!((0..600).all(|y| picture.get_pixel(400, y).0 == [200, 100, 50]));
        assert!((600..picture.height()).any(|y| (0..800).any(|x| picture.get_pixel(x, y).0 == INK)));
    }
}
