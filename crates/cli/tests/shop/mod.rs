//! A folder with the demo's files, and the real program to run in it.
#![allow(dead_code)]

use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A folder with the demo's photos and jobs, and a history folder beside it.
pub struct Shop {
    folder: tempfile::TempDir,
}

impl Shop {
    /// A new one.
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        for name in [
            "camera.json",
            "left.json",
            "left-1.jpg",
            "left-2.jpg",
            "left-3.jpg",
            "right-1.jpg",
            "right-2.jpg",
        ] {
            let from = Path::new(env!("CARGO_MANIFEST_DIR"))
                .join("../../calibration/demo")
                .join(name);
            std::fs::copy(from, folder.path().join(name)).unwrap();
        }
        Self { folder }
    }

    /// A file in it.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Writes a file.
    pub fn write(&self, name: &str, bytes: &[u8]) {
        std::fs::write(self.path(name), bytes).unwrap();
    }

    /// The left corner's job, to be spoilt.
    pub fn job(&self) -> Value {
        serde_json::from_slice(&std::fs::read(self.path("left.json")).unwrap()).unwrap()
    }

    /// Writes a job and gives its path.
    pub fn write_job(&self, job: &Value) -> PathBuf {
        self.write("job.json", job.to_string().as_bytes());
        self.path("job.json")
    }

    /// Runs the program with these arguments.
    pub fn run<A: AsRef<std::ffi::OsStr>>(&self, arguments: impl IntoIterator<Item = A>) -> Output {
        Command::new(env!("CARGO_BIN_EXE_shimwright"))
            .args(arguments)
            .env("SHIMWRIGHT_DATA_DIR", self.path("history"))
            .current_dir(self.folder.path())
            .output()
            .unwrap()
    }

    /// Runs it and reads the one JSON document that it prints.
    pub fn json<A: AsRef<std::ffi::OsStr>>(&self, arguments: impl IntoIterator<Item = A>) -> Value {
        let output = self.run(arguments);
        assert_eq!(
            output.status.code(),
            Some(0),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        serde_json::from_slice(&output.stdout).unwrap()
    }
}

/// Checks that a run was refused: this exit status, nothing on the output, one line of trouble; gives the line.
pub fn refused(output: &Output, status: i32) -> String {
    let trouble = String::from_utf8(output.stderr.clone()).unwrap();
    assert_eq!(output.status.code(), Some(status), "{trouble}");
    assert!(
        output.stdout.is_empty(),
        "{}",
        String::from_utf8_lossy(&output.stdout)
    );
    assert_eq!(trouble.lines().count(), 1, "{trouble:?}");
    assert!(
        trouble.starts_with("shimwright: ") && trouble.contains("; "),
        "{trouble:?}"
    );
    trouble.trim_end().to_owned()
}

/// Measures a spoilt job, then tries to keep it: both must refuse alike and leave nothing behind.
pub fn refuse(shop: &Shop, job: &Value, status: i32) -> String {
    let path = shop.write_job(job);
    let trouble = refused(&shop.run(["measure".as_ref(), path.as_os_str()]), status);
    assert_eq!(
        refused(
            &shop.run(["measure".as_ref(), path.as_os_str(), "--json".as_ref()]),
            status
        ),
        trouble
    );
    let board = String::from_utf8(shop.run(["board", "add", "Marlin"]).stdout).unwrap();
    let board = board.trim();
    let save = [
        "save".as_ref(),
        path.as_os_str(),
        "--board".as_ref(),
        board.as_ref(),
        "--corner".as_ref(),
        "left".as_ref(),
    ];
    assert_eq!(refused(&shop.run(save), status), trouble);
    let record = shop.json(["record", "--board", board, "--json"]);
    assert_eq!(record["history"], json!([]), "something was stored");
    let photos = std::fs::read_dir(shop.path("history/photos")).unwrap();
    let names: Vec<_> = photos.map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(names, ["unfinished"], "a photo was stored");
    trouble
}
