//! `calibrate`.

use super::measure::{print_result, run};
use crate::arguments::Calibrate;
use shimwright_app::bridge::Failure;
use shimwright_app::{LoadedPhoto, calibration_job, camera_profile, load_photo, write_files};
use std::path::Path;

/// Calibrates a camera and writes its profile.
pub async fn calibrate(asked: Calibrate) -> Result<(), Failure> {
    let photos = asked
        .photos
        .iter()
        .map(|path| load_photo(path, &path.display().to_string()))
        .collect::<Result<Vec<LoadedPhoto>, Failure>>()?;
    let (loaded, result) = run(calibration_job(photos)?).await?;
    let profile = camera_profile(&result, &loaded.photos)?.to_json() + "\n";
    let folder = asked
        .out
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let name = asked
        .out
        .file_name()
        .and_then(|name| name.to_str())
        .ok_or_else(|| {
            Failure::bad_input(
                "--out names no file",
                "name the profile to write, such as camera.json",
            )
        })?;
    write_files(folder, std::iter::once((name, profile.as_bytes())))?;
    print_result(&result, asked.form)
}
