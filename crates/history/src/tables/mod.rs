//! Every table of the history as data: what is exported, imported, and copied from one database into another.
//!
//! A test holds this list to both databases' schemas.

mod list;

use crate::Error;
use crate::database::{Database, Reached, Row, Session, reach_sqlite};
pub(crate) use list::TABLES;
use std::path::Path;

/// Rows that are read at once.
const PAGE: i64 = 500;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Text,
    /// Text that is JSON.
    Json,
    Integer,
    Real,
}

/// A column. Its name ends with its unit when it has one.
#[derive(Debug)]
pub(crate) struct Column {
    pub name: &'static str,
    pub kind: Kind,
    /// Whether two rows with the same key are different when this column is.
    pub told_apart: bool,
    /// Whether a text may be none, and not just empty.
    pub may_be_none: bool,
    pub about: &'static str,
}

/// A table.
#[derive(Debug)]
pub(crate) struct Table {
    pub name: &'static str,
    /// How many of the first columns are its key, by which its rows are ordered.
    pub keys: usize,
    pub columns: &'static [Column],
    pub about: &'static str,
}

/// A value of a row.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Cell {
    Text(Option<String>),
    Integer(Option<i64>),
    Real(Option<f64>),
}

/// The values of a row, in the order of its table's columns.
pub(crate) type Cells = Vec<Cell>;

/// A table by its name.
pub(crate) fn table(name: &str) -> Result<&'static Table, Error> {
    TABLES
        .iter()
        .find(|table| table.name == name)
        .ok_or_else(|| Error::damaged(format!("no table called {name}")))
}

impl Table {
    /// Its key columns.
    pub(crate) fn key(&self) -> &'static [Column] {
        &self.columns[..self.keys]
    }

    /// The place of a column.
    pub(crate) fn place(&self, column: &str) -> usize {
        // A name that is not there is a fault of the program, and the tests of import and export would see it.
        self.columns
            .iter()
            .position(|known| known.name == column)
            .unwrap_or(self.columns.len())
    }

    fn names(&self) -> String {
        list(self.columns.iter().map(|column| column.name.to_owned()))
    }

    /// The rows after a key, in the order of keys, at most a page; all of them come by asking on until none is left.
    pub(crate) async fn page(
        &'static self,
        session: &mut Session,
        after: Option<&Cells>,
    ) -> Result<Vec<Cells>, Error> {
        let keys = list(self.key().iter().map(|column| column.name.to_owned()));
        let condition = match after {
            None => String::new(),
            Some(_) => format!(" WHERE ({keys}) > ({})", places(2, self.keys)),
        };
        let names = self.names();
        let sql = format!(
            "SELECT {names} FROM {}{condition} ORDER BY {keys} LIMIT $1",
            self.name
        );
        let mut statement = session.query_built(sql).bind(PAGE);
        for cell in after.into_iter().flat_map(|cells| &cells[..self.keys]) {
            statement = bind(statement, cell);
        }
        statement.all().await?.iter().map(|row| self.read(row)).collect()
    }

    /// The row with a key.
    pub(crate) async fn row(&self, session: &mut Session, key: &[Cell]) -> Result<Option<Cells>, Error> {
        let conditions: Vec<String> = self
            .key()
            .iter()
            .enumerate()
            .map(|(i, column)| format!("{} = ${}", column.name, i + 1))
            .collect();
        let sql = format!(
            "SELECT {} FROM {} WHERE {}",
            self.names(),
            self.name,
            conditions.join(" AND ")
        );
        let mut statement = session.query_built(sql);
        for cell in key {
            statement = bind(statement, cell);
        }
        statement.first().await?.map(|row| self.read(&row)).transpose()
    }

    /// Adds a row.
    pub(crate) async fn insert(&self, session: &mut Session, cells: &Cells) -> Result<(), Error> {
        let values = places(1, self.columns.len());
        let sql = format!("INSERT INTO {} ({}) VALUES ({values})", self.name, self.names());
        let mut statement = session.query_built(sql);
        for cell in cells {
            statement = bind(statement, cell);
        }
        statement.run().await.map(drop)
    }

    fn read(&self, row: &Row) -> Result<Cells, Error> {
        self.columns
            .iter()
            .map(|column| {
                Ok(match column.kind {
                    Kind::Text | Kind::Json => Cell::Text(row.get(column.name)?),
                    Kind::Integer => Cell::Integer(row.get(column.name)?),
                    Kind::Real => Cell::Real(row.get(column.name)?),
                })
            })
            .collect()
    }
}

fn list(names: impl Iterator<Item = String>) -> String {
    names.collect::<Vec<_>>().join(", ")
}

fn places(first: usize, count: usize) -> String {
    list((first..first + count).map(|place| format!("${place}")))
}

fn bind<'s>(statement: crate::database::Statement<'s>, cell: &Cell) -> crate::database::Statement<'s> {
    match cell {
        Cell::Text(text) => statement.bind(text.as_deref()),
        Cell::Integer(number) => statement.bind(*number),
        Cell::Real(number) => statement.bind(*number),
    }
}

/// Writes the state of this moment of any database into a new SQLite file of this program's form.
pub(crate) async fn copy_into(from: &Database, file: &Path, program: &str) -> Result<(), Error> {
    let into = reach_sqlite(file, Reached::ToWrite, program).await?;
    let (mut source, mut target) = (from.read().await?, into.write().await?);
    for table in TABLES {
        let mut last: Option<Cells> = None;
        loop {
            let page = table.page(&mut source, last.as_ref()).await?;
            for cells in &page {
                table.insert(&mut target, cells).await?;
            }
            match page.into_iter().next_back() {
                Some(cells) => last = Some(cells),
                None => break,
            }
        }
    }
    target.commit().await?;
    into.close().await;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Columns that a database keeps for itself: they are made anew on import.
    const INTERNAL: &[(&str, &str)] = &[("boards", "revision"), ("boards", "search")];
    /// Tables of the database's own upkeep.
    const UPKEEP: &[&str] = &["_sqlx_migrations", "program", "stock_state"];

    #[tokio::test]
    async fn the_list_is_the_schema() {
        let dir = tempfile::tempdir().unwrap();
        let database = reach_sqlite(&dir.path().join("h.sqlite3"), Reached::ToWrite, "0.1.0")
            .await
            .unwrap();
        let mut session = database.read().await.unwrap();
        let rows = session
            .query(
                "SELECT t.name AS in_table, c.name AS name FROM sqlite_schema t JOIN pragma_table_info(t.name) c
                 WHERE t.type = 'table' AND t.name NOT LIKE 'sqlite_%' ORDER BY t.name, c.cid",
            )
            .all()
            .await
            .unwrap();
        let mut there: Vec<(String, String)> = rows
            .iter()
            .map(|row| (row.get("in_table").unwrap(), row.get("name").unwrap()))
            .filter(|(table, column): &(String, String)| {
                !UPKEEP.contains(&table.as_str()) && !INTERNAL.contains(&(table.as_str(), column.as_str()))
            })
            .collect();
        let mut listed: Vec<(String, String)> = TABLES
            .iter()
            .flat_map(|table| {
                table
                    .columns
                    .iter()
                    .map(|column| (table.name.to_owned(), column.name.to_owned()))
            })
            .collect();
        there.sort();
        listed.sort();
        assert_eq!(there, listed);
        for table in TABLES {
            for column in table.columns.iter().filter(|column| column.kind == Kind::Text) {
                // SQLite lets keys be none for history's sake; ours never are.
                let sql = "SELECT count(*) FROM pragma_table_info($1) WHERE name = $2 AND \"notnull\" = 0 AND pk = 0";
                let none = session
                    .query(sql)
                    .bind(table.name)
                    .bind(column.name)
                    .number()
                    .await
                    .unwrap();
                assert_eq!(none == 1, column.may_be_none, "{}.{}", table.name, column.name);
            }
        }
    }
}
