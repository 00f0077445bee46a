//! A number against its limit, on a line.

use super::axis::Ticks;
use super::model::Scale;
use super::text::{Look, group};
use crate::canvas::{Canvas, Ink, Place};
use crate::font::Typefaces;
use krilla::tagging::{Node, Tag};

/// Height of the line of one number, mm.
const ROW_MM: f64 = 5.2;
/// Room above the first number for the limit's words, mm.
const TOP_MM: f64 = 6.0;
/// Room below the axis for its numbers, mm.
const BOTTOM_MM: f64 = 6.5;
/// Room at the left for what the numbers are, mm.
const LABEL_MM: f64 = 16.0;
/// Room at the right, mm.
const RIGHT_MM: f64 = 3.0;
/// Distance of the lines that fill the forbidden part, mm.
const HATCH_MM: f64 = 1.7;

const WORDS: Look = Look {
    bold: false,
    size_pt: 7.5,
    ink: Ink::Text,
};

impl Scale {
    pub(super) fn height(&self) -> f64 {
        TOP_MM + self.marks.len() as f64 * ROW_MM + BOTTOM_MM
    }

    /// Draws it with its top-left corner at `at`.
    pub(super) fn draw(&self, canvas: &mut Canvas, faces: &Typefaces, at: Place, width_mm: f64) -> Node {
        let plot = canvas.content(|canvas| {
            let frame = Frame {
                ticks: self.ticks(),
                left: at.0 + LABEL_MM,
                right: at.0 + width_mm - RIGHT_MM,
                top: at.1 + TOP_MM,
                bottom: at.1 + self.height() - BOTTOM_MM,
            };
            self.draw_limit(canvas, faces, &frame);
            frame.draw_axis(canvas, faces, &self.unit);
            for (row, mark) in self.marks.iter().enumerate() {
                let y = frame.top + (row as f64 + 0.5) * ROW_MM;
                let newest = row + 1 == self.marks.len();
                WORDS.draw(canvas, faces, (at.0, y - 1.4), &mark.label);
                let x = |number: f64| frame.x(number);
                canvas.line(
                    &[(x(mark.value - mark.u95), y), (x(mark.value + mark.u95), y)],
                    0.45,
                    Ink::Text,
                    None,
                );
                for end in [mark.value - mark.u95, mark.value + mark.u95] {
                    canvas.line(&[(x(end), y - 1.0), (x(end), y + 1.0)], 0.35, Ink::Text, None);
                }
                canvas.disc((x(mark.value), y), 1.15, Ink::Text);
                if !newest {
                    canvas.disc((x(mark.value), y), 0.8, Ink::White);
                }
            }
        });
        group(Tag::Figure(Some(self.told.clone())), vec![plot])
    }

    /// An axis that holds nought, the limit and every interval.
    fn ticks(&self) -> Ticks {
        let ends = self
            .marks
            .iter()
            .flat_map(|mark| [mark.value - mark.u95, mark.value + mark.u95]);
        let all = ends.chain([0.0, self.limit * 1.2]);
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(v), h.max(v))
        });
        Ticks::around(low, high, 4.0)
    }

    /// The forbidden part, filled with lines, and the limit with its words.
    fn draw_limit(&self, canvas: &mut Canvas, faces: &Typefaces, frame: &Frame) {
        let limit = frame.x(self.limit);
        let (from, to) = if self.limit_is_lowest {
            (frame.left, limit)
        } else {
            (limit, frame.right)
        };
        canvas.rectangle((from, frame.top), (to, frame.bottom), Ink::Pale);
        canvas.clipped((from, frame.top), (to, frame.bottom), |canvas| {
            let height = frame.bottom - frame.top;
            let count = ((to - from + height) / HATCH_MM) as u32;
            for i in 0..=count {
                let x = from + f64::from(i) * HATCH_MM;
                canvas.line(
                    &[(x, frame.top), (x - height, frame.bottom)],
                    0.15,
                    Ink::Line,
                    None,
                );
            }
        });
        canvas.line(
            &[(limit, frame.top - 1.5), (limit, frame.bottom)],
            0.5,
            Ink::Bad,
            None,
        );
        let words = format!(
            "{} {} {}",
            if self.limit_is_lowest {
                "at least"
            } else {
                "at most"
            },
            number(self.limit),
            self.unit
        );
        let width = WORDS.face(faces).width_mm(&words, WORDS.size_pt);
        let x = (limit - width / 2.0).clamp(frame.left - LABEL_MM, frame.right + RIGHT_MM - width);
        WORDS.draw(canvas, faces, (x, frame.top - 5.2), &words);
    }
}

/// A limit as it was set: no more digits than it needs.
fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    let short = text.trim_end_matches('0');
    match short.split_once('.') {
        Some((_, decimals)) if decimals.len() >= 2 => short.to_owned(),
        _ => format!("{value:.2}"),
    }
}

/// Where the plot lies on the page.
struct Frame {
    ticks: Ticks,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

impl Frame {
    fn x(&self, number: f64) -> f64 {
        self.left + self.ticks.share(number) * (self.right - self.left)
    }

    fn draw_axis(&self, canvas: &mut Canvas, faces: &Typefaces, unit: &str) {
        canvas.line(
            &[(self.left, self.bottom), (self.right, self.bottom)],
            0.3,
            Ink::Text,
            None,
        );
        let numbers: Vec<f64> = self.ticks.numbers().collect();
        for (i, value) in numbers.iter().enumerate() {
            let x = self.x(*value);
            canvas.line(&[(x, self.bottom), (x, self.bottom + 1.0)], 0.3, Ink::Text, None);
            let last = i + 1 == numbers.len();
            let words = if last {
                format!("{} {unit}", self.ticks.text(*value))
            } else {
                self.ticks.text(*value)
            };
            let width = WORDS.face(faces).width_mm(&words, WORDS.size_pt);
            let x = (x - width / 2.0).min(self.right + RIGHT_MM - width);
            WORDS.draw(canvas, faces, (x, self.bottom + 1.8), &words);
        }
    }
}
