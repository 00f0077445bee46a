//! A check at a glance: the photo at the left, number, verdict and scale at the right.

use super::badge::Badge;
use super::flow::{Block, Split};
use super::model::{CheckSheet, Scale};
use super::photo::Picture;
use super::text::{Look, group};
use crate::Error;
use crate::canvas::{Canvas, Ink, Place};
use crate::font::Typefaces;
use krilla::tagging::{Node, Tag};
use std::rc::Rc;

/// The photo's share of the width.
const PHOTO_SHARE: f64 = 0.55;
const GUTTER_MM: f64 = 6.0;

const NUMBER: Look = Look {
    bold: true,
    size_pt: 17.0,
    ink: Ink::Text,
};

/// The panel.
pub(super) struct Panel {
    faces: Rc<Typefaces>,
    picture: Option<Picture>,
    words: Words,
    words_at_mm: f64,
    words_mm: f64,
}

struct Words {
    number: Vec<String>,
    inch: Vec<String>,
    badge: Badge,
    verdict: Vec<String>,
    scale: Option<Scale>,
}

impl Panel {
    pub fn new(faces: &Rc<Typefaces>, check: &CheckSheet, width_mm: f64) -> Result<Self, Error> {
        let photo_mm = if check.photos.is_empty() {
            0.0
        } else {
            width_mm * PHOTO_SHARE
        };
        let words_at_mm = if check.photos.is_empty() {
            0.0
        } else {
            photo_mm + GUTTER_MM
        };
        let words_mm = width_mm - words_at_mm;
        let picture = check
            .photos
            .first()
            .map(|photo| Picture::new(faces, photo, photo_mm, true));
        let words = Words {
            number: NUMBER.lines(faces, &check.number, words_mm),
            inch: Look::BODY.lines(faces, &check.number_inch, words_mm),
            badge: Badge::new(check.state),
            verdict: Look::BODY.lines(faces, &check.verdict, words_mm),
            scale: check.scale.clone(),
        };
        Ok(Self {
            faces: faces.clone(),
            picture: picture.transpose()?,
            words,
            words_at_mm,
            words_mm,
        })
    }
}

impl Words {
    fn height(&self) -> f64 {
        let lines = self.number.len() as f64 * NUMBER.leading()
            + (self.inch.len() + self.verdict.len()) as f64 * Look::BODY.leading();
        lines + 10.5 + self.scale.as_ref().map_or(0.0, |scale| scale.height() + 3.0)
    }

    fn draw(&self, canvas: &mut Canvas, faces: &Typefaces, (x, mut y): Place, width_mm: f64) -> Vec<Node> {
        let number = canvas.content(|canvas| NUMBER.draw_all(canvas, faces, (x, y), &self.number));
        y += self.number.len() as f64 * NUMBER.leading();
        let mut number = vec![number];
        if !self.inch.is_empty() {
            number.push(canvas.content(|canvas| Look::BODY.draw_all(canvas, faces, (x, y), &self.inch)));
            y += self.inch.len() as f64 * Look::BODY.leading();
        }
        y += 2.5;
        let badge = canvas.content(|canvas| self.badge.draw(canvas, faces, (x, y)));
        y += 8.0;
        let mut nodes = vec![group(Tag::P, number), group(Tag::P, vec![badge])];
        if !self.verdict.is_empty() {
            let verdict = canvas.content(|canvas| Look::BODY.draw_all(canvas, faces, (x, y), &self.verdict));
            nodes.push(group(Tag::P, vec![verdict]));
            y += self.verdict.len() as f64 * Look::BODY.leading();
        }
        if let Some(scale) = &self.scale {
            nodes.push(scale.draw(canvas, faces, (x, y + 3.0), width_mm));
        }
        nodes
    }
}

impl Block for Panel {
    fn height(&self) -> f64 {
        self.words
            .height()
            .max(self.picture.as_ref().map_or(0.0, Picture::height))
    }

    fn space(&self) -> f64 {
        3.0
    }

    fn split(self: Box<Self>, _room_mm: f64) -> Split {
        Split::Whole(self)
    }

    fn draw(&self, canvas: &mut Canvas, at: Place) -> Vec<Node> {
        let words_at = (at.0 + self.words_at_mm, at.1);
        let mut nodes = self.words.draw(canvas, &self.faces, words_at, self.words_mm);
        nodes.extend(
            self.picture
                .as_ref()
                .map(|picture| picture.draw(canvas, &self.faces, at)),
        );
        nodes
    }
}
