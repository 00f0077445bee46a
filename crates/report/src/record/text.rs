//! Running text: headings, paragraphs, lists, and labels with what they say.

use super::flow::{Block, Split};
use crate::canvas::{Canvas, Direction, Ink, Place, Style};
use crate::font::{Typeface, Typefaces, ascent_mm};
use krilla::tagging::{ListNumbering, Node, Tag, TagGroup, TagKind};
use std::num::NonZeroU16;
use std::rc::Rc;

/// How a piece of text is set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Look {
    pub bold: bool,
    pub size_pt: f64,
    pub ink: Ink,
}

impl Look {
    pub const BODY: Look = Look {
        bold: false,
        size_pt: 9.0,
        ink: Ink::Text,
    };
    pub const STRONG: Look = Look {
        bold: true,
        size_pt: 9.0,
        ink: Ink::Text,
    };
    pub const SMALL: Look = Look {
        bold: false,
        size_pt: 7.5,
        ink: Ink::Quiet,
    };
    pub const LABEL: Look = Look {
        bold: true,
        size_pt: 7.5,
        ink: Ink::Quiet,
    };

    pub fn face(self, faces: &Typefaces) -> &Typeface {
        if self.bold {
            &faces.semi_bold
        } else {
            &faces.regular
        }
    }

    /// Distance of baselines, mm.
    pub fn leading(self) -> f64 {
        self.size_pt * 0.5
    }

    /// Lines no wider than `width_mm`; a word that is wider is broken.
    pub fn lines(self, faces: &Typefaces, text: &str, width_mm: f64) -> Vec<String> {
        let face = self.face(faces);
        let mut lines = Vec::new();
        for paragraph in text.lines() {
            let spaced: String = paragraph
                .chars()
                .map(|c| if c.is_control() { ' ' } else { c })
                .collect();
            for line in face.lines(&face.printable(&spaced), self.size_pt, width_mm) {
                break_word(face, self.size_pt, width_mm, &line, &mut lines);
            }
        }
        lines
    }

    /// Draws a line with its top at `at`.
    pub fn draw(self, canvas: &mut Canvas, faces: &Typefaces, at: Place, line: &str) {
        let style = Style {
            face: self.face(faces),
            size_pt: self.size_pt,
            ink: self.ink,
        };
        let baseline = at.1 + ascent_mm(self.size_pt);
        canvas.text((at.0, baseline), Direction::Right, style, line);
    }

    /// Draws lines below each other.
    pub fn draw_all(self, canvas: &mut Canvas, faces: &Typefaces, at: Place, lines: &[String]) {
        for (i, line) in lines.iter().enumerate() {
            // Lines of a paragraph are told apart by a space when they are read aloud or copied.
            let line = if i + 1 < lines.len() {
                format!("{line} ")
            } else {
                line.clone()
            };
            self.draw(canvas, faces, (at.0, at.1 + i as f64 * self.leading()), &line);
        }
    }
}

/// Breaks a line that is one word, wider than the column, between letters.
fn break_word(face: &Typeface, size_pt: f64, width_mm: f64, line: &str, lines: &mut Vec<String>) {
    let whole = face.width_mm(line, size_pt);
    if whole <= width_mm || line.contains(' ') {
        lines.push(line.to_owned());
        return;
    }
    let letters: Vec<char> = line.chars().collect();
    // Wide enough for its widest letters by half again: a word of this kind is a sum or a name, and not prose.
    let each = (letters.len() as f64 * width_mm / whole / 1.5).max(1.0) as usize;
    let widest = |count: usize| {
        letters
            .chunks(count)
            .map(|part| face.width_mm(&String::from_iter(part), size_pt))
    };
    let count = (each..letters.len())
        .take_while(|count| widest(*count).fold(0.0, f64::max) <= width_mm)
        .last()
        .unwrap_or(each);
    lines.extend(letters.chunks(count).map(String::from_iter));
}

/// What a piece of text is.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Role {
    /// A heading of a level.
    Heading(u16, String),
    /// A paragraph.
    Paragraph,
    /// A paragraph under a heading that leads on with it to what follows.
    Introduction,
    /// An item of a list, with what stands before it.
    Item(String),
}

/// Lines of text of one look.
pub(super) struct Text {
    faces: Rc<Typefaces>,
    look: Look,
    role: Role,
    lines: Vec<String>,
    space_mm: f64,
}

/// How far the text of a list's item stands from the column's edge, mm.
const ITEM_MM: f64 = 5.0;

impl Text {
    pub fn new(faces: &Rc<Typefaces>, look: Look, role: Role, text: &str, width_mm: f64) -> Self {
        let indent = if matches!(role, Role::Item(_)) {
            ITEM_MM
        } else {
            0.0
        };
        let space_mm = match &role {
            Role::Heading(1, _) => 4.0,
            Role::Heading(2, _) => 8.0,
            Role::Heading(..) => 4.5,
            Role::Paragraph | Role::Introduction => 1.8,
            Role::Item(_) => 1.2,
        };
        Self {
            lines: look.lines(faces, text, width_mm - indent),
            faces: faces.clone(),
            look,
            role,
            space_mm,
        }
    }

    /// A heading of the document.
    pub fn heading(faces: &Rc<Typefaces>, level: u16, text: &str, width_mm: f64) -> Self {
        let look = match level {
            1 => Look {
                bold: true,
                size_pt: 22.0,
                ink: Ink::Text,
            },
            2 => Look {
                bold: true,
                size_pt: 13.0,
                ink: Ink::Text,
            },
            _ => Look {
                bold: true,
                size_pt: 9.0,
                ink: Ink::Accent,
            },
        };
        Self::new(faces, look, Role::Heading(level, text.to_owned()), text, width_mm)
    }

    pub fn paragraph(faces: &Rc<Typefaces>, look: Look, text: &str, width_mm: f64) -> Self {
        Self::new(faces, look, Role::Paragraph, text, width_mm)
    }

    /// A paragraph that stands on the page of what follows it.
    pub fn introduction(faces: &Rc<Typefaces>, look: Look, text: &str, width_mm: f64) -> Self {
        Self::new(faces, look, Role::Introduction, text, width_mm)
    }

    /// A list; numbered or with dots.
    pub fn list(
        faces: &Rc<Typefaces>,
        items: &[String],
        numbered: bool,
        width_mm: f64,
    ) -> Vec<Box<dyn Block>> {
        let item = |(i, text): (usize, &String)| {
            let mark = if numbered {
                format!("{}.", i + 1)
            } else {
                "\u{2022}".to_owned()
            };
            Box::new(Self::new(faces, Look::BODY, Role::Item(mark), text, width_mm)) as Box<dyn Block>
        };
        items.iter().enumerate().map(item).collect()
    }
}

impl Block for Text {
    fn height(&self) -> f64 {
        self.lines.len() as f64 * self.look.leading()
    }

    fn space(&self) -> f64 {
        self.space_mm
    }

    fn leads(&self) -> bool {
        matches!(self.role, Role::Heading(..) | Role::Introduction)
    }

    fn entry(&self) -> Option<&str> {
        match &self.role {
            Role::Heading(_, title) => Some(title),
            _ => None,
        }
    }

    fn least(&self) -> f64 {
        self.lines.len().min(2) as f64 * self.look.leading()
    }

    fn split(mut self: Box<Self>, room_mm: f64) -> Split {
        let fitting = (room_mm / self.look.leading()) as usize;
        // No line stands alone at the foot or the head of a page.
        let fitting = fitting.min(self.lines.len().saturating_sub(2));
        if fitting < 2 {
            return Split::Whole(self);
        }
        let rest = self.lines.split_off(fitting);
        let rest = Text {
            faces: self.faces.clone(),
            role: self.role.clone(),
            lines: rest,
            ..*self
        };
        Split::Parts(self, Box::new(rest))
    }

    fn draw(&self, canvas: &mut Canvas, at: Place) -> Vec<Node> {
        if self.lines.is_empty() {
            return Vec::new();
        }
        let body = |canvas: &mut Canvas, x: f64| {
            canvas.content(|canvas| self.look.draw_all(canvas, &self.faces, (x, at.1), &self.lines))
        };
        match &self.role {
            Role::Paragraph | Role::Introduction => vec![group(Tag::P, vec![body(canvas, at.0)])],
            Role::Heading(level, title) => {
                let level = NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN);
                vec![group(
                    Tag::Hn(level, Some(title.clone())),
                    vec![body(canvas, at.0)],
                )]
            }
            Role::Item(mark) => {
                let label = canvas.content(|canvas| self.look.draw(canvas, &self.faces, at, mark));
                let body = body(canvas, at.0 + ITEM_MM);
                let numbering = if mark.ends_with('.') {
                    ListNumbering::Decimal
                } else {
                    ListNumbering::Disc
                };
                vec![list(numbering, vec![(label, body)])]
            }
        }
    }
}

/// A node of the document's structure.
pub(super) fn group(tag: impl Into<TagKind>, children: Vec<Node>) -> Node {
    TagGroup::with_children(tag, children).into()
}

/// A list of labels and bodies.
pub(super) fn list(numbering: ListNumbering, items: Vec<(Node, Node)>) -> Node {
    let items = items.into_iter().map(|(label, body)| {
        group(
            Tag::LI,
            vec![group(Tag::Lbl, vec![label]), group(Tag::LBody, vec![body])],
        )
    });
    group(Tag::L(numbering), items.collect())
}
