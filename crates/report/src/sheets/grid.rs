//! A page of several cards: heading, four steps, the cards.

use super::plan::MARGIN_MM;
use super::{Drawing, draw_target, words};
use crate::canvas::{Canvas, Direction, Ink, Style};
use crate::font::cap_mm;
use shimwright_target::{Kind, Vec2};

const TITLE_BASELINE_MM: f64 = 19.0;
const NOTE_BASELINE_MM: f64 = 25.0;
const STEPS_BASELINE_MM: f64 = 33.0;
const STEP_GAP_MM: f64 = 5.0;
const LINE_MM: f64 = 3.6;

pub(super) fn draw(canvas: &mut Canvas, drawing: &Drawing) {
    draw_heading(canvas, drawing);
    draw_steps(canvas, drawing);
    for origin in &drawing.plan.origins {
        draw_target(canvas, drawing, *origin);
        draw_hole_words(canvas, drawing, *origin);
    }
}

fn draw_heading(canvas: &mut Canvas, drawing: &Drawing) {
    let (target, faces) = (drawing.target, &drawing.faces);
    let title = Style {
        face: &faces.semi_bold,
        size_pt: 20.0,
        ink: Ink::Text,
    };
    canvas.text(
        (MARGIN_MM, TITLE_BASELINE_MM),
        Direction::Right,
        title,
        &words::title(target),
    );
    let quiet = Style {
        face: &faces.regular,
        size_pt: 9.0,
        ink: Ink::Quiet,
    };
    let note = faces.regular.printable(target.note());
    canvas.text((MARGIN_MM, NOTE_BASELINE_MM), Direction::Right, quiet, &note);
    let name = format!(
        "Shimwright \u{b7} version {} \u{b7} {}",
        target.version(),
        drawing.paper.title()
    );
    draw_right(canvas, drawing, TITLE_BASELINE_MM, quiet, &name);
    draw_right(canvas, drawing, NOTE_BASELINE_MM, quiet, &words::measures(target));
}

fn draw_right(canvas: &mut Canvas, drawing: &Drawing, baseline: f64, style: Style, text: &str) {
    let width = style.face.width_mm(text, style.size_pt);
    canvas.text(
        (drawing.plan.page_mm.0 - MARGIN_MM - width, baseline),
        Direction::Right,
        style,
        text,
    );
}

fn draw_steps(canvas: &mut Canvas, drawing: &Drawing) {
    let faces = &drawing.faces;
    let number = Style {
        face: &faces.semi_bold,
        size_pt: 9.0,
        ink: Ink::Accent,
    };
    let heading = Style {
        face: &faces.semi_bold,
        size_pt: 9.0,
        ink: Ink::Text,
    };
    let body = Style {
        face: &faces.regular,
        size_pt: 8.0,
        ink: Ink::Text,
    };
    let steps = words::card_steps(drawing.target);
    let room = drawing.plan.page_mm.0 - 2.0 * MARGIN_MM;
    let width = (room + STEP_GAP_MM) / steps.len() as f64 - STEP_GAP_MM;
    for (i, step) in steps.iter().enumerate() {
        let x = MARGIN_MM + i as f64 * (width + STEP_GAP_MM);
        canvas.text(
            (x, STEPS_BASELINE_MM),
            Direction::Right,
            number,
            &format!("{}", i + 1),
        );
        canvas.text(
            (x + 4.0, STEPS_BASELINE_MM),
            Direction::Right,
            heading,
            step.heading,
        );
        for (k, line) in body.face.lines(step.text, body.size_pt, width).iter().enumerate() {
            let y = STEPS_BASELINE_MM + 4.4 + k as f64 * LINE_MM;
            canvas.text((x, y), Direction::Right, body, line);
        }
    }
}

/// Words in a ring's hole, which is cut away.
fn draw_hole_words(canvas: &mut Canvas, drawing: &Drawing, centre: Vec2) {
    let Kind::Ring { hole_diameter_mm, .. } = drawing.target.kind() else {
        return;
    };
    let faces = &drawing.faces;
    let name = Style {
        face: &faces.semi_bold,
        size_pt: 7.0,
        ink: Ink::Text,
    };
    let quiet = Style {
        face: &faces.regular,
        size_pt: 7.0,
        ink: Ink::Quiet,
    };
    let version = format!("version {}", drawing.target.version());
    let lines = [
        (name, words::title(drawing.target)),
        (quiet, version),
        (quiet, "cut out".to_owned()),
    ];
    let widest = lines
        .iter()
        .map(|(s, t)| s.face.width_mm(t, s.size_pt))
        .fold(0.0, f64::max);
    // The words are about two thirds as high as they are wide.
    if widest * 1.3 > hole_diameter_mm {
        return;
    }
    for (k, (style, text)) in lines.iter().enumerate() {
        let x = centre.x - style.face.width_mm(text, style.size_pt) / 2.0;
        let y = centre.y + (k as f64 - 1.0) * LINE_MM + cap_mm(style.size_pt) / 2.0;
        canvas.text((x, y), Direction::Right, *style, text);
    }
}
