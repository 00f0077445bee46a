//! All of the history as files that other programs read, and back from those.

use crate::database::{Reached, Session, own_schema, reach_sqlite};
use crate::folder::{beside, sync_folder};
use crate::tables::{Cell, Cells, Kind, TABLES, Table};
use crate::{Error, History, PhotoStore, aside};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufReader, BufWriter, Write};
use std::path::{Path, PathBuf};

mod values;
mod words;

/// What an export says of itself.
pub(crate) const EXPORT: &str = "export.json";
/// What the columns mean.
const COLUMNS: &str = "COLUMNS.md";

/// How an export is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExportForm {
    /// A file of comma-separated values for each table (RFC 4180), for spreadsheets.
    Csv,
    /// A list of objects in JSON for each table; can be imported again.
    Json,
}

/// What was exported.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Exported {
    /// The folder.
    pub folder: PathBuf,
    /// How many rows its files hold, by file.
    pub rows: BTreeMap<String, u64>,
    /// How many photos lie beside them.
    pub photos: u64,
    /// Photos that records name and that are missing or damaged.
    pub left_out: Vec<String>,
}

#[derive(Debug, Serialize, Deserialize)]
struct Head {
    what: String,
    program: String,
    schema: i64,
}

const WHAT: &str = "shimwright export";

impl ExportForm {
    fn end(self) -> &'static str {
        match self {
            Self::Csv => "csv",
            Self::Json => "json",
        }
    }
}

impl History {
    /// Writes all of the history into a new folder: a file for each table, the measured values as a table of their own,
    /// and `COLUMNS.md`, which says what each column means; with photos, if asked, as `photos/AB/SHA256`.
    ///
    /// # Errors
    /// [`Error::Exists`] when the folder is there already, [`Error::DiskFull`], [`Error::NotWritable`]; then there is no
    /// such folder.
    pub async fn export(
        &self,
        folder: &Path,
        form: ExportForm,
        with_photos: bool,
    ) -> Result<Exported, Error> {
        if folder.exists() {
            return Err(Error::Exists(folder.to_owned()));
        }
        let unfinished = beside(folder, ".unfinished");
        // One that an export left which was broken off.
        let _ = std::fs::remove_dir_all(&unfinished);
        let written = self
            .write_export(&unfinished, form, with_photos)
            .await
            .and_then(|mut done| {
                std::fs::rename(&unfinished, folder).map_err(Error::not_writable(folder))?;
                done.folder = folder.to_owned();
                Ok(done)
            });
        if written.is_err() {
            let _ = std::fs::remove_dir_all(&unfinished);
        }
        written
    }

    async fn write_export(
        &self,
        folder: &Path,
        form: ExportForm,
        with_photos: bool,
    ) -> Result<Exported, Error> {
        let mut done = Exported {
            folder: folder.to_owned(),
            rows: BTreeMap::new(),
            photos: 0,
            left_out: Vec::new(),
        };
        std::fs::create_dir_all(folder).map_err(Error::not_writable(folder))?;
        let mut session = self.database.read().await?;
        for table in TABLES {
            let name = format!("{}.{}", table.name, form.end());
            let rows = write_table(&mut session, table, &folder.join(&name), form).await?;
            done.rows.insert(name, rows);
        }
        let name = format!("values.{}", form.end());
        let rows = values::write(&mut session, &folder.join(&name), form).await?;
        done.rows.insert(name, rows);
        let head = Head {
            what: WHAT.into(),
            program: self.program.clone(),
            schema: own_schema(),
        };
        let text = serde_json::to_string_pretty(&head).map_err(Error::stored("head"))? + "\n";
        put(&folder.join(COLUMNS), &words::columns(form))?;
        if form == ExportForm::Json {
            put(&folder.join(EXPORT), &text)?;
        }
        if with_photos {
            let names = session
                .query("SELECT sha256 FROM photos ORDER BY sha256")
                .all()
                .await?;
            let names: Vec<String> = names
                .iter()
                .map(|row| row.get("sha256"))
                .collect::<Result<_, Error>>()?;
            drop(session);
            (done.photos, done.left_out) = self.export_photos(names, &folder.join("photos")).await?;
        }
        sync_folder(folder).map_err(Error::not_writable(folder))?;
        Ok(done)
    }

    async fn export_photos(&self, names: Vec<String>, folder: &Path) -> Result<(u64, Vec<String>), Error> {
        let (from, folder) = (self.photos.clone(), folder.to_owned());
        aside(move || {
            let to = PhotoStore::open(&folder)?;
            let (mut photos, mut left_out) = (0, Vec::new());
            for name in names {
                match from.get(&name) {
                    Ok(bytes) => {
                        to.put(&bytes)?;
                        photos += 1;
                    }
                    Err(Error::NotFound { .. } | Error::PhotoChanged { .. }) => left_out.push(name),
                    Err(error) => return Err(error),
                }
            }
            Ok((photos, left_out))
        })
        .await
    }
}

fn put(path: &Path, text: &str) -> Result<(), Error> {
    std::fs::write(path, text).map_err(Error::not_writable(path))
}

/// A file that grows row by row, in either form.
struct Rows {
    out: BufWriter<File>,
    path: PathBuf,
    form: ExportForm,
    names: Vec<&'static str>,
    count: u64,
}

impl Rows {
    fn new(path: &Path, form: ExportForm, names: Vec<&'static str>) -> Result<Self, Error> {
        let out = BufWriter::new(File::create(path).map_err(Error::not_writable(path))?);
        let mut rows = Self {
            out,
            path: path.to_owned(),
            form,
            names,
            count: 0,
        };
        let head = match form {
            ExportForm::Csv => rows.names.join(",") + "\r\n",
            ExportForm::Json => "[".to_owned(),
        };
        rows.write(&head)?;
        Ok(rows)
    }

    fn write(&mut self, text: &str) -> Result<(), Error> {
        self.out
            .write_all(text.as_bytes())
            .map_err(Error::not_writable(&self.path))
    }

    /// Adds a row of values that are JSON texts already.
    fn add(&mut self, values: &[String]) -> Result<(), Error> {
        let line = match self.form {
            ExportForm::Csv => values.iter().map(|text| csv(text)).collect::<Vec<_>>().join(",") + "\r\n",
            ExportForm::Json => {
                let pairs: Vec<String> = self
                    .names
                    .iter()
                    .zip(values)
                    .map(|(name, text)| format!("\"{name}\": {text}"))
                    .collect();
                format!(
                    "{}\n{{{}}}",
                    if self.count > 0 { "," } else { "" },
                    pairs.join(", ")
                )
            }
        };
        self.count += 1;
        self.write(&line)
    }

    fn finish(mut self) -> Result<u64, Error> {
        if self.form == ExportForm::Json {
            self.write("\n]\n")?;
        }
        let made = self.out.into_inner().map_err(std::io::IntoInnerError::into_error);
        made.and_then(|file| file.sync_all())
            .map_err(Error::not_writable(&self.path))?;
        Ok(self.count)
    }
}

/// A JSON text as a field: a string without its quotes, empty for null, all else as it is; quoted where RFC 4180 asks.
fn csv(json: &str) -> String {
    let text = match json {
        "null" => String::new(),
        _ if json.starts_with('"') => serde_json::from_str(json).unwrap_or_else(|_| json.to_owned()),
        _ => json.to_owned(),
    };
    if text.contains(['"', ',', '\r', '\n']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

/// A value as JSON. Texts that hold JSON stand in it as they are.
fn json(kind: Kind, cell: &Cell) -> Result<String, Error> {
    let text = match cell {
        Cell::Text(Some(text)) if kind == Kind::Json => Ok(text.clone()),
        Cell::Text(text) => serde_json::to_string(text),
        Cell::Integer(number) => serde_json::to_string(number),
        Cell::Real(number) => serde_json::to_string(number),
    };
    text.map_err(Error::stored("value"))
}

async fn write_table(
    session: &mut Session,
    table: &'static Table,
    path: &Path,
    form: ExportForm,
) -> Result<u64, Error> {
    let mut out = Rows::new(
        path,
        form,
        table.columns.iter().map(|column| column.name).collect(),
    )?;
    let mut last: Option<Cells> = None;
    loop {
        let page = table.page(session, last.as_ref()).await?;
        for cells in &page {
            let values = table
                .columns
                .iter()
                .zip(cells)
                .map(|(column, cell)| json(column.kind, cell));
            out.add(&values.collect::<Result<Vec<_>, Error>>()?)?;
        }
        match page.into_iter().next_back() {
            Some(cells) => last = Some(cells),
            None => return out.finish(),
        }
    }
}

/// Reads an export in JSON into a new database.
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
        let path = folder.join(format!("{}.json", table.name));
        let rows: Vec<BTreeMap<String, Box<RawValue>>> = read_file(&path)?;
        for row in &rows {
            table.insert(&mut session, &cells_of(table, row, &path)?).await?;
        }
    }
    session.commit().await?;
    into.close().await;
    Ok(())
}

fn read_file<T: serde::de::DeserializeOwned>(path: &Path) -> Result<T, Error> {
    let bad = |why: String| Error::BadExport {
        why,
        path: path.to_owned(),
    };
    let file = File::open(path).map_err(|error| bad(error.to_string()))?;
    serde_json::from_reader(BufReader::new(file)).map_err(|error| bad(error.to_string()))
}

fn cells_of(table: &Table, row: &BTreeMap<String, Box<RawValue>>, path: &Path) -> Result<Cells, Error> {
    let bad = |why: String| Error::BadExport {
        why,
        path: path.to_owned(),
    };
    if let Some(name) = row.keys().find(|name| table.place(name) == table.columns.len()) {
        return Err(bad(format!("there is no column called {name:?}")));
    }
    table
        .columns
        .iter()
        .map(|column| {
            let raw = row
                .get(column.name)
                .ok_or_else(|| bad(format!("`{}` is missing", column.name)))?
                .get();
            let read = match column.kind {
                Kind::Json if raw == "null" => Ok(Cell::Text(None)),
                Kind::Json => Ok(Cell::Text(Some(raw.to_owned()))),
                Kind::Text => serde_json::from_str(raw).map(Cell::Text),
                Kind::Integer => serde_json::from_str(raw).map(Cell::Integer),
                Kind::Real => serde_json::from_str(raw).map(Cell::Real),
            };
            read.map_err(|error| bad(format!("`{}`: {error}", column.name)))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::csv;

    #[test]
    fn fields_are_quoted_where_they_must_be() {
        assert_eq!(csv("null"), "");
        assert_eq!(csv("1.5"), "1.5");
        assert_eq!(csv("\"7/16 in\""), "7/16 in");
        assert_eq!(csv("\"a, \\\"b\\\"\\nc\""), "\"a, \"\"b\"\"\nc\"");
        assert_eq!(csv("{\"a\":1,\"b\":2}"), "\"{\"\"a\"\":1,\"\"b\"\":2}\"");
    }
}
