//! Photos with what was found drawn over them as lines, and words under them.

use super::flow::{Block, Split};
use super::model::RecordPhoto;
use super::text::{Look, group};
use crate::Error;
use crate::canvas::{Canvas, Ink, Place};
use crate::font::Typefaces;
use krilla::image::Image;
use krilla::tagging::{Node, Tag};
use std::rc::Rc;

/// White between a picture and its words, mm.
const CAPTION_MM: f64 = 1.4;
/// White between pictures in a row, mm.
const GUTTER_MM: f64 = 4.0;
/// Pictures in a row.
const IN_A_ROW: usize = 3;

/// A photo of a width.
pub(super) struct Picture {
    image: Image,
    photo: RecordPhoto,
    width_mm: f64,
    caption: Vec<String>,
    /// Whether there is room for words in the picture.
    large: bool,
}

impl Picture {
    pub fn new(faces: &Typefaces, photo: &RecordPhoto, width_mm: f64, large: bool) -> Result<Self, Error> {
        let image = Image::from_jpeg(photo.jpeg.clone().into(), true).map_err(|message| Error::Picture {
            name: photo.caption.clone(),
            message,
        })?;
        Ok(Self {
            image,
            photo: photo.clone(),
            width_mm,
            caption: Look::SMALL.lines(faces, &photo.caption, width_mm),
            large,
        })
    }

    fn picture_height(&self) -> f64 {
        let (width, height) = self.image.size();
        self.width_mm * f64::from(height) / f64::from(width.max(1))
    }

    pub fn height(&self) -> f64 {
        self.picture_height() + CAPTION_MM + self.caption.len() as f64 * Look::SMALL.leading()
    }

    /// Draws picture, lines and caption; a figure with its words.
    pub fn draw(&self, canvas: &mut Canvas, faces: &Typefaces, at: Place) -> Node {
        let size = (self.width_mm, self.picture_height());
        let far = (at.0 + size.0, at.1 + size.1);
        let picture = canvas.content(|canvas| {
            canvas.picture(&self.image, at, size);
            canvas.clipped(at, far, |canvas| self.draw_found(canvas, at, size));
            if self.large {
                self.draw_gap_words(canvas, faces, at, far);
            }
            canvas.outline(&[at, (far.0, at.1), far, (at.0, far.1)], 0.2, Ink::Line);
        });
        let below = (at.0, far.1 + CAPTION_MM);
        let caption = canvas.content(|canvas| Look::SMALL.draw_all(canvas, faces, below, &self.caption));
        let figure = group(Tag::Figure(Some(self.photo.told.clone())), vec![picture]);
        group(Tag::Div, vec![figure, group(Tag::Caption, vec![caption])])
    }

    /// Where a pixel of the photo lies on the page.
    fn place(&self, [x, y]: [f64; 2], at: Place, size: Place) -> Place {
        let [left, top, right, bottom] = self.photo.window;
        (
            at.0 + (x - left) / (right - left) * size.0,
            at.1 + (y - top) / (bottom - top) * size.1,
        )
    }

    fn found(&self, what: &str, at: Place, size: Place) -> impl Iterator<Item = Vec<Place>> {
        let of_kind = self.photo.drawn.iter().filter(move |drawn| drawn.what == what);
        of_kind.map(move |drawn| {
            drawn
                .points
                .iter()
                .map(|point| self.place(*point, at, size))
                .collect()
        })
    }

    /// Edges as coloured lines with white and dark seams; what they are shows in their dashes as well.
    fn draw_found(&self, canvas: &mut Canvas, at: Place, size: Place) {
        let width = if self.large { 0.45 } else { 0.3 };
        for (what, ink, dash) in [
            ("mount_edge", Ink::MountEdge, None),
            ("rim_edge", Ink::RimEdge, Some([2.2, 1.1])),
            ("gap", Ink::Gap, None),
        ] {
            let lines: Vec<Vec<Place>> = self.found(what, at, size).collect();
            for line in &lines {
                canvas.line(line, width + 0.35, Ink::Black, None);
                canvas.line(line, width, Ink::White, None);
                canvas.line(line, width, ink, dash);
                if what == "gap" {
                    for end in line {
                        canvas.disc(*end, width + 0.25, Ink::Black);
                        canvas.disc(*end, width, ink);
                    }
                }
            }
        }
    }

    /// The number beside the gap, on white, kept inside the picture.
    fn draw_gap_words(&self, canvas: &mut Canvas, faces: &Typefaces, at: Place, far: Place) {
        let size = (far.0 - at.0, far.1 - at.1);
        let Some(end) = self
            .found("gap", at, size)
            .next()
            .and_then(|line| line.last().copied())
        else {
            return;
        };
        if self.photo.gap.is_empty() || end.0 < at.0 || end.0 > far.0 || end.1 < at.1 || end.1 > far.1 {
            return;
        }
        let look = Look {
            bold: true,
            size_pt: 8.0,
            ink: Ink::Text,
        };
        let (width, height) = (
            look.face(faces).width_mm(&self.photo.gap, look.size_pt) + 2.4,
            4.6,
        );
        let x = if end.0 + 3.0 + width < far.0 {
            end.0 + 3.0
        } else {
            end.0 - 3.0 - width
        };
        let y = (end.1 + 2.0).min(far.1 - height - 1.0);
        let to = (x + width, y + height);
        canvas.rectangle((x, y), to, Ink::White);
        canvas.outline(&[(x, y), (to.0, y), to, (x, to.1)], 0.2, Ink::Text);
        look.draw(canvas, faces, (x + 1.2, y + 0.95), &self.photo.gap);
    }
}

/// Pictures beside each other.
pub(super) struct PictureRow {
    faces: Rc<Typefaces>,
    pictures: Vec<Picture>,
}

impl PictureRow {
    /// All pictures, in rows.
    pub fn rows(
        faces: &Rc<Typefaces>,
        photos: &[RecordPhoto],
        width_mm: f64,
    ) -> Result<Vec<Box<dyn Block>>, Error> {
        let each = (width_mm - GUTTER_MM * (IN_A_ROW - 1) as f64) / IN_A_ROW as f64;
        let row = |photos: &[RecordPhoto]| {
            let pictures = photos.iter().map(|photo| Picture::new(faces, photo, each, false));
            let pictures = pictures.collect::<Result<_, Error>>()?;
            Ok(Box::new(Self {
                faces: faces.clone(),
                pictures,
            }) as Box<dyn Block>)
        };
        photos.chunks(IN_A_ROW).map(row).collect()
    }
}

impl Block for PictureRow {
    fn height(&self) -> f64 {
        self.pictures.iter().map(Picture::height).fold(0.0, f64::max)
    }

    fn space(&self) -> f64 {
        4.0
    }

    fn split(self: Box<Self>, _room_mm: f64) -> Split {
        Split::Whole(self)
    }

    fn draw(&self, canvas: &mut Canvas, at: Place) -> Vec<Node> {
        let mut x = at.0;
        let mut nodes = Vec::new();
        for picture in &self.pictures {
            nodes.push(picture.draw(canvas, &self.faces, (x, at.1)));
            x += picture.width_mm + GUTTER_MM;
        }
        nodes
    }
}
