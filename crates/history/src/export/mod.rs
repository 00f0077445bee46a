//! All of the history as files that other programs read, and back from those.

use crate::backup::GoneOut;
use crate::database::{Session, own_schema};
use crate::folder::{beside, sync_folder};
use crate::photos::sums_of;
use crate::tables::{Cell, Cells, Kind, TABLES, Table};
use crate::{Error, History, PhotoStore, PhotosOut, aside};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

mod csv;
mod read;
mod values;
mod words;

pub(crate) use read::read_export;

/// What an export says of itself.
pub(crate) const EXPORT: &str = "export.json";
/// What the columns mean.
const COLUMNS: &str = "COLUMNS.md";

/// How an export is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ExportForm {
    /// A file of comma-separated values for each table (RFC 4180), for spreadsheets.
    Csv,
    /// A list of objects in JSON for each table.
    #[default]
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
    /// How many of them are copies without place data.
    pub copies: u64,
    /// Photos that records name and that are missing or damaged.
    pub left_out: Vec<String>,
    /// Photos that are not there because no copy without place data can be made of them.
    pub kept_back: Vec<String>,
}

#[derive(Debug, Serialize, Deserialize)]
struct Head {
    what: String,
    program: String,
    schema: i64,
    /// How the rows are written; an export that does not say is JSON.
    #[serde(default)]
    form: ExportForm,
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
    /// Writes all of the history into a new folder, from which it can be imported again: a file for each table, the measured values as a table of their own,
    /// and `COLUMNS.md`, which says what each column means; with photos, if asked, as `photos/AB/SHA256`, or
    /// `photos/AB/SHA256-COPY` for a copy without place data.
    ///
    /// # Errors
    /// [`Error::Exists`] when the folder is there already, [`Error::DiskFull`], [`Error::NotWritable`]; then there is no
    /// such folder.
    pub async fn export(
        &self,
        folder: &Path,
        form: ExportForm,
        photos: Option<PhotosOut>,
    ) -> Result<Exported, Error> {
        if folder.exists() {
            return Err(Error::Exists(folder.to_owned()));
        }
        let unfinished = beside(folder, ".unfinished");
        // One that an export left which was broken off.
        let _ = std::fs::remove_dir_all(&unfinished);
        let written = self
            .write_export(&unfinished, form, photos)
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
        photos: Option<PhotosOut>,
    ) -> Result<Exported, Error> {
        let mut done = Exported {
            folder: folder.to_owned(),
            rows: BTreeMap::new(),
            photos: 0,
            copies: 0,
            left_out: Vec::new(),
            kept_back: Vec::new(),
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
            form,
        };
        let text = serde_json::to_string_pretty(&head).map_err(Error::stored("head"))? + "\n";
        put(&folder.join(COLUMNS), &words::columns(form))?;
        put(&folder.join(EXPORT), &text)?;
        if let Some(photos) = photos {
            let names = session
                .query("SELECT sha256 FROM photos ORDER BY sha256")
                .all()
                .await?;
            let names: Vec<String> = names
                .iter()
                .map(|row| row.get("sha256"))
                .collect::<Result<_, Error>>()?;
            drop(session);
            let gone = self.export_photos(names, &folder.join("photos"), photos).await?;
            (done.photos, done.copies) = (gone.photos, gone.copies);
            (done.left_out, done.kept_back) = (gone.left_out, gone.kept_back);
        }
        sync_folder(folder).map_err(Error::not_writable(folder))?;
        Ok(done)
    }

    async fn export_photos(
        &self,
        names: Vec<String>,
        folder: &Path,
        photos: PhotosOut,
    ) -> Result<GoneOut, Error> {
        let (from, folder) = (self.photos.clone(), folder.to_owned());
        aside(move || {
            let to = PhotoStore::open(&folder)?;
            photos.let_out(&names, &from, |name, bytes| match sums_of(name) {
                Some((original, Some(_))) => to.put_copy(original, bytes),
                _ => to.put(bytes).map(drop),
            })
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
            ExportForm::Csv => {
                values
                    .iter()
                    .map(|text| csv::field(text))
                    .collect::<Vec<_>>()
                    .join(",")
                    + "\r\n"
            }
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
