//! The drawing: screws, push and tightening order, seen from the hub ring's printed side with screw 1 on top.

use super::Told;
use super::case::Case;
use crate::bolt::star_order;
use crate::wording::in_millimetres;
use std::fmt::Write;

/// The page, px, and where things stand on it.
const WIDTH: f64 = 440.0;
const HEIGHT: f64 = 478.0;
const MIDDLE: [f64; 2] = [220.0, 190.0];
const RIM: f64 = 130.0;
const SCREW_CIRCLE: f64 = 95.0;
const SCREW: f64 = 14.0;
const ARROW_FROM: f64 = 178.0;
const ARROW_TO: f64 = 143.0;
/// How far off centre the pulley is drawn, px: to be seen, not to scale.
const DRAWN_OFF: f64 = 9.0;

/// A place at so many degrees clockwise from the top.
fn at(radius: f64, clockwise: f64) -> [f64; 2] {
    let (sin, cos) = clockwise.to_radians().sin_cos();
    [MIDDLE[0] + radius * sin, MIDDLE[1] - radius * cos]
}

/// The drawing as SVG. Without a known screw 1 only the words are in it.
pub(super) fn picture(case: &Case, told: &Told) -> String {
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" font-family=\"sans-serif\" \
         font-size=\"13\" text-anchor=\"middle\" role=\"img\"><title>Re-centring the pulley</title>\
         <rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"#ffffff\"/>"
    );
    if let Some(screws) = case.screws {
        draw_pulley(&mut svg, screws.clockwise(case.now.direction()));
        draw_screws(&mut svg, screws.count);
        if let Some(push) = told.push {
            draw_push(&mut svg, push.from.clockwise_from_screw_1);
            let distance = in_millimetres(push.distance.value, push.distance.u95);
            let lines = [
                format!("Push {distance} mm"),
                format!("from {}", push.from.name),
                format!("toward {}", push.toward.name),
            ];
            write_lines(&mut svg, &lines);
        } else {
            write_lines(&mut svg, &["No push is advised now.".to_owned()]);
        }
    } else {
        write_lines(&mut svg, &["Where screw 1 sits is not known.".to_owned()]);
    }
    svg.push_str("</svg>");
    svg
}

// Writing to a string cannot fail.
fn add(svg: &mut String, element: std::fmt::Arguments) {
    let _ = svg.write_fmt(element);
}

/// The hub's true circle, dashed, and the pulley where it stands, off centre.
fn draw_pulley(svg: &mut String, off: f64) {
    let [x, y] = MIDDLE;
    let [px, py] = at(DRAWN_OFF, off);
    add(
        svg,
        format_args!(
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"{RIM}\" fill=\"none\" stroke=\"#555555\" stroke-dasharray=\"5 4\"/>\
             <circle cx=\"{px:.1}\" cy=\"{py:.1}\" r=\"{RIM}\" fill=\"#eef2f6\" fill-opacity=\"0.7\" stroke=\"#22303c\" \
             stroke-width=\"2\"/><circle cx=\"{x}\" cy=\"{y}\" r=\"3\" fill=\"#555555\"/>"
        ),
    );
}

/// Screws with their numbers, and inside which comes when.
fn draw_screws(svg: &mut String, count: u32) {
    for (turn, screw) in (1..).zip(star_order(count)) {
        let clockwise = 360.0 / f64::from(count) * f64::from(screw - 1);
        let [x, y] = at(SCREW_CIRCLE, clockwise);
        let [tx, ty] = at(SCREW_CIRCLE - 30.0, clockwise);
        let fill = if screw == 1 { "#22303c" } else { "#ffffff" };
        let ink = if screw == 1 { "#ffffff" } else { "#22303c" };
        add(
            svg,
            format_args!(
                "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{SCREW}\" fill=\"{fill}\" stroke=\"#22303c\"/>\
                 <text x=\"{x:.1}\" y=\"{:.1}\" fill=\"{ink}\" font-weight=\"bold\">{screw}</text>\
                 <text x=\"{tx:.1}\" y=\"{:.1}\" fill=\"#555555\" font-size=\"11\">{}</text>",
                y + 4.5,
                ty + 4.0,
                ordinal(turn)
            ),
        );
    }
}

fn ordinal(turn: u32) -> String {
    let ending = match turn {
        1 => "st",
        2 => "nd",
        3 => "rd",
        _ => "th",
    };
    format!("{turn}{ending}")
}

/// An arrow from outside onto the rim.
fn draw_push(svg: &mut String, from: f64) {
    let ([ax, ay], [bx, by]) = (at(ARROW_FROM, from), at(ARROW_TO + 12.0, from));
    let tip = at(ARROW_TO, from);
    let wing = |angle: f64| at(ARROW_TO + 14.0, from + angle);
    let ([lx, ly], [rx, ry]) = (wing(-3.5), wing(3.5));
    add(
        svg,
        format_args!(
            "<line x1=\"{ax:.1}\" y1=\"{ay:.1}\" x2=\"{bx:.1}\" y2=\"{by:.1}\" stroke=\"#b3261e\" stroke-width=\"6\"/>\
             <path d=\"M{:.1} {:.1} L{lx:.1} {ly:.1} L{rx:.1} {ry:.1} Z\" fill=\"#b3261e\"/>",
            tip[0], tip[1]
        ),
    );
}

/// What the drawing says, then its standing lines.
fn write_lines(svg: &mut String, lines: &[String]) {
    let standing = [
        "Seen from the ring's printed side, not to scale.",
        "Dashed: where the pulley belongs.",
        "Battery disconnected, fingers clear.",
    ];
    let told = lines.iter().map(|line| (line.as_str(), "#b3261e", 13));
    let standing = standing.into_iter().map(|line| (line, "#22303c", 11));
    let mut y = 376.0;
    for (line, ink, size) in told.chain(standing) {
        add(
            svg,
            format_args!(
                "<text x=\"{}\" y=\"{y}\" fill=\"{ink}\" font-size=\"{size}\">{line}</text>",
                MIDDLE[0]
            ),
        );
        y += 17.0;
    }
}
