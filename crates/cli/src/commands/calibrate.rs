//! `calibrate`.

use super::Place;
use super::measure::{print_result, run};
use crate::arguments::Calibrate;
use shimwright_app::bridge::Failure;
use shimwright_app::{LoadedPhoto, calibration_job, camera_profile, keep_profile, load_photo, write_files};
use shimwright_say::say;
use std::path::Path;

/// Calibrates a camera and writes its profile.
pub async fn calibrate(asked: Calibrate, place: &Place) -> Result<(), Failure> {
    let photos = asked
        .photos
        .iter()
        .map(|path| load_photo(path, &path.display().to_string()))
        .collect::<Result<Vec<LoadedPhoto>, Failure>>()?;
    let (loaded, result) = run(calibration_job(photos)?).await?;
    let profile = camera_profile(&result, &loaded.photos)?;
    if let Some(out) = &asked.out {
        write_profile(out, &(profile.to_json() + "\n"))?;
    }
    if asked.keep {
        keep_profile(&place.folder()?, &profile)?;
    }
    print_result(&result, asked.form)
}

fn write_profile(out: &Path, text: &str) -> Result<(), Failure> {
    let folder = out
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let name = out.file_name().and_then(|name| name.to_str()).ok_or_else(|| {
        Failure::bad_input(
            say!("--out names no file"),
            say!("name the profile to write, such as camera.json"),
        )
    })?;
    write_files(folder, std::iter::once((name, text.as_bytes())))?;
    Ok(())
}
