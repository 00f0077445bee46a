//! The measured values as a table of their own: one line for each number.

use super::{ExportForm, Rows};
use crate::Error;
use crate::database::Session;
use crate::tables::{Cell, Cells, table};
use serde::{Deserialize, Serialize};
use shimwright_record::{Board, Quantity, Value, Verdict};
use std::collections::BTreeMap;
use std::path::Path;

/// Columns with what they mean.
pub(super) const VALUES: &[(&str, &str)] = &[
    ("check_id", "id of the check"),
    (
        "at",
        "when it was saved, as the user's clock showed it (RFC 3339)",
    ),
    ("board_id", "id of the board"),
    ("board_name", "name of the board as it was then"),
    (
        "corner",
        "left or right, seen from behind the board in riding direction",
    ),
    ("kind", "what was measured"),
    ("name", "name of the value"),
    (
        "place",
        "place in a list of values, from 0; empty for a single value",
    ),
    ("value", "the number, in the unit of the column `unit`"),
    ("u95", "its expanded uncertainty (95 %), in the same unit"),
    ("unit", "unit of value and u95: mm, deg, px, or 1 for none"),
    (
        "verdict",
        "within, outside or undecided (ISO 14253-1), of the whole check",
    ),
];

#[derive(Deserialize)]
struct Told {
    values: BTreeMap<String, Value>,
    verdict: Verdict,
}

pub(super) async fn write(session: &mut Session, path: &Path, form: ExportForm) -> Result<u64, Error> {
    let mut out = Rows::new(path, form, VALUES.iter().map(|(name, _)| *name).collect())?;
    let checks = table("checks")?;
    let deleted = checks.place("deleted_at");
    let mut last: Option<Cells> = None;
    loop {
        let page = checks.page(session, last.as_ref()).await?;
        for cells in page.iter().filter(|cells| cells[deleted] == Cell::Text(None)) {
            for line in lines(&|name| text(&cells[checks.place(name)]))? {
                out.add(&line)?;
            }
        }
        match page.into_iter().next_back() {
            Some(cells) => last = Some(cells),
            None => return out.finish(),
        }
    }
}

fn text(cell: &Cell) -> String {
    match cell {
        Cell::Text(Some(text)) => text.clone(),
        _ => String::new(),
    }
}

fn lines(of: &dyn Fn(&str) -> String) -> Result<Vec<Vec<String>>, Error> {
    let told: Told = serde_json::from_str(&of("result")).map_err(Error::stored("result"))?;
    let board: Board = serde_json::from_str(&of("board")).map_err(Error::stored("board"))?;
    let mut lines = Vec::new();
    for (name, value) in &told.values {
        let numbers: Vec<(Option<usize>, &Quantity)> = match value {
            Value::One(quantity) => vec![(None, quantity)],
            Value::Many(list) => list
                .iter()
                .enumerate()
                .map(|(place, quantity)| (Some(place), quantity))
                .collect(),
        };
        for (place, quantity) in numbers {
            lines.push(vec![
                json(&of("id"))?,
                json(&of("at"))?,
                json(&of("board_id"))?,
                json(&board.name)?,
                json(&of("corner"))?,
                json(&of("kind"))?,
                json(name)?,
                json(&place)?,
                json(&quantity.value)?,
                json(&quantity.u95)?,
                json(&quantity.unit)?,
                json(&told.verdict.state)?,
            ]);
        }
    }
    Ok(lines)
}

fn json(value: &(impl Serialize + ?Sized)) -> Result<String, Error> {
    serde_json::to_string(value).map_err(Error::stored("value"))
}
