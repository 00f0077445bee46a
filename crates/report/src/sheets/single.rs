//! A page of one large pattern, with its words in the bands around it.

use super::plan::{PATTERN_CLEAR_MM, UNPRINTABLE_MM};
use super::words::{self, Step};
use super::{Drawing, draw_target};
use crate::canvas::{Canvas, Direction, Ink, Place, Style};
use crate::font::{Typefaces, ascent_mm};

const SIZE_PT: f64 = 7.5;
const LINE_MM: f64 = 3.4;
/// White between the pattern and words beside it, and words below it, mm.
const BESIDE_CLEAR_MM: f64 = 2.0;
const BELOW_CLEAR_MM: f64 = 1.4;
/// By how much lines are tried narrower to make them equally long, mm.
const BALANCE_STEP_MM: f64 = 2.0;

pub(super) fn draw(canvas: &mut Canvas, drawing: &Drawing) {
    let origin = drawing.plan.origins[0];
    draw_target(canvas, drawing, origin);
    let bands = Bands::new(drawing);
    draw_heading(canvas, drawing, &bands);
    draw_steps(canvas, drawing, &bands);
}

/// The white around the pattern, mm.
struct Bands {
    /// The pattern's left and top sides; the right and bottom ones are as far from the paper's edge.
    corner: Place,
    /// The pattern's right and bottom sides.
    far: Place,
}

impl Bands {
    fn new(drawing: &Drawing) -> Self {
        let (low, high) = drawing.target.pattern_box();
        let origin = drawing.plan.origins[0];
        Self {
            corner: (origin.x + low.x, origin.y + low.y),
            far: (origin.x + high.x, origin.y + high.y),
        }
    }

    /// How many lines of text fit into a band that ends so far from the paper's edge.
    fn lines(side_mm: f64) -> usize {
        let room = side_mm - UNPRINTABLE_MM - PATTERN_CLEAR_MM - ascent_mm(SIZE_PT);
        if room < 0.0 {
            0
        } else {
            (room / LINE_MM) as usize + 1
        }
    }
}

/// Name and version at the left of the upper band, purpose and measures at its right.
fn draw_heading(canvas: &mut Canvas, drawing: &Drawing, bands: &Bands) {
    let (target, faces) = (drawing.target, &drawing.faces);
    let y = UNPRINTABLE_MM + ascent_mm(SIZE_PT);
    let name = Style {
        face: &faces.semi_bold,
        size_pt: SIZE_PT,
        ink: Ink::Text,
    };
    let quiet = Style {
        face: &faces.regular,
        size_pt: SIZE_PT,
        ink: Ink::Quiet,
    };
    let title = words::title(target);
    canvas.text((bands.corner.0, y), Direction::Right, name, &title);
    let x = bands.corner.0 + name.face.width_mm(&title, SIZE_PT) + 3.0;
    canvas.text(
        (x, y),
        Direction::Right,
        quiet,
        &faces.regular.printable(target.note()),
    );
    let facts = format!(
        "Shimwright \u{b7} version {} \u{b7} {} \u{b7} {}",
        target.version(),
        words::measures(target),
        drawing.paper.title()
    );
    let width = quiet.face.width_mm(&facts, SIZE_PT);
    canvas.text((bands.far.0 - width, y), Direction::Right, quiet, &facts);
}

/// The steps beside the pattern where there is room, or else above it and below it.
fn draw_steps(canvas: &mut Canvas, drawing: &Drawing, bands: &Bands) {
    let faces = &drawing.faces;
    let words = flow(&words::bench_steps(), faces);
    let space = faces.regular.width_mm(" ", SIZE_PT);
    let beside = lines(&words, space, bands.far.1 - bands.corner.1);
    if beside.len() <= Bands::lines(bands.corner.0) {
        for (k, line) in beside.iter().enumerate() {
            let x = bands.far.0 + BESIDE_CLEAR_MM + ascent_mm(SIZE_PT) + k as f64 * LINE_MM;
            draw_line(canvas, (x, bands.far.1), Direction::Up, line, faces);
        }
        return;
    }
    let lines = lines(&words, space, bands.far.0 - bands.corner.0);
    let above = Bands::lines(bands.corner.1).saturating_sub(1);
    for (k, line) in lines.iter().enumerate() {
        let y = if k < above {
            UNPRINTABLE_MM + ascent_mm(SIZE_PT) + (k + 1) as f64 * LINE_MM
        } else {
            bands.far.1 + BELOW_CLEAR_MM + ascent_mm(SIZE_PT) + (k - above) as f64 * LINE_MM
        };
        draw_line(canvas, (bands.corner.0, y), Direction::Right, line, faces);
    }
}

/// Which part of a step a word belongs to.
#[derive(Clone, Copy, PartialEq)]
enum Part {
    Number,
    Heading,
    Text,
}

impl Part {
    fn style(self, faces: &Typefaces) -> Style<'_> {
        let (face, ink) = match self {
            Part::Number => (&faces.semi_bold, Ink::Accent),
            Part::Heading => (&faces.semi_bold, Ink::Text),
            Part::Text => (&faces.regular, Ink::Text),
        };
        Style {
            face,
            size_pt: SIZE_PT,
            ink,
        }
    }
}

/// A word of the steps.
struct Word {
    part: Part,
    text: String,
    width_mm: f64,
}

/// All steps as one row of words.
fn flow(steps: &[Step], faces: &Typefaces) -> Vec<Word> {
    let word = |part: Part, text: &str| {
        let width_mm = part.style(faces).face.width_mm(text, SIZE_PT);
        Word {
            part,
            text: text.to_owned(),
            width_mm,
        }
    };
    let mut row = Vec::new();
    for (i, step) in steps.iter().enumerate() {
        row.push(word(Part::Number, &format!("{}", i + 1)));
        row.extend(step.heading.split(' ').map(|text| word(Part::Heading, text)));
        row.extend(step.text.split(' ').map(|text| word(Part::Text, text)));
    }
    row
}

/// A run of words of one part, and how far from the start of its line it begins, mm.
struct Run {
    part: Part,
    start_mm: f64,
    text: String,
}

/// Breaks a row of words into as few lines as `width_mm` allows, all about equally long.
fn lines(words: &[Word], space_mm: f64, width_mm: f64) -> Vec<Vec<Run>> {
    let fewest = filled_lines(words, space_mm, width_mm);
    let narrower = (1..)
        .map(|k| width_mm - f64::from(k) * BALANCE_STEP_MM)
        .take_while(|w| *w > 0.0);
    let balanced = narrower
        .map(|w| filled_lines(words, space_mm, w))
        .take_while(|l| l.len() == fewest.len());
    balanced.last().unwrap_or(fewest)
}

/// Breaks a row of words into lines, each as full as `width_mm` allows.
fn filled_lines(words: &[Word], space_mm: f64, width_mm: f64) -> Vec<Vec<Run>> {
    let mut lines: Vec<Vec<Run>> = vec![Vec::new()];
    let mut at = 0.0;
    for (i, word) in words.iter().enumerate() {
        // A step's number stands a little apart from the step before it, and never alone at a line's end.
        let is_number = word.part == Part::Number;
        let apart = if is_number { 2.0 * space_mm } else { 0.0 };
        let glued = words
            .get(i + 1)
            .filter(|_| is_number)
            .map_or(0.0, |next| space_mm + next.width_mm);
        if at > 0.0 && at + apart + word.width_mm + glued > width_mm {
            lines.push(Vec::new());
            at = 0.0;
        }
        let start_mm = if at > 0.0 { at + apart } else { at };
        at = start_mm + word.width_mm + space_mm;
        let Some(line) = lines.last_mut() else { continue };
        match line.last_mut().filter(|run| run.part == word.part) {
            Some(run) => run.text = format!("{} {}", run.text, word.text),
            None => line.push(Run {
                part: word.part,
                start_mm,
                text: word.text.clone(),
            }),
        }
    }
    lines
}

fn draw_line(canvas: &mut Canvas, at: Place, direction: Direction, line: &[Run], faces: &Typefaces) {
    for run in line {
        let place = match direction {
            Direction::Right => (at.0 + run.start_mm, at.1),
            Direction::Up => (at.0, at.1 - run.start_mm),
        };
        canvas.text(place, direction, run.part.style(faces), &run.text);
    }
}
