//! Job files: a job, its photos and its camera profile, read and checked before anything is measured.

use crate::bridge::Failure;
use crate::json_text;
use shimwright_camera::CameraProfile;
use shimwright_history::sha256_hex;
use shimwright_measure::{PhotoInput, SoundInput, read_recording};
use shimwright_photo::{Limits, PhotoFacts, read_facts};
use shimwright_record::{CheckKind, Job, JobPhoto, Phrase};
use shimwright_say::say;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Most photos in a job.
pub const MOST_PHOTOS: usize = 60;
/// Most bytes in a file that is written by hand.
const MOST_TEXT_BYTES: u64 = 5_000_000;
/// Most bytes in a recording; what is in them has limits of its own.
const MOST_SOUND_BYTES: u64 = 100_000_000;
/// Most points in a mark: more are no rough mark but a mistake.
const MOST_POINTS: usize = 500;

/// A job with everything that it needs.
#[derive(Clone, Debug)]
pub struct LoadedJob {
    /// The job; its photos' `file` are the names that messages and results use.
    pub job: Job,
    /// The photos, in the job's order.
    pub photos: Vec<LoadedPhoto>,
    /// The camera profile that it names.
    pub camera: Option<CameraProfile>,
    /// What was decided on the way, to be told with the result's warnings.
    pub notes: Vec<Phrase>,
    /// The recording of a tension job.
    pub sound: Option<LoadedSound>,
}

/// A photo of a job.
#[derive(Clone, Debug)]
pub struct LoadedPhoto {
    /// Its name in messages and results.
    pub name: String,
    /// SHA-256 of its bytes.
    pub id: String,
    /// Its bytes, unchanged.
    pub bytes: Arc<[u8]>,
    /// What is known of it.
    pub facts: PhotoFacts,
}

impl LoadedPhoto {
    /// Takes in a photo's bytes and reads its head.
    ///
    /// # Errors
    /// Bad input when it is no photo, or one that cannot be measured in.
    pub fn new(name: &str, bytes: Arc<[u8]>) -> Result<Self, Failure> {
        let facts =
            read_facts(&bytes, &Limits::default()).map_err(|error| Failure::of_photo(name, &error))?;
        Ok(Self {
            name: name.to_owned(),
            id: sha256_hex(&bytes),
            bytes,
            facts,
        })
    }
}

/// A recording.
#[derive(Clone, Debug)]
pub struct LoadedSound {
    /// Its name in messages and results.
    pub name: String,
    /// SHA-256 of its bytes.
    pub id: String,
    /// Its bytes, unchanged.
    pub bytes: Arc<[u8]>,
    /// Length, s.
    pub seconds: f64,
    /// Samples a second.
    pub rate_hz: f64,
    /// Whether it was louder than it could hold.
    pub clipped: bool,
}

impl LoadedSound {
    /// Takes in a recording's bytes and reads it through once.
    ///
    /// # Errors
    /// Bad input when it is no WAV file, or one that cannot be listened to.
    pub fn new(name: &str, bytes: Arc<[u8]>) -> Result<Self, Failure> {
        let recording = read_recording(&SoundInput { name, bytes: &bytes })?;
        Ok(Self {
            name: name.to_owned(),
            id: sha256_hex(&bytes),
            seconds: recording.seconds(),
            rate_hz: recording.rate_hz(),
            clipped: recording.is_clipped(),
            bytes,
        })
    }
}

impl LoadedJob {
    /// Joins a job with its photos and checks what can be checked without looking at pixels.
    ///
    /// # Errors
    /// Bad input: two photos with the same content, or marks that cannot be meant.
    pub fn new(job: Job, photos: Vec<LoadedPhoto>, camera: Option<CameraProfile>) -> Result<Self, Failure> {
        let mut seen = HashMap::new();
        for photo in &photos {
            if let Some(twin) = seen.insert(&photo.id, &photo.name) {
                return Err(Failure::bad_input(
                    say!("{twin} and {} have the same content", photo.name),
                    say!("leave one out and take another photo from a different side"),
                )
                .about(&photo.name));
            }
        }
        for (wanted, photo) in job.photos.iter().zip(&photos) {
            check_marks(wanted, photo)?;
        }
        Ok(Self {
            job,
            photos,
            camera,
            notes: vec![],
            sound: None,
        })
    }

    /// Joins a tension job with its recording.
    pub fn of_sound(job: Job, sound: LoadedSound) -> Self {
        Self {
            job,
            photos: Vec::new(),
            camera: None,
            notes: vec![],
            sound: Some(sound),
        }
    }

    /// The photos as the engine takes them.
    pub(crate) fn inputs(&self) -> Vec<PhotoInput<'_>> {
        self.photos
            .iter()
            .map(|photo| PhotoInput {
                name: &photo.name,
                bytes: &photo.bytes,
            })
            .collect()
    }
}

/// Reads a job file with its photos and camera profile, whose paths are relative to it.
///
/// # Errors
/// Bad input, one sentence: what is wrong and how to mend it.
pub fn load_job(path: &Path) -> Result<LoadedJob, Failure> {
    let name = shown(path);
    let job: Job = json_text::read(&name, &read_file(path, &name, MOST_TEXT_BYTES)?)?;
    let folder = path.parent().map(Path::to_owned).unwrap_or_default();
    if job.check == CheckKind::Tension {
        let file = job.sound.clone().ok_or_else(|| {
            Failure::bad_input(
                say!("{name} names no recording"),
                say!("name a WAV file of the plucks in `sound`"),
            )
            .about("sound")
        })?;
        return Ok(LoadedJob::of_sound(job, load_sound(&folder.join(&file), &file)?));
    }
    if let Some(odd) = sound_key(&job) {
        return Err(Failure::bad_input(
            say!(
                "`{odd}` is for tension jobs, and {name} is a `{}` job",
                job.check.name()
            ),
            say!("leave it out"),
        )
        .about(odd));
    }
    if job.photos.is_empty() {
        return Err(Failure::bad_input(
            say!("{name} names no photo"),
            say!("name at least two photos in `photos`"),
        )
        .about("photos"));
    }
    if job.photos.len() > MOST_PHOTOS {
        return Err(Failure::bad_input(
            say!(
                "{name} names {} photos and the limit is {MOST_PHOTOS}",
                job.photos.len()
            ),
            say!("leave the poorer ones out"),
        )
        .about("photos"));
    }
    let photos = job
        .photos
        .iter()
        .map(|photo| load_photo(&folder.join(&photo.file), &photo.file));
    let photos = photos.collect::<Result<_, _>>()?;
    let camera = job
        .camera
        .as_ref()
        .map(|file| load_camera(&folder.join(file), file))
        .transpose()?;
    LoadedJob::new(job, photos, camera)
}

/// A key that only tension jobs have.
fn sound_key(job: &Job) -> Option<&'static str> {
    let sound = job.sound.is_some().then_some("sound");
    sound.or(job.belt.is_some().then_some("belt"))
}

/// Reads a recording; `name` is what messages call it.
///
/// # Errors
/// Bad input when it is missing, a folder, too large, or no WAV file.
pub fn load_sound(path: &Path, name: &str) -> Result<LoadedSound, Failure> {
    LoadedSound::new(name, read_file(path, name, MOST_SOUND_BYTES)?.into())
}

/// Reads a photo; `name` is what messages call it.
///
/// # Errors
/// Bad input when it is missing, a folder, too large, or no photo.
pub fn load_photo(path: &Path, name: &str) -> Result<LoadedPhoto, Failure> {
    let most = Limits::default().max_bytes as u64;
    LoadedPhoto::new(name, read_file(path, name, most)?.into())
}

/// Reads a question for spacer advice.
///
/// # Errors
/// Bad input that names the key and the line.
pub fn load_question(path: &Path) -> Result<shimwright_record::SpacerQuestion, Failure> {
    load_json(path)
}

/// Reads any file in one of the record's JSON forms.
///
/// # Errors
/// Bad input that names the key and the line.
pub fn load_json<T: serde::de::DeserializeOwned>(path: &Path) -> Result<T, Failure> {
    let name = shown(path);
    json_text::read(&name, &read_file(path, &name, MOST_TEXT_BYTES)?)
}

pub(crate) fn load_camera(path: &Path, name: &str) -> Result<CameraProfile, Failure> {
    let bytes = read_file(path, name, MOST_TEXT_BYTES)?;
    CameraProfile::from_json(&String::from_utf8_lossy(&bytes)).map_err(|error| {
        let failure = Failure::from(error);
        Failure {
            message: say!("{name}: {}", failure.message),
            ..failure
        }
    })
}

/// The name by which messages call a path: its last part, because the whole path may hold private names.
fn shown(path: &Path) -> String {
    path.file_name().map_or_else(
        || PathBuf::from(path).display().to_string(),
        |name| name.to_string_lossy().into_owned(),
    )
}

/// Reads a file after looking at its kind and length.
pub(crate) fn read_file(path: &Path, name: &str, most_bytes: u64) -> Result<Vec<u8>, Failure> {
    let refuse = |message: Phrase, hint: Phrase| Err(Failure::bad_input(message, hint).about(name));
    let unreadable = |error: std::io::Error| {
        Failure::bad_input(
            say!("{name} cannot be read ({error})"),
            say!("check its permissions"),
        )
        .about(name)
    };
    let about = match std::fs::metadata(path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            return refuse(
                say!("there is no file {name}"),
                say!("check its name; paths in a job file are relative to it"),
            );
        }
        about => about.map_err(unreadable)?,
    };
    if about.is_dir() {
        return refuse(say!("{name} is a folder"), say!("name a file in it"));
    }
    if !about.is_file() {
        return refuse(
            say!("{name} is not an ordinary file"),
            say!("copy it to a disk first"),
        );
    }
    if about.len() > most_bytes {
        return refuse(
            say!(
                "{name} has {} MB and the limit is {} MB",
                about.len().div_ceil(1_000_000),
                most_bytes / 1_000_000
            ),
            say!("name the right file, or export the photo as JPEG"),
        );
    }
    std::fs::read(path).map_err(unreadable)
}

fn check_marks(wanted: &JobPhoto, photo: &LoadedPhoto) -> Result<(), Failure> {
    let (width, height) = (f64::from(photo.facts.width), f64::from(photo.facts.height));
    for (mark, points) in &wanted.marks {
        if points.len() == 1 || points.len() > MOST_POINTS {
            return Err(Failure::bad_input(
                say!("mark `{mark}` of {} has {} points", photo.name, points.len()),
                say!("give it 2 to {MOST_POINTS} points"),
            )
            .about(&photo.name));
        }
        let inside = |[x, y]: &[f64; 2]| *x >= 0.0 && *y >= 0.0 && *x <= width - 1.0 && *y <= height - 1.0;
        if let Some([x, y]) = points.iter().find(|point| !inside(point)) {
            return Err(Failure::bad_input(
                say!(
                    "mark `{mark}` of {} lies at ({x}, {y}), outside the picture of {width} x {height} px",
                    photo.name
                ),
                say!("give marks in pixels of the upright photo"),
            )
            .about(&photo.name));
        }
    }
    Ok(())
}
