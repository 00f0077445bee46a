//! From an export back to a history.

use super::{EXPORT, ExportForm, Head, WHAT, csv};
use crate::Error;
use crate::database::{Reached, own_schema, reach_sqlite};
use crate::tables::{Cell, Cells, Column, Kind, TABLES, Table};
use serde_json::value::RawValue;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::BufReader;
use std::path::Path;

/// Reads an export into a new database.
pub(crate) async fn read_export(folder: &Path, database: &Path, program: &str) -> Result<(), Error> {
    let head: Head = read_file(&folder.join(EXPORT))?;
    if head.what != WHAT {
        return Err(Error::NoHistory(folder.to_owned()));
    }
    if head.schema > own_schema() {
        return Err(Error::Newer {
            its_program: head.program,
            its_schema: head.schema,
            own_program: program.to_owned(),
            own_schema: own_schema(),
        });
    }
    let into = reach_sqlite(database, Reached::ToWrite, program).await?;
    let mut session = into.write().await?;
    for table in TABLES {
        let path = folder.join(format!("{}.{}", table.name, head.form.end()));
        let rows = match head.form {
            ExportForm::Csv => csv_rows(table, &path)?,
            ExportForm::Json => json_rows(table, &path)?,
        };
        for cells in &rows {
            table.insert(&mut session, cells).await?;
        }
    }
    session.commit().await?;
    into.close().await;
    Ok(())
}

fn bad(path: &Path, why: impl ToString) -> Error {
    Error::BadExport {
        why: why.to_string(),
        path: path.to_owned(),
    }
}

fn read_file<T: serde::de::DeserializeOwned>(path: &Path) -> Result<T, Error> {
    let file = File::open(path).map_err(|error| bad(path, error))?;
    check_length(&file, path)?;
    serde_json::from_reader(BufReader::new(file)).map_err(|error| bad(path, error))
}

/// Most bytes of one file of an export: a hundred thousand checks come to a tenth of it.
const MOST_BYTES: u64 = 2_000_000_000;

fn check_length(file: &File, path: &Path) -> Result<(), Error> {
    let bytes = file.metadata().map_err(|error| bad(path, error))?.len();
    if bytes <= MOST_BYTES {
        return Ok(());
    }
    Err(bad(
        path,
        format!("it has {bytes} bytes and the limit is {MOST_BYTES}"),
    ))
}

fn no_column(name: &str) -> String {
    format!("there is no column called {name:?}")
}

fn json_rows(table: &Table, path: &Path) -> Result<Vec<Cells>, Error> {
    let rows: Vec<BTreeMap<String, Box<RawValue>>> = read_file(path)?;
    rows.iter().map(|row| json_cells(table, row, path)).collect()
}

fn json_cells(table: &Table, row: &BTreeMap<String, Box<RawValue>>, path: &Path) -> Result<Cells, Error> {
    if let Some(name) = row.keys().find(|name| table.place(name) == table.columns.len()) {
        return Err(bad(path, no_column(name)));
    }
    table
        .columns
        .iter()
        .map(|column| {
            let raw = row
                .get(column.name)
                .ok_or_else(|| bad(path, format!("`{}` is missing", column.name)))?
                .get();
            json_cell(column, raw).map_err(|error| bad(path, format!("`{}`: {error}", column.name)))
        })
        .collect()
}

fn json_cell(column: &Column, raw: &str) -> Result<Cell, serde_json::Error> {
    match column.kind {
        Kind::Json if raw == "null" => Ok(Cell::Text(None)),
        Kind::Json => Ok(Cell::Text(Some(raw.to_owned()))),
        Kind::Text => serde_json::from_str(raw).map(Cell::Text),
        Kind::Integer => serde_json::from_str(raw).map(Cell::Integer),
        Kind::Real => serde_json::from_str(raw).map(Cell::Real),
    }
}

fn csv_rows(table: &Table, path: &Path) -> Result<Vec<Cells>, Error> {
    let text = std::fs::read_to_string(path).map_err(|error| bad(path, error))?;
    let mut lines = csv::lines(&text).map_err(|why| bad(path, why))?.into_iter();
    let head = lines.next().unwrap_or_default();
    if let Some(name) = head.iter().find(|name| table.place(name) == table.columns.len()) {
        return Err(bad(path, no_column(name)));
    }
    // A spreadsheet may have put the columns into another order.
    let mut places = Vec::with_capacity(table.columns.len());
    for column in table.columns {
        let place = head.iter().position(|name| name == column.name);
        places.push(place.ok_or_else(|| bad(path, format!("`{}` is missing", column.name)))?);
    }
    let mut rows = Vec::new();
    for (number, fields) in (2..).zip(lines) {
        if fields.len() != head.len() {
            let (found, wanted) = (fields.len(), head.len());
            return Err(bad(
                path,
                format!("line {number} has {found} fields instead of {wanted}"),
            ));
        }
        let cells = table.columns.iter().zip(&places).map(|(column, &place)| {
            csv_cell(column, &fields[place])
                .map_err(|error| bad(path, format!("line {number}, `{}`: {error}", column.name)))
        });
        rows.push(cells.collect::<Result<Cells, Error>>()?);
    }
    Ok(rows)
}

/// A field as a value: an empty one is none, but for a column of texts that always has one.
fn csv_cell(column: &Column, field: &str) -> Result<Cell, serde_json::Error> {
    match column.kind {
        Kind::Text if field.is_empty() && column.may_be_none => Ok(Cell::Text(None)),
        Kind::Text => Ok(Cell::Text(Some(csv::unguarded(field).to_owned()))),
        Kind::Json if field.is_empty() => Ok(Cell::Text(None)),
        Kind::Json => {
            let read: &RawValue = serde_json::from_str(field)?;
            Ok(Cell::Text(Some(read.get().to_owned())))
        }
        Kind::Integer if field.is_empty() => Ok(Cell::Integer(None)),
        Kind::Integer => serde_json::from_str(field).map(Cell::Integer),
        Kind::Real if field.is_empty() => Ok(Cell::Real(None)),
        Kind::Real => serde_json::from_str(field).map(Cell::Real),
    }
}
