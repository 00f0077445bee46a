//! The two embedded typefaces, and how wide a line set in them is.

use crate::Error;
use krilla::text::Font;
use rustybuzz::{Face, UnicodeBuffer};

static REGULAR: &[u8] = include_bytes!("../fonts/Inter-Regular.ttf");
static SEMI_BOLD: &[u8] = include_bytes!("../fonts/Inter-SemiBold.ttf");

/// Millimetres in a typographic point.
pub(crate) const MM_PER_PT: f64 = 25.4 / 72.0;

/// Height of a capital letter as a share of the font size (OS/2 table of both typefaces: 1490 of 2048).
pub(crate) const CAP_HEIGHT: f64 = 1490.0 / 2048.0;

/// How near to the column's width a sum of words must be to be measured as a line, as a share of that width.
const NEAR_SHARE: f64 = 0.02;

/// Height of a capital letter, mm, at a font size in points.
pub(crate) fn cap_mm(size_pt: f64) -> f64 {
    CAP_HEIGHT * size_pt * MM_PER_PT
}

/// Height of the tallest letters of our words (f, l and the like reach 0.757 of the font size), mm.
pub(crate) fn ascent_mm(size_pt: f64) -> f64 {
    0.76 * size_pt * MM_PER_PT
}

/// A typeface ready to draw and to measure with.
pub(crate) struct Typeface {
    pub font: Font,
    face: Face<'static>,
}

impl Typeface {
    fn read(data: &'static [u8]) -> Result<Self, Error> {
        let broken = || Error::Pdf {
            message: "an embedded font does not read".to_owned(),
        };
        let font = Font::new(data.into(), 0).ok_or_else(broken)?;
        Ok(Self {
            font,
            face: Face::from_slice(data, 0).ok_or_else(broken)?,
        })
    }

    /// Width of a line, mm, at a font size in points.
    pub fn width_mm(&self, text: &str, size_pt: f64) -> f64 {
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        let shaped = rustybuzz::shape(&self.face, &[], buffer);
        let units: i32 = shaped.glyph_positions().iter().map(|p| p.x_advance).sum();
        f64::from(units) / f64::from(self.face.units_per_em()) * size_pt * MM_PER_PT
    }

    /// Breaks a text into lines no wider than `width_mm`. Only plain spaces break; a word that is too wide by
    /// itself stands alone.
    pub fn lines(&self, text: &str, size_pt: f64, width_mm: f64) -> Vec<String> {
        let mut lines = Vec::new();
        let (mut line, mut line_mm) = (String::new(), 0.0);
        let space_mm = self.width_mm(" ", size_pt);
        for word in text.split(' ').filter(|w| !w.is_empty()) {
            let word_mm = self.width_mm(word, size_pt);
            if line.is_empty() {
                (line, line_mm) = (word.to_owned(), word_mm);
                continue;
            }
            let longer = format!("{line} {word}");
            let mut longer_mm = line_mm + space_mm + word_mm;
            // The sum knows no kerning around spaces: where that could matter, the line is measured whole.
            if (longer_mm - width_mm).abs() < NEAR_SHARE * width_mm {
                longer_mm = self.width_mm(&longer, size_pt);
            }
            if longer_mm > width_mm {
                lines.push(std::mem::replace(&mut line, word.to_owned()));
                line_mm = word_mm;
            } else {
                (line, line_mm) = (longer, longer_mm);
            }
        }
        lines.extend(Some(line).filter(|l| !l.is_empty()));
        lines
    }

    /// The text with every letter that the typeface lacks replaced by a question mark.
    pub fn printable(&self, text: &str) -> String {
        text.chars()
            .map(|c| {
                if self.face.glyph_index(c).is_some() {
                    c
                } else {
                    '?'
                }
            })
            .collect()
    }
}

/// Both typefaces.
pub(crate) struct Typefaces {
    pub regular: Typeface,
    pub semi_bold: Typeface,
}

impl Typefaces {
    pub fn read() -> Result<Self, Error> {
        Ok(Self {
            regular: Typeface::read(REGULAR)?,
            semi_bold: Typeface::read(SEMI_BOLD)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_keep_their_width_and_all_words() {
        let face = Typefaces::read().unwrap().regular;
        let text = "Both bars, with callipers, from the middle of one end line to the middle of the other.";
        let lines = face.lines(text, 8.0, 40.0);
        assert!(lines.len() > 2);
        assert!(lines.iter().all(|l| face.width_mm(l, 8.0) <= 40.0));
        assert_eq!(lines.join(" "), text);
        assert_eq!(face.lines("unbreakable", 8.0, 1.0), ["unbreakable"]);
    }

    #[test]
    fn the_cap_height_is_the_fonts_own() {
        for face in [
            Typefaces::read().unwrap().regular,
            Typefaces::read().unwrap().semi_bold,
        ] {
            let cap = f64::from(face.face.capital_height().unwrap());
            assert!((cap / f64::from(face.face.units_per_em()) - CAP_HEIGHT).abs() < 1e-3);
        }
    }

    #[test]
    fn letters_that_the_font_lacks_do_not_vanish() {
        let face = Typefaces::read().unwrap().regular;
        assert_eq!(face.printable("64 × 24 mm, 軸"), "64 × 24 mm, ?");
    }
}
