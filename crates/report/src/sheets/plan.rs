//! Where everything lies on a sheet's page, before anything is drawn.

use crate::canvas::Place;
use crate::{Error, Paper};
use shimwright_target::{Target, Vec2};

/// Length of each scale bar, mm: as long as common callipers open.
pub const SCALE_BAR_MM: f64 = 150.0;

/// Width of the rim that printers leave white, mm (common practice, no source).
pub(super) const UNPRINTABLE_MM: f64 = 5.0;

/// White between a large pattern and the words and bars around it, mm.
pub(super) const PATTERN_CLEAR_MM: f64 = 1.0;

/// Narrowest band beside a large pattern that holds a scale bar, mm.
const BAND_MM: f64 = 1.6;

/// Side and top margins of a page with several cards, mm.
pub(super) const MARGIN_MM: f64 = 14.0;

/// Where the cards begin below the heading and the steps, mm.
const GRID_TOP_MM: f64 = 51.0;

/// White between cards, mm.
const GUTTER_MM: f64 = 6.0;

/// Room for a scale bar and its words to the right of and below the cards, mm.
const LANE_MM: f64 = 14.0;

/// Lower margin of a page with several cards, mm.
const BOTTOM_MM: f64 = 9.0;

/// A direction on the page, the same as the target's own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// To the right.
    X,
    /// Down.
    Y,
}

/// A bar to measure with callipers, between the middles of its two end lines.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScaleBar {
    /// Along which axis of the page and of every target on it.
    pub axis: Axis,
    /// Middle of the left or upper end line, mm from the page's top-left corner.
    pub start: Vec2,
    /// Length of the end lines across the bar, mm.
    pub end_line_mm: f64,
    /// Size of its words, points.
    pub(crate) text_pt: f64,
}

impl ScaleBar {
    /// Middle of the right or lower end line, mm from the page's top-left corner.
    pub fn end(&self) -> Vec2 {
        match self.axis {
            Axis::X => self.start + Vec2::new(SCALE_BAR_MM, 0.0),
            Axis::Y => self.start + Vec2::new(0.0, SCALE_BAR_MM),
        }
    }
}

/// How targets lie on a page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Arrangement {
    /// Several to an upright page, below a heading.
    Grid,
    /// One, in the middle of a lying page.
    Single,
}

/// What lies where on a sheet's page; mm from the page's top-left corner, x right, y down.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetPlan {
    /// Width and height of the page.
    pub page_mm: Place,
    /// Where the origin of each copy's frame lies. No copy is turned: its axes are the page's.
    pub origins: Vec<Vec2>,
    /// One bar along each axis.
    pub bars: [ScaleBar; 2],
    pub(crate) arrangement: Arrangement,
}

impl SheetPlan {
    pub(super) fn new(target: &Target, paper: Paper) -> Result<Self, Error> {
        match grid(target, paper) {
            Some(plan) => Ok(plan),
            None => single(target, paper),
        }
    }

    /// Whether all points lie where a printer prints.
    pub(super) fn is_printable(&self, points: &[Place]) -> bool {
        let (width, height) = self.page_mm;
        let inside = |v: f64, size: f64| v >= UNPRINTABLE_MM && v <= size - UNPRINTABLE_MM;
        points.iter().all(|p| inside(p.0, width) && inside(p.1, height))
    }
}

/// Several copies on an upright page, `None` when fewer than two fit.
fn grid(target: &Target, paper: Paper) -> Option<SheetPlan> {
    let page_mm = paper.portrait_mm();
    let outline = target.outline();
    let start = (Vec2::repeat(f64::INFINITY), Vec2::repeat(f64::NEG_INFINITY));
    let (low, high) = outline.iter().fold(start, |(l, h), p| (l.inf(p), h.sup(p)));
    let size = high - low;
    let room = Vec2::new(
        page_mm.0 - 2.0 * MARGIN_MM - LANE_MM,
        page_mm.1 - GRID_TOP_MM - LANE_MM - BOTTOM_MM,
    );
    let count = |room: f64, size: f64| ((room + GUTTER_MM) / (size + GUTTER_MM)).floor().max(0.0) as u32;
    let (columns, rows) = (count(room.x, size.x), count(room.y, size.y));
    if columns * rows < 2 {
        return None;
    }
    let first = Vec2::new(MARGIN_MM, GRID_TOP_MM) - low;
    let step = size.add_scalar(GUTTER_MM);
    let cells = (0..rows).flat_map(|row| (0..columns).map(move |column| (column, row)));
    let origins = cells
        .map(|(c, r)| first + Vec2::new(f64::from(c) * step.x, f64::from(r) * step.y))
        .collect();
    let bar = |axis, start| ScaleBar {
        axis,
        start,
        end_line_mm: 5.0,
        text_pt: 8.0,
    };
    let bars = [
        bar(Axis::X, Vec2::new(MARGIN_MM, page_mm.1 - BOTTOM_MM - 4.0)),
        bar(Axis::Y, Vec2::new(page_mm.0 - MARGIN_MM - 3.0, GRID_TOP_MM)),
    ];
    Some(SheetPlan {
        page_mm,
        origins,
        bars,
        arrangement: Arrangement::Grid,
    })
}

/// One copy in the middle of a lying page, its bars in the bands beside the pattern.
fn single(target: &Target, paper: Paper) -> Result<SheetPlan, Error> {
    let page_mm = paper.landscape_mm();
    let (low, high) = target.pattern_box();
    let (page, size) = (Vec2::new(page_mm.0, page_mm.1), high - low);
    let corner = (page - size) / 2.0;
    let band = corner.add_scalar(-UNPRINTABLE_MM - PATTERN_CLEAR_MM);
    let room = page.add_scalar(-2.0 * (UNPRINTABLE_MM + PATTERN_CLEAR_MM + BAND_MM));
    if band.min() < BAND_MM {
        return Err(Error::TooLarge {
            target: target.name().to_owned(),
            width_mm: size.x,
            height_mm: size.y,
            paper: paper.title(),
            room_width_mm: room.x,
            room_height_mm: room.y,
        });
    }
    let bars = [
        single_bar(
            Axis::X,
            band.y,
            Vec2::new(corner.x.min(page.x - MARGIN_MM - SCALE_BAR_MM), page.y),
        ),
        single_bar(
            Axis::Y,
            band.x,
            Vec2::new(0.0, corner.y.min(page.y - MARGIN_MM - SCALE_BAR_MM)),
        ),
    ];
    Ok(SheetPlan {
        page_mm,
        origins: vec![corner - low],
        bars,
        arrangement: Arrangement::Single,
    })
}

/// A bar in a band: below the pattern for x, left of it for y. `from` says where it starts and where the paper
/// ends.
fn single_bar(axis: Axis, band_mm: f64, from: Vec2) -> ScaleBar {
    // Below the pattern there may be a line of words above the bar.
    let longest = if axis == Axis::X { 2.6 } else { 5.0 };
    let end_line_mm = band_mm.min(longest);
    // Centred on the bar, capitals leave as much room below as tall letters need above.
    let text_pt = (end_line_mm / crate::font::ascent_mm(1.06)).min(7.5);
    let middle = UNPRINTABLE_MM + end_line_mm / 2.0;
    let start = match axis {
        Axis::X => Vec2::new(from.x, from.y - middle),
        Axis::Y => Vec2::new(middle, from.y),
    };
    ScaleBar {
        axis,
        start,
        end_line_mm,
        text_pt,
    }
}
