//! The drawing: screws, push and tightening order, seen from the hub ring's printed side with screw 1 on top.

use super::Told;
use super::case::Case;
use crate::bolt::star_order;
use crate::wording::in_millimetres;
use shimwright_phrase::Value;
use shimwright_record::{Drawing, Phrase, Push, Shape, ShapeLook, Valued};
use shimwright_say::say;

/// The drawing, px, and where things stand on it.
const WIDTH: f64 = 440.0;
const HEIGHT: f64 = 372.0;
const MIDDLE: [f64; 2] = [220.0, 190.0];
const RIM: f64 = 130.0;
const SCREW_CIRCLE: f64 = 95.0;
const SCREW: f64 = 14.0;
const ARROW_FROM: f64 = 178.0;
const ARROW_TO: f64 = 143.0;
/// How far off centre the pulley is drawn, px: to be seen, not to scale.
const DRAWN_OFF: f64 = 9.0;

/// A place at so many degrees clockwise from the top, to a tenth of a px.
fn at(radius: f64, clockwise: f64) -> [f64; 2] {
    let (sin, cos) = clockwise.to_radians().sin_cos();
    [tenth(MIDDLE[0] + radius * sin), tenth(MIDDLE[1] - radius * cos)]
}

fn tenth(px: f64) -> f64 {
    (px * 10.0).round() / 10.0
}

fn circle(at: [f64; 2], radius: f64, look: ShapeLook) -> Shape {
    Shape::Circle { at, radius, look }
}

/// The drawing. Without a known screw 1 only the words are in it.
pub(super) fn drawing(case: &Case, told: &Told) -> Drawing {
    let mut shapes = Vec::new();
    let lines = if let Some(screws) = case.screws {
        shapes.extend(pulley(screws.clockwise(case.now.direction())));
        shapes.extend(screws_in_turn(screws.count));
        if let Some(push) = told.push {
            shapes.extend(arrow(push.from.clockwise_from_screw_1));
            of_push(push)
        } else {
            vec![say!("No push is advised now.")]
        }
    } else {
        vec![say!("Where screw 1 sits is not known.")]
    };
    Drawing {
        width: WIDTH,
        height: HEIGHT,
        shapes,
        told: lines,
        standing: vec![
            say!("Seen from the ring's printed side, not to scale."),
            say!("Dashed: where the pulley belongs."),
            say!("Battery disconnected, fingers clear."),
        ],
    }
}

fn of_push(push: &Push) -> Vec<Phrase> {
    let (mm, u95) = (push.distance.value, push.distance.u95);
    let distance = Valued {
        text: format!("{} mm", in_millimetres(mm, u95)),
        value: Value::length(mm, Some(u95), None),
    };
    vec![
        say!("Push {distance}"),
        say!("from {}", push.from.name),
        say!("toward {}", push.toward.name),
    ]
}

/// The hub's true circle, and the pulley where it stands, off centre.
fn pulley(off: f64) -> [Shape; 3] {
    [
        circle(MIDDLE, RIM, ShapeLook::Belongs),
        circle(at(DRAWN_OFF, off), RIM, ShapeLook::Pulley),
        circle(MIDDLE, 3.0, ShapeLook::Middle),
    ]
}

/// Screws with their numbers, and inside which comes when.
fn screws_in_turn(count: u32) -> Vec<Shape> {
    let mut shapes = Vec::new();
    for (turn, screw) in (1..).zip(star_order(count)) {
        let clockwise = 360.0 / f64::from(count) * f64::from(screw - 1);
        let look = if screw == 1 {
            ShapeLook::FirstScrew
        } else {
            ShapeLook::Screw
        };
        let (place, inside) = (at(SCREW_CIRCLE, clockwise), at(SCREW_CIRCLE - 30.0, clockwise));
        shapes.push(circle(place, SCREW, look));
        shapes.push(word(below(place, 4.5), say!("{screw}"), look));
        shapes.push(word(below(inside, 4.0), ordinal(turn), ShapeLook::Order));
    }
    shapes
}

/// Lower by so much, so that letters stand in the middle of a place.
fn below([x, y]: [f64; 2], by: f64) -> [f64; 2] {
    [x, tenth(y + by)]
}

fn word(at: [f64; 2], word: Phrase, look: ShapeLook) -> Shape {
    Shape::Word { at, word, look }
}

fn ordinal(turn: u32) -> Phrase {
    match turn {
        1 => say!("{turn}st"),
        2 => say!("{turn}nd"),
        3 => say!("{turn}rd"),
        _ => say!("{turn}th"),
    }
}

/// An arrow from outside onto the rim.
fn arrow(from: f64) -> [Shape; 2] {
    let wing = |angle: f64| at(ARROW_TO + 14.0, from + angle);
    [
        Shape::Line {
            from: at(ARROW_FROM, from),
            to: at(ARROW_TO + 12.0, from),
            look: ShapeLook::Push,
        },
        Shape::Area {
            corners: vec![at(ARROW_TO, from), wing(-3.5), wing(3.5)],
            look: ShapeLook::Push,
        },
    ]
}
