//! Labels with what they say, in columns.

use super::flow::{Block, Split};
use super::model::Fact;
use super::text::{Look, list};
use crate::canvas::{Canvas, Place};
use crate::font::Typefaces;
use krilla::tagging::{ListNumbering, Node};
use std::rc::Rc;

/// White between columns, mm.
const GUTTER_MM: f64 = 5.0;
/// White between rows, mm.
const ROW_MM: f64 = 2.2;

/// Facts in rows of equal columns.
pub(super) struct Facts {
    faces: Rc<Typefaces>,
    rows: Vec<Vec<Cell>>,
    column_mm: f64,
    space_mm: f64,
}

struct Cell {
    label: String,
    lines: Vec<String>,
}

impl Facts {
    pub fn new(faces: &Rc<Typefaces>, facts: &[Fact], columns: usize, width_mm: f64) -> Self {
        let columns = columns.max(1);
        let column_mm = (width_mm - GUTTER_MM * (columns - 1) as f64) / columns as f64;
        let cell = |fact: &Fact| Cell {
            label: Look::LABEL.lines(faces, &fact.label, column_mm).concat(),
            lines: Look::BODY.lines(faces, &fact.text, column_mm),
        };
        let rows = facts
            .chunks(columns)
            .map(|row| row.iter().map(cell).collect())
            .collect();
        Self {
            faces: faces.clone(),
            rows,
            column_mm,
            space_mm: 4.0,
        }
    }
}

fn row_height(row: &[Cell]) -> f64 {
    let lines = row.iter().map(|cell| cell.lines.len()).max().unwrap_or(0);
    Look::LABEL.leading() + lines as f64 * Look::BODY.leading()
}

impl Block for Facts {
    fn height(&self) -> f64 {
        let rows: f64 = self.rows.iter().map(|row| row_height(row)).sum();
        rows + ROW_MM * self.rows.len().saturating_sub(1) as f64
    }

    fn space(&self) -> f64 {
        self.space_mm
    }

    fn least(&self) -> f64 {
        self.rows.first().map_or(0.0, |row| row_height(row))
    }

    fn split(mut self: Box<Self>, room_mm: f64) -> Split {
        let mut used = 0.0;
        let fitting = self.rows.iter().take_while(|row| {
            used += row_height(row) + ROW_MM;
            used - ROW_MM <= room_mm
        });
        let fitting = fitting.count();
        if fitting == 0 || fitting >= self.rows.len() {
            return Split::Whole(self);
        }
        let rows = self.rows.split_off(fitting);
        let rest = Facts {
            faces: self.faces.clone(),
            rows,
            ..*self
        };
        Split::Parts(self, Box::new(rest))
    }

    fn draw(&self, canvas: &mut Canvas, at: Place) -> Vec<Node> {
        let mut items = Vec::new();
        let mut y = at.1;
        for row in &self.rows {
            for (column, cell) in row.iter().enumerate() {
                let x = at.0 + column as f64 * (self.column_mm + GUTTER_MM);
                let label =
                    canvas.content(|canvas| Look::LABEL.draw(canvas, &self.faces, (x, y), &cell.label));
                let body = canvas.content(|canvas| {
                    Look::BODY.draw_all(canvas, &self.faces, (x, y + Look::LABEL.leading()), &cell.lines);
                });
                items.push((label, body));
            }
            y += row_height(row) + ROW_MM;
        }
        if items.is_empty() {
            Vec::new()
        } else {
            vec![list(ListNumbering::None, items)]
        }
    }
}
