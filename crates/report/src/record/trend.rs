//! A number over the visits.

use super::axis::Ticks;
use super::flow::{Block, Split};
use super::model::Trend;
use super::text::{Look, group};
use crate::canvas::{Canvas, Ink, Place};
use crate::font::Typefaces;
use krilla::tagging::{Node, Tag};
use std::rc::Rc;

const HEIGHT_MM: f64 = 46.0;
/// Room above the plot for its title, below for dates, at the left for numbers, mm.
const ROOM_MM: [f64; 3] = [7.0, 7.0, 12.0];
const GUTTER_MM: f64 = 6.0;

const WORDS: Look = Look {
    bold: false,
    size_pt: 7.5,
    ink: Ink::Text,
};

/// Two trends beside each other.
pub(super) struct TrendRow {
    faces: Rc<Typefaces>,
    trends: Vec<Trend>,
    each_mm: f64,
}

impl TrendRow {
    pub fn rows(faces: &Rc<Typefaces>, trends: &[Trend], width_mm: f64) -> Vec<Box<dyn Block>> {
        let each_mm = (width_mm - GUTTER_MM) / 2.0;
        let row = |trends: &[Trend]| {
            Box::new(Self {
                faces: faces.clone(),
                trends: trends.to_vec(),
                each_mm,
            }) as Box<dyn Block>
        };
        trends.chunks(2).map(row).collect()
    }
}

impl Block for TrendRow {
    fn height(&self) -> f64 {
        HEIGHT_MM
    }

    fn space(&self) -> f64 {
        3.0
    }

    fn split(self: Box<Self>, _room_mm: f64) -> Split {
        Split::Whole(self)
    }

    fn draw(&self, canvas: &mut Canvas, at: Place) -> Vec<Node> {
        let mut x = at.0;
        let mut nodes = Vec::new();
        for trend in &self.trends {
            let plot = canvas.content(|canvas| draw(trend, canvas, &self.faces, (x, at.1), self.each_mm));
            nodes.push(group(Tag::Figure(Some(trend.told.clone())), vec![plot]));
            x += self.each_mm + GUTTER_MM;
        }
        nodes
    }
}

fn draw(trend: &Trend, canvas: &mut Canvas, faces: &Typefaces, at: Place, width_mm: f64) {
    Look::STRONG.draw(
        canvas,
        faces,
        at,
        &Look::STRONG.face(faces).printable(&trend.title),
    );
    let (left, right) = (at.0 + ROOM_MM[2], at.0 + width_mm);
    let (top, bottom) = (at.1 + ROOM_MM[0], at.1 + HEIGHT_MM - ROOM_MM[1]);
    let ticks = ticks(trend);
    let y = |number: f64| bottom - ticks.share(number) * (bottom - top);
    for number in ticks.numbers() {
        canvas.line(&[(left, y(number)), (right, y(number))], 0.12, Ink::Line, None);
        let words = ticks.text(number);
        let width = WORDS.face(faces).width_mm(&words, WORDS.size_pt);
        WORDS.draw(canvas, faces, (left - 1.5 - width, y(number) - 1.4), &words);
    }
    WORDS.draw(canvas, faces, (at.0, top - 1.4), &trend.unit);
    if let Some(limit) = trend.limit {
        canvas.line(
            &[(left, y(limit)), (right, y(limit))],
            0.5,
            Ink::Bad,
            Some([1.8, 1.0]),
        );
        let words = "limit";
        let width = WORDS.face(faces).width_mm(words, WORDS.size_pt);
        WORDS.draw(canvas, faces, (right - width, y(limit) - 3.4), words);
    }
    let places = places(trend, left + 5.0, right - 12.0);
    let path: Vec<Place> = trend
        .points
        .iter()
        .zip(&places)
        .map(|(point, x)| (*x, y(point.value)))
        .collect();
    canvas.line(&path, 0.25, Ink::Quiet, None);
    for (point, x) in trend.points.iter().zip(&places) {
        canvas.line(
            &[(*x, y(point.value - point.u95)), (*x, y(point.value + point.u95))],
            0.4,
            Ink::Text,
            None,
        );
        for end in [point.value - point.u95, point.value + point.u95] {
            canvas.line(&[(*x - 0.9, y(end)), (*x + 0.9, y(end))], 0.35, Ink::Text, None);
        }
        canvas.disc((*x, y(point.value)), 1.0, Ink::Text);
    }
    draw_dates(trend, canvas, faces, &places, (at.0 + width_mm, bottom + 1.8));
}

/// As many dates as have room, the first and the last ones first of all.
fn draw_dates(trend: &Trend, canvas: &mut Canvas, faces: &Typefaces, places: &[f64], (right, top): Place) {
    let mut taken: Vec<(f64, f64)> = Vec::new();
    let last = places.len().saturating_sub(1);
    let order = [0, last].into_iter().chain(1..last.max(1));
    for i in order {
        let (Some(point), Some(x)) = (trend.points.get(i), places.get(i)) else {
            continue;
        };
        let width = WORDS.face(faces).width_mm(&point.date, WORDS.size_pt);
        let from = (x - width / 2.0).min(right - width);
        let to = from + width;
        if taken.iter().all(|(a, b)| to + 2.0 < *a || from > *b + 2.0) {
            WORDS.draw(canvas, faces, (from, top), &point.date);
            taken.push((from, to));
        }
    }
}

fn ticks(trend: &Trend) -> Ticks {
    let ends = trend
        .points
        .iter()
        .flat_map(|point| [point.value - point.u95, point.value + point.u95]);
    let all = ends.chain([0.0]).chain(trend.limit);
    let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
        (l.min(v), h.max(v))
    });
    Ticks::around(low, high * 1.05, 4.0)
}

/// Where the moments stand between two places.
fn places(trend: &Trend, left: f64, right: f64) -> Vec<f64> {
    let days = trend.points.iter().map(|point| point.day);
    let (first, last) = days
        .clone()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(v), h.max(v))
        });
    let span = if last - first > 1e-6 { last - first } else { 1.0 };
    days.map(|day| left + (day - first) / span * (right - left))
        .collect()
}
