//! What each command does.

mod advise;
mod boards;
mod calibrate;
mod demo;
mod drive;
mod lasting;
mod measure;
mod propose;
mod receive;
mod records;
mod stock;
mod tension;
mod visits;

use crate::arguments::{Arguments, BoardCommand, Command, StockCommand};
use crate::arguments_of_records::VisitCommand;
use crate::shell;
use shimwright_app::bridge::Failure;
use shimwright_app::{
    Home, Tables, Workshop, history_folder, history_home, shared_photos, system_clock, write_target_sheets,
};
use std::path::PathBuf;

/// Does what the command line asks.
pub async fn run(arguments: Arguments) -> Result<(), Failure> {
    let place = Place {
        folder: arguments.data_dir,
        history: arguments.history,
        photos: arguments.photos,
    };
    match arguments.command {
        Command::Measure(asked) => measure::measure(asked, &place).await,
        Command::Propose(asked) => propose::propose(asked, &place).await,
        Command::Receive(asked) => receive::receive(asked, &place).await,
        Command::Save(asked) => measure::save(asked, &place).await,
        Command::Advise(asked) => advise::advise(*asked, &place).await,
        Command::Record(asked) => records::record(asked, &place).await,
        Command::Bundle(asked) => records::bundle(asked, &place).await,
        Command::Verify(asked) => records::verify(asked, &place).await,
        Command::Key(asked) => records::key(asked, &place).await,
        Command::Shop(asked) => visits::shop(asked, &place).await,
        Command::Visit(VisitCommand::Note(asked)) => visits::note(*asked, &place).await,
        Command::Tension(asked) => tension::tension(asked).await,
        Command::Calibrate(asked) => calibrate::calibrate(asked, &place).await,
        Command::Targets(asked) => {
            let files = write_target_sheets(&asked.sheet, &asked.paper, &asked.out)?;
            let lines: String = files.iter().map(|file| format!("{}\n", file.display())).collect();
            shell::print(&lines)
        }
        Command::Demo(asked) => demo::demo(asked, &place).await,
        Command::Board(BoardCommand::Add(asked)) => boards::add(*asked, &place).await,
        Command::Board(BoardCommand::List { search, json }) => {
            boards::list(search.as_deref(), json, &place).await
        }
        Command::Board(BoardCommand::Show { board, json }) => boards::show(&board, json, &place).await,
        Command::Board(BoardCommand::Describe(asked)) => drive::describe(asked, &place).await,
        Command::Board(BoardCommand::Serviced(asked)) => drive::serviced(asked, &place).await,
        Command::Stock(StockCommand::Add {
            label,
            thickness,
            u95,
            count,
        }) => stock::add(label, &thickness, &u95, count, &place).await,
        Command::Stock(StockCommand::List { json }) => stock::list(json, &place).await,
        Command::Trend(asked) => lasting::trend(asked, &place).await,
        Command::Backup(asked) => lasting::backup(asked, &place).await,
        Command::Restore(asked) => lasting::restore(asked, &place).await,
        Command::Export(asked) => lasting::export(asked, &place).await,
        Command::Import(asked) => lasting::import(asked, &place).await,
        Command::Photos(asked) => lasting::photos(asked, &place).await,
    }
}

/// Where the history lies, if the command line says.
pub struct Place {
    folder: Option<PathBuf>,
    history: Option<String>,
    photos: Option<String>,
}

impl Place {
    /// The folder, or that in the user's own data folder.
    pub fn folder(&self) -> Result<PathBuf, Failure> {
        match &self.folder {
            Some(folder) => Ok(folder.clone()),
            None => history_folder(),
        }
    }

    /// Opens the workshop there.
    pub async fn open(&self) -> Result<Workshop, Failure> {
        let workshop = Workshop::open_home(&self.home()?, system_clock).await?;
        if let Some(notice) = workshop.notice() {
            shell::say(notice);
        }
        Ok(workshop)
    }

    /// Where the history lies.
    pub fn home(&self) -> Result<Home, Failure> {
        let set = history_home(&self.folder()?)?;
        Ok(Home {
            database: self.history.clone().or(set.database),
            photos: self.photos.clone().map(shared_photos).or(set.photos),
            ..set
        })
    }

    /// Torque table and service checks of that folder, without opening a history.
    pub fn tables(&self) -> Result<Tables, Failure> {
        Tables::in_folder(&self.folder()?)
    }

    /// Opens the workshop if there is a history: who only checks something leaves no folder behind.
    pub async fn open_if_there(&self) -> Result<Option<Workshop>, Failure> {
        let folder = self.folder()?;
        if !folder.join("history.sqlite3").exists() {
            return Ok(None);
        }
        Workshop::open(&folder).await.map(Some)
    }
}
