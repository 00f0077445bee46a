//! The demo board that comes with the program: an invented board of an invented workshop, with rendered photos.

use crate::bridge::Failure;
use crate::job_file::{LoadedJob, LoadedPhoto};
use crate::json_text;
use shimwright_camera::CameraProfile;
use shimwright_record::{Board, Corner, Job, SpacerStock};
use shimwright_say::say;
use std::path::{Path, PathBuf};

/// The name by which a job names the demo's camera profile.
pub const DEMO_CAMERA: &str = "demo";

/// A file of the demo: its name and its bytes, built into the program so that it needs no data folder.
macro_rules! demo_file {
    ($name:literal) => {
        (
            $name,
            include_bytes!(concat!("../../../calibration/demo/", $name)) as &[u8],
        )
    };
}

const FILES: &[(&str, &[u8])] = &[
    demo_file!("board.json"),
    demo_file!("stock.json"),
    demo_file!("camera.json"),
    demo_file!("left.json"),
    demo_file!("left-1.jpg"),
    demo_file!("left-2.jpg"),
    demo_file!("left-3.jpg"),
    demo_file!("right.json"),
    demo_file!("right-1.jpg"),
    demo_file!("right-2.jpg"),
    demo_file!("right-3.jpg"),
];

/// The demo board; it has no id yet.
pub fn demo_board() -> Result<Board, Failure> {
    json_text::read("board.json", file("board.json")?)
}

/// The demo's spacer stock.
pub fn demo_stock() -> Result<Vec<SpacerStock>, Failure> {
    json_text::read("stock.json", file("stock.json")?)
}

/// The profile of the demo's camera.
pub fn demo_camera() -> Result<CameraProfile, Failure> {
    Ok(CameraProfile::from_json(&String::from_utf8_lossy(file(
        "camera.json",
    )?))?)
}

/// The demo's job for a corner, with its photos and camera.
pub fn demo_job(corner: Corner) -> Result<LoadedJob, Failure> {
    let name = format!("{}.json", corner.name());
    let mut job: Job = json_text::read(&name, file(&name)?)?;
    let photos = job
        .photos
        .iter()
        .map(|photo| LoadedPhoto::new(&photo.file, file(&photo.file)?.into()))
        .collect::<Result<_, Failure>>()?;
    job.camera = Some(DEMO_CAMERA.to_owned());
    LoadedJob::new(job, photos, Some(demo_camera()?))
}

/// Writes the demo's files into a folder, to be measured like a user's own; gives their paths.
///
/// # Errors
/// Bad input when the folder cannot be written.
pub fn write_demo_files(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    crate::targets::write_files(folder, FILES.iter().copied())
}

fn file(name: &str) -> Result<&'static [u8], Failure> {
    FILES
        .iter()
        .find(|(known, _)| *known == name)
        .map(|(_, bytes)| *bytes)
        .ok_or_else(|| Failure::internal(say!("the demo has no file {name}")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_demo_is_whole() {
        let board = demo_board().unwrap();
        assert_eq!((board.name.as_str(), board.id.as_str()), ("Kestrel 2", ""));
        assert!(demo_stock().unwrap().len() >= 4);
        for corner in Corner::BOTH {
            let loaded = demo_job(corner).unwrap();
            assert_eq!(loaded.photos.len(), 3);
            let camera = loaded.camera.unwrap().camera;
            for photo in &loaded.photos {
                assert_eq!(
                    (photo.facts.width, photo.facts.height),
                    (camera.width, camera.height)
                );
            }
            assert!(
                loaded
                    .job
                    .photos
                    .iter()
                    .any(|photo| photo.marks.contains_key("rim_edge"))
            );
        }
    }
}
