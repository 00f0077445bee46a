//! Printable sheets of the targets.

use crate::bridge::Failure;
use shimwright_report::{Paper, Sheet, target_sheets};
use shimwright_say::say;
use shimwright_target::TargetSet;
use std::path::{Path, PathBuf};

/// Writes the sheets of the built-in targets as PDF files into a folder; gives their paths.
///
/// `sheet` is `all`, `bench-sheet`, `mount-card` or `hub-ring`; `paper` is `a4` or `letter`.
///
/// # Errors
/// Bad input for a name that means nothing and for a folder that cannot be written.
pub fn write_target_sheets(sheet: &str, paper: &str, folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let sheet = Sheet::from_name(sheet).ok_or_else(|| {
        let known: Vec<&str> = Sheet::ALL.into_iter().map(Sheet::name).collect();
        Failure::bad_input(
            say!("there is no sheet `{sheet}`"),
            say!("use one of {}", known.join(", ")),
        )
    })?;
    let paper = Paper::from_name(paper).ok_or_else(|| {
        let known: Vec<&str> = Paper::ALL.into_iter().map(Paper::name).collect();
        Failure::bad_input(
            say!("there is no paper `{paper}`"),
            say!("use one of {}", known.join(", ")),
        )
    })?;
    let sheets = target_sheets(sheet, paper, &TargetSet::built_in())?;
    let files = sheets
        .iter()
        .map(|sheet| (sheet.file_name.as_str(), sheet.bytes.as_slice()));
    write_files(folder, files)
}

/// Writes files into a folder, which is made when it is not there; gives their paths.
///
/// # Errors
/// Bad input when the folder cannot be written.
pub fn write_files<'a>(
    folder: &Path,
    files: impl Iterator<Item = (&'a str, &'a [u8])>,
) -> Result<Vec<PathBuf>, Failure> {
    let unwritable = |error: std::io::Error| {
        Failure::bad_input(
            say!("the folder for the results cannot be written ({error})"),
            say!("choose another one than {}", folder.display()),
        )
    };
    std::fs::create_dir_all(folder).map_err(unwritable)?;
    files
        .map(|(name, bytes)| {
            let path = folder.join(name);
            std::fs::write(&path, bytes).map_err(unwritable)?;
            Ok(path)
        })
        .collect()
}
