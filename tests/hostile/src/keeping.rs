//! The entrances that need a history: what is imported. One history serves a whole process.

use shimwright_app::{ExportForm, ExportPhotos, OnConflict, Workshop};
use std::future::Future;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, OnceLock, PoisonError};
use tempfile::TempDir;
use tokio::runtime::Runtime;

/// The table of an export that is spoiled: the one with most kinds of columns.
const TABLE: &str = "boards.json";

/// Where a process keeps what its entrances need.
pub(crate) struct House {
    /// A folder with what a job file names.
    pub jobs: PathBuf,
    /// A whole backup.
    pub backup: Vec<u8>,
    /// A whole export.
    exported: PathBuf,
    workshop: Workshop,
    runtime: Runtime,
    /// Imports one after the other: they share files.
    turn: Mutex<()>,
    folder: TempDir,
}

/// The house of this process.
pub(crate) fn house() -> &'static House {
    static HOUSE: OnceLock<House> = OnceLock::new();
    HOUSE.get_or_init(|| House::new().expect("a temporary folder holds a history"))
}

type Trouble = Box<dyn std::error::Error>;

impl House {
    fn new() -> Result<Self, Trouble> {
        let folder = tempfile::tempdir()?;
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()?;
        let at = |name: &str| folder.path().join(name);
        let workshop = now(&runtime, async {
            let workshop = Workshop::open(&at("history")).await?;
            workshop.load_demo().await?;
            workshop.back_up(&at("backup"), false).await?;
            workshop
                .export(&at("export"), ExportForm::Json, ExportPhotos::None)
                .await?;
            Ok::<_, shimwright_app::bridge::Failure>(workshop)
        })
        .map_err(|failure| failure.message.to_string())?;
        let jobs = at("jobs");
        std::fs::create_dir(&jobs)?;
        let corpus = crate::seeds::corpus();
        for (name, from) in [
            ("a.jpg", "photo/baseline-420.jpg"),
            ("b.jpg", "photo/grey.jpg"),
            ("camera.json", "camera/small.json"),
            ("pluck.wav", "sound/pluck-16.wav"),
        ] {
            std::fs::copy(corpus.join(from), jobs.join(name))?;
        }
        Ok(Self {
            jobs,
            backup: std::fs::read(at("backup"))?,
            exported: at("export"),
            workshop,
            runtime,
            turn: Mutex::new(()),
            folder,
        })
    }

    /// The table of the export as it is when nobody spoils it.
    pub fn table(&self) -> Result<Vec<u8>, std::io::Error> {
        std::fs::read(self.exported.join(TABLE))
    }

    fn taken_in(&self, from: &Path) -> bool {
        now(&self.runtime, self.workshop.import(from, OnConflict::KeepBoth)).is_ok()
    }
}

fn now<T>(runtime: &Runtime, work: impl Future<Output = T>) -> T {
    runtime.block_on(work)
}

/// A file to import: a backup or a bundle.
pub(crate) fn import(bytes: &[u8]) -> bool {
    let house = house();
    let _turn = house.turn.lock().unwrap_or_else(PoisonError::into_inner);
    let file = house.folder.path().join("handed-in");
    std::fs::write(&file, bytes).is_ok() && house.taken_in(&file)
}

/// A table of an export, the rest of which is sound.
pub(crate) fn export(bytes: &[u8]) -> bool {
    let house = house();
    let _turn = house.turn.lock().unwrap_or_else(PoisonError::into_inner);
    let Ok(sound) = house.table() else { return false };
    let table = house.exported.join(TABLE);
    let taken = std::fs::write(&table, bytes).is_ok() && house.taken_in(&house.exported);
    std::fs::write(&table, sound).is_ok() && taken
}
