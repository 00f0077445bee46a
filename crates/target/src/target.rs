//! A checked target definition.

use crate::shapes::{self, Shape};
use crate::{Error, check, layout};
use shimwright_geom::Vec2;

/// A tag and where its black border's outer corners lie.
#[derive(Clone, Debug, PartialEq)]
pub struct TagPlace {
    /// The tag's id in the family.
    pub id: u32,
    /// Top-left, top-right, bottom-right, bottom-left of the upright tag, mm in the target's frame.
    pub corners: [Vec2; 4],
}

/// A saddle: a place where four squares of a chequered board meet.
#[derive(Clone, Debug, PartialEq)]
pub struct SaddlePlace {
    /// Row by row from the top left, from 0, as OpenCV counts a board's corners.
    pub index: u32,
    /// mm in the target's frame.
    pub at: Vec2,
}

/// What kind of pattern a target is, with its measures in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// Chequered board with a tag in each white square; the top-left square is black.
    Board {
        /// Squares across.
        columns: u32,
        /// Squares down.
        rows: u32,
        /// Side of a square, mm.
        square_mm: f64,
        /// Side of a tag's black border, mm.
        marker_mm: f64,
    },
    /// Ring to cut out, with tags evenly around it, their tops outward, the first at -y, the next clockwise.
    Ring {
        /// Diameter to cut to, mm.
        outer_diameter_mm: f64,
        /// Diameter of the hole, mm.
        hole_diameter_mm: f64,
        /// Side of a tag's black border, mm.
        tag_mm: f64,
        /// From the centre to the middle of each tag, mm.
        tag_radius_mm: f64,
    },
    /// Tags alone, each where the file says.
    Tags,
}

/// The paper or card that carries a pattern.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Page {
    /// Its top-left corner in the target's frame, mm.
    pub origin: Vec2,
    /// Width and height, mm.
    pub size: Vec2,
}

/// A printed target. It was checked when it was read: ids are of the family and unique, tags square and apart.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    name: String,
    version: u32,
    note: String,
    kind: Kind,
    page: Option<Page>,
    tags: Vec<TagPlace>,
    saddles: Vec<SaddlePlace>,
}

impl Target {
    pub(crate) fn new(parts: Parts) -> Result<Self, Error> {
        check::target(&parts)?;
        let saddles = match parts.kind {
            Kind::Board {
                columns,
                rows,
                square_mm,
                ..
            } => layout::board_saddles(columns, rows, square_mm),
            Kind::Ring { .. } | Kind::Tags => Vec::new(),
        };
        let Parts {
            name,
            version,
            note,
            kind,
            page,
            tags,
        } = parts;
        Ok(Self {
            name,
            version,
            note,
            kind,
            page,
            tags,
            saddles,
        })
    }

    /// Its name: how jobs and files refer to it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Goes up whenever the printed pattern changes, so that an old print can be told from a new one.
    pub fn version(&self) -> u32 {
        self.version
    }

    /// What it is for, in one sentence; empty when the definition does not say.
    pub fn note(&self) -> &str {
        &self.note
    }

    /// Its kind and measures.
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// The paper or card around the pattern, where the definition gives one.
    pub fn page(&self) -> Option<Page> {
        self.page
    }

    /// All tags, in the order of the layout.
    pub fn tags(&self) -> &[TagPlace] {
        &self.tags
    }

    /// The place of one tag, `None` when it is not on this target.
    pub fn tag(&self, id: u32) -> Option<&TagPlace> {
        self.tags.iter().find(|t| t.id == id)
    }

    /// All saddles in order of their index; empty unless the target is a board.
    pub fn saddles(&self) -> &[SaddlePlace] {
        &self.saddles
    }

    /// Where the target's paper ends: its page, a ring's outer cut (as a polygon of 96 corners on the circle),
    /// or else the box around its pattern. Clockwise, mm in the target's frame.
    pub fn outline(&self) -> Vec<Vec2> {
        if let Some(page) = self.page {
            return layout::rectangle(page.origin, page.size);
        }
        match self.kind {
            Kind::Ring {
                outer_diameter_mm, ..
            } => layout::circle(outer_diameter_mm / 2.0, 96),
            _ => {
                let (low, high) = self.pattern_box();
                layout::rectangle(low, high - low)
            }
        }
    }

    /// The box around all that is black: its smallest and largest x and y, mm.
    pub fn pattern_box(&self) -> (Vec2, Vec2) {
        if let Kind::Board {
            columns,
            rows,
            square_mm,
            ..
        } = self.kind
        {
            return (
                Vec2::zeros(),
                Vec2::new(f64::from(columns), f64::from(rows)) * square_mm,
            );
        }
        let corners = self.tags.iter().flat_map(|t| t.corners);
        let start = (Vec2::repeat(f64::INFINITY), Vec2::repeat(f64::NEG_INFINITY));
        corners.fold(start, |(low, high), c| (low.inf(&c), high.sup(&c)))
    }

    /// All that is to be drawn: black areas, then lines to cut along.
    pub fn shapes(&self) -> Vec<Shape> {
        shapes::of_target(self)
    }
}

/// A target as read, before it is checked.
pub(crate) struct Parts {
    pub name: String,
    pub version: u32,
    pub note: String,
    pub kind: Kind,
    pub page: Option<Page>,
    pub tags: Vec<TagPlace>,
}
