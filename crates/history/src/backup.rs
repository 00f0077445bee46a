//! A backup: one file (tar) with the database of one moment and all its photos.
//!
//! `history.sqlite3`, `photos/SHA256` for each photo (`photos/SHA256-COPY` for a copy without place data), and
//! `manifest.json` last, so that a file which was cut short is seen. A history on PostgreSQL is written into the same form,
//! so a backup of either is restored into either.

use crate::database::{Reached, own_schema, reach_sqlite};
use crate::folder::{DATABASE, beside, put_in_place};
use crate::photos::{PhotoStore, copy_name, hex, sums_of};
use crate::scratch::Scratch;
use crate::{Error, HeldPhoto, History, Time, WithoutPlace, aside, sha256_hex, stamp};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::{BufReader, BufWriter, Read, Write};
use std::path::{Path, PathBuf};

const MANIFEST: &str = "manifest.json";
const WHAT: &str = "shimwright backup";
/// The form of the file; a newer one is refused. The second one may hold copies of photos.
const FORM: u32 = 2;

/// How photos go into a file that may leave this machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PhotosOut {
    /// As the camera wrote them: they may tell where they were taken.
    Untouched,
    /// Copies without place data, of those that tell a place.
    WithoutPlace(WithoutPlace),
}

/// Photos that went into a file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct GoneOut {
    pub photos: u64,
    pub copies: u64,
    pub left_out: Vec<String>,
    pub kept_back: Vec<String>,
}

impl PhotosOut {
    /// Lets photos out one after the other: `put` gets name and bytes. A photo that is missing or damaged, or that cannot
    /// lose its place, must not cost the others; it is told.
    pub(crate) fn let_out(
        self,
        names: &[String],
        store: &PhotoStore,
        mut put: impl FnMut(&str, &[u8]) -> Result<(), Error>,
    ) -> Result<GoneOut, Error> {
        let mut gone = GoneOut::default();
        for name in names {
            let held = match store.held(name) {
                Err(Error::NotFound { .. } | Error::PhotoChanged { .. }) => {
                    gone.left_out.push(name.clone());
                    continue;
                }
                held => held?,
            };
            match self.as_it_goes(held) {
                Ok(HeldPhoto {
                    bytes,
                    is_copy: false,
                }) => put(name, &bytes)?,
                Ok(HeldPhoto { bytes, is_copy: true }) => {
                    put(&copy_name(name, &bytes), &bytes)?;
                    gone.copies += 1;
                }
                Err(_) => {
                    gone.kept_back.push(name.clone());
                    continue;
                }
            }
            gone.photos += 1;
        }
        Ok(gone)
    }

    /// A held photo as it goes out, or why it cannot.
    fn as_it_goes(self, held: HeldPhoto) -> Result<HeldPhoto, String> {
        let Self::WithoutPlace(without_place) = self else {
            return Ok(held);
        };
        if held.is_copy {
            return Ok(held);
        }
        let copy = without_place.copy(&held.bytes)?;
        Ok(HeldPhoto {
            is_copy: copy != held.bytes,
            bytes: copy,
        })
    }
}

/// A backup that was written.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Backup {
    /// The file.
    pub file: PathBuf,
    /// Its size, bytes.
    pub bytes: u64,
    /// How many photos it holds.
    pub photos: u64,
    /// How many of them are copies without place data.
    pub copies: u64,
    /// Photos that records name and that are missing or damaged, so that they could not be taken along.
    pub left_out: Vec<String>,
    /// Photos that are not in it because no copy without place data can be made of them.
    pub kept_back: Vec<String>,
}

/// What a backup says of itself.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct Manifest {
    what: String,
    form: u32,
    pub program: String,
    schema: i64,
    pub made_at: String,
    database_sha256: String,
    left_out: Vec<String>,
    #[serde(default)]
    kept_back: Vec<String>,
}

impl History {
    /// Writes the whole history, photos included, into one new file, while others go on working. A photo that goes without
    /// its place is known by its own name again wherever the backup is restored, and where the photo itself lies, that
    /// stays.
    ///
    /// # Errors
    /// [`Error::Exists`] when the file is there already, [`Error::DiskFull`], [`Error::NotWritable`],
    /// [`Error::Damaged`]; then there is no file.
    pub async fn back_up(&self, file: &Path, photos: PhotosOut, now: Time) -> Result<Backup, Error> {
        if file.exists() {
            return Err(Error::Exists(file.to_owned()));
        }
        let scratch = Scratch::new(&self.folder)?;
        let database = scratch.path(DATABASE);
        self.database.copy_into(&database, &self.program).await?;
        let names = photo_names(&database, &self.program).await?;
        let manifest = Manifest {
            what: WHAT.into(),
            form: FORM,
            program: self.program.clone(),
            schema: own_schema(),
            made_at: stamp(now),
            database_sha256: String::new(),
            left_out: Vec::new(),
            kept_back: Vec::new(),
        };
        let (store, file) = (self.photos.clone(), file.to_owned());
        aside(move || {
            let unfinished = beside(&file, ".unfinished");
            let let_out = |put: &mut Put<'_>| photos.let_out(&names, &store, put);
            let written = write(&unfinished, &database, let_out, manifest).and_then(|gone| {
                put_in_place(&unfinished, &file).map_err(Error::not_writable(&file))?;
                Ok(gone)
            });
            if written.is_err() {
                // A file that stays says by its name that it is not whole.
                let _ = std::fs::remove_file(&unfinished);
            }
            drop(scratch);
            let gone = written?;
            let bytes = std::fs::metadata(&file)
                .map_err(Error::not_writable(&file))?
                .len();
            Ok(Backup {
                file,
                bytes,
                photos: gone.photos,
                copies: gone.copies,
                left_out: gone.left_out,
                kept_back: gone.kept_back,
            })
        })
        .await
    }
}

/// The photos that a database names.
async fn photo_names(database: &Path, program: &str) -> Result<Vec<String>, Error> {
    let database = reach_sqlite(database, Reached::ToRead, program).await?;
    let mut session = database.read().await?;
    let rows = session
        .query("SELECT sha256 FROM photos ORDER BY sha256")
        .all()
        .await?;
    let names = rows.iter().map(|row| row.get("sha256")).collect();
    drop(session);
    database.close().await;
    names
}

/// Takes a photo by its name.
type Put<'p> = dyn FnMut(&str, &[u8]) -> Result<(), Error> + 'p;

fn write(
    out: &Path,
    database: &Path,
    let_out: impl FnOnce(&mut Put<'_>) -> Result<GoneOut, Error>,
    mut manifest: Manifest,
) -> Result<GoneOut, Error> {
    let trouble = || Error::not_writable(out);
    let mut tar = tar::Builder::new(BufWriter::new(File::create(out).map_err(trouble())?));
    manifest.database_sha256 = sum_of(database).map_err(Error::not_writable(database))?;
    tar.append_path_with_name(database, DATABASE).map_err(trouble())?;
    let gone =
        let_out(&mut |name, bytes| append(&mut tar, &format!("photos/{name}"), bytes).map_err(trouble()))?;
    manifest.left_out.clone_from(&gone.left_out);
    manifest.kept_back.clone_from(&gone.kept_back);
    if gone.copies == 0 {
        // Programs that know no copies can read it.
        manifest.form = 1;
    }
    let text = serde_json::to_vec_pretty(&manifest).map_err(Error::stored("manifest"))?;
    append(&mut tar, MANIFEST, &text).map_err(trouble())?;
    tar.into_inner()
        .and_then(|mut out| out.flush())
        .map_err(trouble())?;
    Ok(gone)
}

fn append(tar: &mut tar::Builder<impl Write>, name: &str, bytes: &[u8]) -> std::io::Result<()> {
    let mut header = tar::Header::new_gnu();
    header.set_size(bytes.len() as u64);
    header.set_mode(0o644);
    tar.append_data(&mut header, name, bytes)
}

fn sum_of(file: &Path) -> std::io::Result<String> {
    let mut reader = BufReader::new(File::open(file)?);
    let (mut sum, mut part) = (Sha256::new(), vec![0; 1 << 16]);
    loop {
        match reader.read(&mut part)? {
            0 => return Ok(hex(&sum.finalize())),
            read => sum.update(&part[..read]),
        }
    }
}

/// Most bytes of a photo or a recording, and of the manifest.
const MOST_BYTES: u64 = 200_000_000;

/// Refuses a part of a backup that becomes larger than anything this program writes. Nothing in a backup is compressed, so a
/// part that is longer than the file itself was made to fill a disk.
fn check_size(name: &str, bytes: u64, of_file: u64) -> Result<(), String> {
    let most = if name == DATABASE {
        of_file
    } else {
        of_file.min(MOST_BYTES)
    };
    if bytes <= most {
        return Ok(());
    }
    Err(format!(
        "{name:?} in it says that it has {bytes} bytes and the limit is {most}"
    ))
}

/// Unpacks a backup into a folder of its own: the database, and photos in a store. Everything is checked against its sum.
pub(crate) fn unpack(file: &Path, folder: &Path) -> Result<Manifest, Error> {
    let bad = |why: &str| Error::NoBackup {
        why: why.to_owned(),
        path: file.to_owned(),
    };
    let cut = |error: std::io::Error| bad(&error.to_string());
    let length = std::fs::metadata(file).map_err(cut)?.len();
    let mut tar = tar::Archive::new(BufReader::new(File::open(file).map_err(cut)?));
    let photos = PhotoStore::open(&folder.join("photos"))?;
    let database = folder.join(DATABASE);
    let mut manifest: Option<Manifest> = None;
    for entry in tar.entries().map_err(cut)? {
        let mut entry = entry.map_err(cut)?;
        let name = entry.path().map_err(cut)?.to_string_lossy().into_owned();
        check_size(&name, entry.size(), length).map_err(|why| bad(&why))?;
        // Only these names are taken: a file cannot place anything elsewhere.
        match name.strip_prefix("photos/").map(|name| (name, sums_of(name))) {
            Some((photo, Some((original, copy)))) => {
                let mut bytes = Vec::new();
                entry.read_to_end(&mut bytes).map_err(cut)?;
                if copy.unwrap_or(original) != sha256_hex(&bytes) {
                    return Err(bad(&format!("its photo {photo} is damaged")));
                }
                if copy.is_some() {
                    photos.put_copy(original, &bytes)?;
                } else {
                    photos.put(&bytes)?;
                }
            }
            None if name == DATABASE => {
                let mut out = File::create(&database).map_err(Error::not_writable(&database))?;
                std::io::copy(&mut entry, &mut out).map_err(Error::not_writable(&database))?;
            }
            None if name == MANIFEST => {
                manifest = Some(serde_json::from_reader(entry).map_err(|error| bad(&error.to_string()))?);
            }
            _ => return Err(bad(&format!("there is a file called {name:?} in it"))),
        }
    }
    let manifest = manifest.ok_or_else(|| bad("it was cut short"))?;
    if manifest.what != WHAT || manifest.form > FORM {
        return Err(bad(&format!(
            "it says that it is a {} of form {}",
            manifest.what, manifest.form
        )));
    }
    if sum_of(&database).map_err(cut)? != manifest.database_sha256 {
        return Err(bad("its database is damaged"));
    }
    Ok(manifest)
}
