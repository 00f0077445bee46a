//! Tables: a head, rows of text, and rules between them.

use super::badge::Badge;
use super::flow::{Block, Split};
use super::text::{Look, group};
use crate::canvas::{Canvas, Ink, Place};
use crate::font::Typefaces;
use krilla::tagging::{ArtifactType, Node, TableHeaderScope, Tag};
use shimwright_record::Conformity;
use std::rc::Rc;

/// White above and below a row's text, mm.
const PAD_MM: f64 = 1.3;
/// White between columns, mm.
const GUTTER_MM: f64 = 3.0;

/// What a cell holds.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Cell {
    /// Words.
    Words(String),
    /// Words that matter.
    Strong(String),
    /// What a number means.
    State(Conformity),
}

/// A table.
pub(super) struct Table {
    faces: Rc<Typefaces>,
    head: Vec<String>,
    /// Left sides and widths of the columns, mm.
    columns: Vec<(f64, f64)>,
    rows: Vec<Vec<Set>>,
    width_mm: f64,
}

/// A cell ready to be drawn.
enum Set {
    Lines(Look, Vec<String>),
    Badge(Badge),
}

impl Table {
    /// `shares` are the columns' shares of the width.
    pub fn new(
        faces: &Rc<Typefaces>,
        head: &[&str],
        shares: &[f64],
        rows: &[Vec<Cell>],
        width_mm: f64,
    ) -> Self {
        let total: f64 = shares.iter().sum();
        let room = width_mm - GUTTER_MM * shares.len().saturating_sub(1) as f64;
        let mut left = 0.0;
        let mut columns = Vec::new();
        for share in shares {
            let width = room * share / total;
            columns.push((left, width));
            left += width + GUTTER_MM;
        }
        let set = |(cell, (_, width)): (&Cell, &(f64, f64))| match cell {
            Cell::Words(text) => Set::Lines(Look::BODY, Look::BODY.lines(faces, text, *width)),
            Cell::Strong(text) => Set::Lines(Look::STRONG, Look::STRONG.lines(faces, text, *width)),
            Cell::State(state) => Set::Badge(Badge::new(*state)),
        };
        Self {
            faces: faces.clone(),
            head: head.iter().map(|text| (*text).to_owned()).collect(),
            rows: rows
                .iter()
                .map(|row| row.iter().zip(&columns).map(set).collect())
                .collect(),
            columns,
            width_mm,
        }
    }

    fn head_height(&self) -> f64 {
        Look::LABEL.leading() + 2.0 * PAD_MM
    }

    fn draw_row(&self, canvas: &mut Canvas, row: &[Set], at: Place) -> Node {
        let cells = row
            .iter()
            .zip(&self.columns)
            .enumerate()
            .map(|(place, (cell, (left, _)))| {
                let at = (at.0 + left, at.1 + PAD_MM);
                let node = canvas.content(|canvas| match cell {
                    Set::Lines(look, lines) => look.draw_all(canvas, &self.faces, at, lines),
                    Set::Badge(badge) => badge.draw(canvas, &self.faces, (at.0, at.1 - 0.6)),
                });
                match place {
                    0 => group(Tag::TH(TableHeaderScope::Row), vec![node]),
                    _ => group(Tag::TD, vec![node]),
                }
            });
        let cells = cells.collect();
        group(Tag::TR, cells)
    }
}

fn row_height(row: &[Set]) -> f64 {
    let height = |cell: &Set| match cell {
        Set::Lines(look, lines) => lines.len() as f64 * look.leading(),
        Set::Badge(_) => Look::BODY.leading(),
    };
    row.iter().map(height).fold(Look::BODY.leading(), f64::max) + 2.0 * PAD_MM
}

impl Block for Table {
    fn height(&self) -> f64 {
        self.head_height() + self.rows.iter().map(|row| row_height(row)).sum::<f64>()
    }

    fn space(&self) -> f64 {
        2.5
    }

    fn least(&self) -> f64 {
        self.head_height() + self.rows.first().map_or(0.0, |row| row_height(row))
    }

    fn split(mut self: Box<Self>, room_mm: f64) -> Split {
        let mut used = self.head_height();
        let fitting = self.rows.iter().take_while(|row| {
            used += row_height(row);
            used <= room_mm
        });
        let fitting = fitting.count();
        if fitting == 0 || fitting >= self.rows.len() {
            return Split::Whole(self);
        }
        let rest = Table {
            rows: self.rows.split_off(fitting),
            faces: self.faces.clone(),
            head: self.head.clone(),
            columns: self.columns.clone(),
            width_mm: self.width_mm,
        };
        Split::Parts(self, Box::new(rest))
    }

    fn draw(&self, canvas: &mut Canvas, at: Place) -> Vec<Node> {
        let right = at.0 + self.width_mm;
        let mut y = at.1 + self.head_height();
        canvas.artifact(ArtifactType::Layout, |canvas| {
            canvas.line(&[(at.0, y), (right, y)], 0.35, Ink::Text, None);
        });
        let heads = self.head.iter().zip(&self.columns).map(|(text, (left, _))| {
            let at = (at.0 + left, at.1 + PAD_MM);
            let node = canvas.content(|canvas| Look::LABEL.draw(canvas, &self.faces, at, text));
            group(Tag::TH(TableHeaderScope::Column), vec![node])
        });
        let heads: Vec<Node> = heads.collect();
        let mut rows = vec![group(Tag::TR, heads)];
        for row in &self.rows {
            rows.push(self.draw_row(canvas, row, (at.0, y)));
            y += row_height(row);
            canvas.artifact(ArtifactType::Layout, |canvas| {
                canvas.line(&[(at.0, y), (right, y)], 0.12, Ink::Line, None);
            });
        }
        vec![group(Tag::Table, rows)]
    }
}
