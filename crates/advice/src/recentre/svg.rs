//! A drawing as an SVG file of its own: in English, on white, with its lines below.

use shimwright_record::{Drawing, Shape, ShapeLook};
use std::fmt::Write;

/// The lines below, px: from one to the next, from the drawing to the first, and from the last to the lower edge.
const LINE: f64 = 17.0;
const TO_FIRST: f64 = 4.0;
const BELOW_LAST: f64 = 17.0;

const INK: &str = "#22303c";
const SOFT: &str = "#555555";
const PUSH: &str = "#b3261e";

/// The file.
pub(super) fn svg(drawing: &Drawing) -> String {
    let lines = drawing.told.len() + drawing.standing.len();
    // A handful of lines.
    let height = drawing.height + TO_FIRST + LINE * (lines as f64 - 1.0) + BELOW_LAST;
    let width = drawing.width;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" font-family=\"sans-serif\" \
         font-size=\"13\" text-anchor=\"middle\" role=\"img\"><title>Re-centring the pulley</title>\
         <rect width=\"{width}\" height=\"{height}\" fill=\"#ffffff\"/>"
    );
    for shape in &drawing.shapes {
        draw(&mut svg, shape);
    }
    let told = drawing.told.iter().map(|line| (line, PUSH, 13));
    let standing = drawing.standing.iter().map(|line| (line, INK, 11));
    let mut y = drawing.height + TO_FIRST;
    for (line, ink, size) in told.chain(standing) {
        let x = width / 2.0;
        add(
            &mut svg,
            format_args!("<text x=\"{x}\" y=\"{y}\" fill=\"{ink}\" font-size=\"{size}\">{line}</text>"),
        );
        y += LINE;
    }
    svg.push_str("</svg>");
    svg
}

// Writing to a string cannot fail.
fn add(svg: &mut String, element: std::fmt::Arguments) {
    let _ = svg.write_fmt(element);
}

fn draw(svg: &mut String, shape: &Shape) {
    match shape {
        Shape::Circle {
            at: [x, y],
            radius,
            look,
        } => {
            let paint = painted(*look);
            add(
                svg,
                format_args!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\" {paint}/>"),
            );
        }
        Shape::Line {
            from: [ax, ay],
            to: [bx, by],
            look,
        } => {
            let paint = painted(*look);
            add(
                svg,
                format_args!(
                    "<line x1=\"{ax}\" y1=\"{ay}\" x2=\"{bx}\" y2=\"{by}\" stroke-width=\"6\" {paint}/>"
                ),
            );
        }
        Shape::Area { corners, look } => {
            let corners: Vec<String> = corners.iter().map(|[x, y]| format!("{x},{y}")).collect();
            let paint = painted(*look);
            add(
                svg,
                format_args!("<polygon points=\"{}\" {paint}/>", corners.join(" ")),
            );
        }
        Shape::Word {
            at: [x, y],
            word,
            look,
        } => {
            let letters = lettered(*look);
            add(
                svg,
                format_args!("<text x=\"{x}\" y=\"{y}\" {letters}>{word}</text>"),
            );
        }
    }
}

/// Colours of what is no word.
fn painted(look: ShapeLook) -> String {
    match look {
        ShapeLook::Belongs => format!("fill=\"none\" stroke=\"{SOFT}\" stroke-dasharray=\"5 4\""),
        ShapeLook::Middle | ShapeLook::Order => format!("fill=\"{SOFT}\""),
        ShapeLook::Pulley => {
            format!("fill=\"#eef2f6\" fill-opacity=\"0.7\" stroke=\"{INK}\" stroke-width=\"2\"")
        }
        ShapeLook::Screw => format!("fill=\"#ffffff\" stroke=\"{INK}\""),
        ShapeLook::FirstScrew => format!("fill=\"{INK}\" stroke=\"{INK}\""),
        ShapeLook::Push => format!("fill=\"{PUSH}\" stroke=\"{PUSH}\""),
    }
}

/// Letters of words.
fn lettered(look: ShapeLook) -> String {
    match look {
        ShapeLook::Order => format!("fill=\"{SOFT}\" font-size=\"11\""),
        ShapeLook::FirstScrew => "fill=\"#ffffff\" font-weight=\"bold\"".to_owned(),
        _ => format!("fill=\"{INK}\" font-weight=\"bold\""),
    }
}
