//! Smooth lines, dots and words on a picture.

use ab_glyph::{Font, FontRef, PxScale, ScaleFont, point};
use image::{Rgb, RgbImage};

/// A colour in sRGB.
pub(crate) type Colour = [u8; 3];

/// Inter SemiBold, SIL Open Font License 1.1; see `crates/report/fonts`.
const FONT: &[u8] = include_bytes!("../../../report/fonts/Inter-SemiBold.ttf");

const BLACK: Colour = [0, 0, 0];

/// A picture to draw on. Places are pixels, the centre of the top-left one at (0, 0).
pub(crate) struct Canvas {
    picture: RgbImage,
    font: Option<FontRef<'static>>,
}

impl Canvas {
    pub(crate) fn new(picture: RgbImage) -> Self {
        Self {
            picture,
            font: FontRef::try_from_slice(FONT).ok(),
        }
    }

    pub(crate) fn into_picture(self) -> RgbImage {
        self.picture
    }

    /// The unit of line widths, px: a thousandth of the longer side, so that a mark looks alike on every photo.
    pub(crate) fn unit(&self) -> f64 {
        f64::from(self.picture.width().max(self.picture.height())) / 1000.0
    }

    /// A line through points, with a dark seam so that it shows on light and dark ground.
    pub(crate) fn line(&mut self, points: &[[f64; 2]], width: f64, colour: Colour) {
        for (colour, half) in [(BLACK, width * 0.5 + self.unit() * 0.6), (colour, width * 0.5)] {
            let strength = if colour == BLACK { 0.55 } else { 1.0 };
            for pair in points.windows(2) {
                let [a, b] = [pair[0], pair[1]];
                self.paint(bounds(&[a, b], half), colour, |p| {
                    strength * (half + 0.5 - from_segment(p, a, b))
                });
            }
        }
    }

    /// A filled disc.
    pub(crate) fn dot(&mut self, at: [f64; 2], radius: f64, colour: Colour) {
        let seam = radius + self.unit() * 0.5;
        self.paint(bounds(&[at], seam), BLACK, |p| 0.55 * (seam + 0.5 - from(p, at)));
        self.paint(bounds(&[at], radius), colour, |p| radius + 0.5 - from(p, at));
    }

    /// A circle.
    pub(crate) fn ring(&mut self, at: [f64; 2], radius: f64, width: f64, colour: Colour) {
        self.paint(bounds(&[at], radius + width), colour, |p| {
            width * 0.5 + 0.5 - (from(p, at) - radius).abs()
        });
    }

    /// A filled rectangle, from its top-left corner.
    pub(crate) fn fill(
        &mut self,
        [x, y]: [f64; 2],
        [width, height]: [f64; 2],
        colour: Colour,
        strength: f64,
    ) {
        self.paint([x, y, x + width, y + height], colour, |_| strength);
    }

    /// Words in a dark box beside a place, kept inside the picture.
    pub(crate) fn label(&mut self, [x, y]: [f64; 2], words: &str, colour: Colour) {
        let size = 18.0 * self.unit();
        let pad = 0.3 * size;
        let (width, height) = (self.text_width(words, size) + 2.0 * pad, size + 2.0 * pad);
        let (most_x, most_y) = (
            f64::from(self.picture.width()) - width,
            f64::from(self.picture.height()) - height,
        );
        let place = [(x + pad).min(most_x).max(0.0), (y + pad).min(most_y).max(0.0)];
        self.fill(place, [width, height], BLACK, 0.7);
        self.text([place[0] + pad, place[1] + pad], words, size, colour);
    }

    /// Width of words, px.
    pub(crate) fn text_width(&self, words: &str, size: f64) -> f64 {
        let Some(font) = &self.font else { return 0.0 };
        let scaled = font.as_scaled(PxScale::from(size as f32));
        words
            .chars()
            .map(|c| f64::from(scaled.h_advance(font.glyph_id(c))))
            .sum()
    }

    /// Words whose line begins at the top-left corner given.
    pub(crate) fn text(&mut self, [x, y]: [f64; 2], words: &str, size: f64, colour: Colour) {
        let Some(font) = self.font.clone() else { return };
        let scale = PxScale::from(size as f32);
        let scaled = font.as_scaled(scale);
        let baseline = y as f32 + scaled.ascent();
        let mut pen = x as f32;
        for character in words.chars() {
            let id = font.glyph_id(character);
            if let Some(outline) = font.outline_glyph(id.with_scale_and_position(scale, point(pen, baseline)))
            {
                let corner = outline.px_bounds().min;
                outline.draw(|dx, dy, cover| {
                    self.blend(
                        corner.x as i64 + i64::from(dx),
                        corner.y as i64 + i64::from(dy),
                        colour,
                        cover.into(),
                    );
                });
            }
            pen += scaled.h_advance(id);
        }
    }

    /// Blends a colour over a box, with the strength that `cover` gives at each pixel.
    fn paint(&mut self, [x0, y0, x1, y1]: [f64; 4], colour: Colour, cover: impl Fn([f64; 2]) -> f64) {
        let within = |v: f64, most: u32| v.clamp(0.0, f64::from(most)) as i64;
        let (width, height) = self.picture.dimensions();
        for y in within(y0.floor(), height)..within(y1.ceil() + 1.0, height) {
            for x in within(x0.floor(), width)..within(x1.ceil() + 1.0, width) {
                self.blend(x, y, colour, cover([x as f64, y as f64]));
            }
        }
    }

    fn blend(&mut self, x: i64, y: i64, colour: Colour, strength: f64) {
        let (Ok(x), Ok(y)) = (u32::try_from(x), u32::try_from(y)) else {
            return;
        };
        let Some(Rgb(old)) = self.picture.get_pixel_mut_checked(x, y) else {
            return;
        };
        let strength = strength.clamp(0.0, 1.0);
        for (old, new) in old.iter_mut().zip(colour) {
            *old = (f64::from(*old) * (1.0 - strength) + f64::from(new) * strength).round() as u8;
        }
    }
}

fn from([x, y]: [f64; 2], [u, v]: [f64; 2]) -> f64 {
    (x - u).hypot(y - v)
}

/// Distance of a point from a segment.
fn from_segment(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let length2 = dx * dx + dy * dy;
    let along = if length2 > 0.0 {
        (((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    from(p, [a[0] + along * dx, a[1] + along * dy])
}

/// The box around points, widened.
fn bounds(points: &[[f64; 2]], margin: f64) -> [f64; 4] {
    let margin = margin + 1.0;
    points.iter().fold(
        [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY],
        |b, p| {
            [
                b[0].min(p[0] - margin),
                b[1].min(p[1] - margin),
                b[2].max(p[0] + margin),
                b[3].max(p[1] + margin),
            ]
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_colours_its_pixels_and_leaves_the_others() {
        let mut canvas = Canvas::new(RgbImage::from_pixel(100, 60, Rgb([10, 20, 30])));
        canvas.line(&[[10.0, 30.0], [90.0, 30.0]], 3.0, [255, 0, 0]);
        let picture = canvas.into_picture();
        assert_eq!(picture.get_pixel(50, 30).0, [255, 0, 0]);
        assert_eq!(picture.get_pixel(50, 50).0, [10, 20, 30]);
        assert_eq!(picture.get_pixel(5, 30).0, [10, 20, 30]);
    }

    #[test]
    fn drawing_outside_the_picture_does_no_harm() {
        let mut canvas = Canvas::new(RgbImage::new(20, 20));
        canvas.line(&[[-50.0, -50.0], [70.0, 1e9]], 3.0, [255, 0, 0]);
        canvas.dot([f64::NAN, 3.0], 2.0, [255, 0, 0]);
        canvas.label([1000.0, -1000.0], "gap ± µ", [255, 255, 255]);
    }

    #[test]
    fn the_font_has_the_signs_that_results_use() {
        let font = FontRef::try_from_slice(FONT).unwrap();
        for sign in "0123456789.,:;()±°%-/ abcXYZ".chars() {
            assert_ne!(font.glyph_id(sign).0, 0, "no glyph for {sign:?}");
        }
    }
}
