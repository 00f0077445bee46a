//! A scale bar: two end lines, a line between them that leaves room for its words, and a place to write.

use super::plan::{Axis, SCALE_BAR_MM, ScaleBar};
use crate::canvas::{Canvas, Direction, Ink, Place, Style};
use crate::font::{Typefaces, cap_mm};

/// Thickness of the end lines, mm: thin enough to set a calliper's tip on its middle.
const END_LINE_THICK_MM: f64 = 0.2;
/// Thickness of the line between them, mm.
const LINE_THICK_MM: f64 = 0.15;
/// White beside the words, mm.
const WORDS_CLEAR_MM: f64 = 2.0;
/// From the bar's end to the words after it, mm.
const FIELD_GAP_MM: f64 = 3.0;
/// Length of the line to write on, mm.
const FIELD_MM: f64 = 16.0;

pub(super) fn draw(canvas: &mut Canvas, bar: &ScaleBar, faces: &Typefaces) {
    let along = Along { bar };
    let half = bar.end_line_mm / 2.0;
    for end in [0.0, SCALE_BAR_MM] {
        let thick = END_LINE_THICK_MM / 2.0;
        along.rectangle(canvas, (end - thick, end + thick), half);
    }
    let axis = match bar.axis {
        Axis::X => "x",
        Axis::Y => "y",
    };
    let words = format!("{axis}   measure this bar: {SCALE_BAR_MM:.1} mm");
    let style = Style {
        face: &faces.semi_bold,
        size_pt: bar.text_pt,
        ink: Ink::Text,
    };
    let width = style.face.width_mm(&words, style.size_pt);
    let gap = (SCALE_BAR_MM - width) / 2.0;
    for side in [
        (0.0, gap - WORDS_CLEAR_MM),
        (SCALE_BAR_MM - gap + WORDS_CLEAR_MM, SCALE_BAR_MM),
    ] {
        along.rectangle(canvas, side, LINE_THICK_MM / 2.0);
    }
    along.text(canvas, gap, width, style, &words);
    draw_field(canvas, &along, faces);
}

/// "= ______ mm" after the bar's end.
fn draw_field(canvas: &mut Canvas, along: &Along, faces: &Typefaces) {
    let style = Style {
        face: &faces.regular,
        size_pt: along.bar.text_pt,
        ink: Ink::Quiet,
    };
    let (before, after) = ("=", "mm");
    let width = style.face.width_mm(before, style.size_pt);
    let start = SCALE_BAR_MM + FIELD_GAP_MM;
    let line = start + width + 1.5;
    let unit = line + FIELD_MM + 1.5;
    match along.bar.axis {
        Axis::X => {
            along.text(canvas, start, width, style, before);
            let y = along.bar.start.y + cap_mm(style.size_pt) / 2.0;
            let x = along.bar.start.x;
            canvas.rectangle((x + line, y), (x + line + FIELD_MM, y + LINE_THICK_MM), Ink::Line);
            along.text(canvas, unit, 0.0, style, after);
        }
        Axis::Y => {
            // Read from below: the words come last along the bar.
            let unit_width = style.face.width_mm(after, style.size_pt);
            let end = start + unit_width + 1.5 + FIELD_MM + 1.5;
            along.text(canvas, start, unit_width, style, after);
            let x = along.bar.start.x + cap_mm(style.size_pt) / 2.0;
            let y = along.bar.start.y + start + unit_width + 1.5;
            canvas.rectangle((x, y), (x + LINE_THICK_MM, y + FIELD_MM), Ink::Line);
            along.text(canvas, end, width, style, before);
        }
    }
}

/// Coordinates along a bar from its start.
struct Along<'a> {
    bar: &'a ScaleBar,
}

impl Along<'_> {
    fn at(&self, along: f64, across: f64) -> Place {
        let start = self.bar.start;
        match self.bar.axis {
            Axis::X => (start.x + along, start.y + across),
            Axis::Y => (start.x + across, start.y + along),
        }
    }

    fn rectangle(&self, canvas: &mut Canvas, along: (f64, f64), half: f64) {
        canvas.rectangle(self.at(along.0, -half), self.at(along.1, half), Ink::Black);
    }

    /// A line of text that takes `width` along the bar from `from`, its capitals centred on the bar; along y it
    /// reads from below.
    fn text(&self, canvas: &mut Canvas, from: f64, width: f64, style: Style, text: &str) {
        let baseline = cap_mm(style.size_pt) / 2.0;
        match self.bar.axis {
            Axis::X => canvas.text(self.at(from, baseline), Direction::Right, style, text),
            Axis::Y => canvas.text(self.at(from + width, baseline), Direction::Up, style, text),
        }
    }
}
