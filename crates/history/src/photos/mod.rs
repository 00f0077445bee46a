//! Photos under the SHA-256 of their bytes, unchanged and stored once, wherever they lie.
//!
//! Where a photo must not tell where it was taken, a copy without place data lies in its stead, under the sums of both:
//! `ORIGINAL-COPY`. A place that several benches reach gets copies only; the photos as the cameras wrote them stay in the
//! folder of the bench that took them.

mod bucket;
mod folder;
mod keeping;
mod place;

pub use keeping::{CleanUp, PhotoSizes};
pub use place::WithoutPlace;

use crate::Error;
use bucket::BucketPhotos;
use folder::FolderPhotos;
use place::Place;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;

/// Where photos lie. Its calls wait for disks and networks: make them away from the threads that serve others.
#[derive(Clone, Debug)]
pub struct PhotoStore {
    /// Photos as they were handed in; the only place unless benches share another.
    own: Place,
    shared: Option<(Place, WithoutPlace)>,
}

/// A photo that is held: as it was handed in, or a copy of it without place data.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeldPhoto {
    /// The bytes.
    pub bytes: Vec<u8>,
    /// Whether they are a copy's.
    pub is_copy: bool,
}

/// SHA-256 in hexadecimal (FIPS 180-4).
pub fn sha256_hex(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    bytes.iter().fold(String::with_capacity(64), |mut text, byte| {
        // Writing to a string cannot fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// Whether a text can be the sum of a photo.
pub(crate) fn is_sum(text: &str) -> bool {
    text.len() == 64
        && text
            .bytes()
            .all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
}

/// Under which sums a file's name puts it: the photo's, and the copy's when it is a copy.
pub(crate) fn sums_of(name: &str) -> Option<(&str, Option<&str>)> {
    match name.split_once('-') {
        None => is_sum(name).then_some((name, None)),
        Some((original, copy)) => (is_sum(original) && is_sum(copy)).then_some((original, Some(copy))),
    }
}

/// The name under which a copy of a photo lies.
pub(crate) fn copy_name(original: &str, copy: &[u8]) -> String {
    format!("{original}-{}", sha256_hex(copy))
}

impl PhotoStore {
    /// Opens the store in a folder, making it when needed, and removes files that a crash left unfinished.
    ///
    /// # Errors
    /// [`Error::NotWritable`].
    pub fn open(folder: &Path) -> Result<Self, Error> {
        Ok(Self {
            own: Place::Folder(FolderPhotos::open(folder)?),
            shared: None,
        })
    }

    /// The store in a folder that is only read; it may be missing.
    pub(crate) fn to_read(folder: &Path) -> Self {
        Self {
            own: Place::Folder(FolderPhotos::to_read(folder)),
            shared: None,
        }
    }

    /// The same store together with a place that other benches reach: a folder, or a bucket of an S3-compatible store,
    /// `s3://BUCKET/PREFIX?endpoint=…&region=…&access_key_id=…&secret_access_key=…`; what the URL does not say comes from
    /// the environment (`AWS_ENDPOINT_URL`, `AWS_ACCESS_KEY_ID`, …). What goes there is without place data.
    ///
    /// # Errors
    /// [`Error::NoPhotoPlace`] for another URL, [`Error::PhotoService`] for a bucket that cannot be used; otherwise as
    /// [`PhotoStore::open`].
    pub fn shared_at(self, place: &str, without_place: WithoutPlace) -> Result<Self, Error> {
        let at = if place.contains("://") {
            Place::Bucket(BucketPhotos::reach(place)?)
        } else {
            Place::Folder(FolderPhotos::open(Path::new(place))?)
        };
        Ok(Self {
            shared: Some((at, without_place)),
            ..self
        })
    }

    fn places(&self) -> impl Iterator<Item = &Place> {
        std::iter::once(&self.own).chain(self.shared.iter().map(|(place, _)| place))
    }

    /// Whether a photo of this name is held, as it was or as a copy.
    ///
    /// # Errors
    /// [`Error::PhotoService`].
    pub fn has(&self, sha256: &str) -> Result<bool, Error> {
        for place in self.places() {
            if place.has_some(sha256)? {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Whether a photo of this name is held wherever a photo that is put now would be.
    pub(crate) fn has_everywhere(&self, sha256: &str) -> Result<bool, Error> {
        for place in self.places() {
            if !place.has_some(sha256)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Stores bytes and gives their name. When this returns they are stored for good. Bytes that are there already
    /// are not written again.
    ///
    /// # Errors
    /// [`Error::DiskFull`], [`Error::NotWritable`], [`Error::PhotoFile`] or [`Error::PhotoService`];
    /// [`Error::PlaceStays`] when benches share photos and no copy without place data can be made. Then nothing is left
    /// that counts.
    pub fn put(&self, bytes: &[u8]) -> Result<String, Error> {
        let sha256 = sha256_hex(bytes);
        if let Some((shared, without_place)) = &self.shared {
            let copy = without_place.copy(bytes).map_err(Error::PlaceStays)?;
            if copy == bytes {
                shared.put(&sha256, bytes)?;
            } else {
                shared.put(&copy_name(&sha256, &copy), &copy)?;
            }
        }
        self.own.put(&sha256, bytes)?;
        Ok(sha256)
    }

    /// Stores a copy of a photo that is not at hand itself, under the photo's name.
    ///
    /// # Errors
    /// As [`PhotoStore::put`].
    pub fn put_copy(&self, original: &str, copy: &[u8]) -> Result<(), Error> {
        if !is_sum(original) {
            return Err(not_there(original));
        }
        for place in self.places() {
            place.put(&copy_name(original, copy), copy)?;
        }
        Ok(())
    }

    /// The bytes of a stored photo, or of its copy where only that is at hand; checked against their name.
    ///
    /// # Errors
    /// [`Error::NotFound`], [`Error::PhotoFile`], [`Error::PhotoService`], or [`Error::PhotoChanged`] when they are not
    /// what was stored.
    pub fn get(&self, sha256: &str) -> Result<Vec<u8>, Error> {
        self.held(sha256).map(|held| held.bytes)
    }

    /// A stored photo, or its copy where only that is at hand.
    ///
    /// # Errors
    /// As [`PhotoStore::get`].
    pub fn held(&self, sha256: &str) -> Result<HeldPhoto, Error> {
        if let Some(bytes) = self.original(sha256)? {
            return Ok(HeldPhoto {
                bytes,
                is_copy: false,
            });
        }
        for place in self.places() {
            for name in place.copies_of(sha256)? {
                let sum = sums_of(&name).and_then(|(_, copy)| copy);
                if let Some(bytes) = place.get(&name)?
                    && sum == Some(sha256_hex(&bytes).as_str())
                {
                    return Ok(HeldPhoto { bytes, is_copy: true });
                }
            }
        }
        Err(not_there(sha256))
    }

    /// A photo as it was handed in, if it is at hand.
    ///
    /// # Errors
    /// [`Error::PhotoFile`], [`Error::PhotoService`]; [`Error::PhotoChanged`] when it is there and not what was stored.
    pub fn original(&self, sha256: &str) -> Result<Option<Vec<u8>>, Error> {
        if !is_sum(sha256) {
            return Ok(None);
        }
        let mut changed = false;
        for place in self.places() {
            match place.get(sha256)? {
                Some(bytes) if sha256_hex(&bytes) == sha256 => return Ok(Some(bytes)),
                Some(_) => changed = true,
                None => {}
            }
        }
        if changed {
            return Err(Error::PhotoChanged {
                sha256: sha256.to_owned(),
            });
        }
        Ok(None)
    }

    /// Takes a photo from another store as that one holds it, unless it is here as well as there.
    pub(crate) fn take_from(&self, other: &Self, sha256: &str) -> Result<(), Error> {
        if self.own.has(sha256)? && self.has_everywhere(sha256)? {
            return Ok(());
        }
        // What is here already need not be there.
        let theirs = match other.held(sha256) {
            Err(Error::NotFound { .. }) if self.has(sha256)? => return Ok(()),
            theirs => theirs?,
        };
        if theirs.is_copy {
            if self.has_everywhere(sha256)? {
                return Ok(());
            }
            return self.put_copy(sha256, &theirs.bytes);
        }
        self.put(&theirs.bytes).map(drop)
    }

    /// Names of all photos that are held, with the room that they and their copies take, bytes; ordered by name.
    ///
    /// # Errors
    /// [`Error::PhotoFile`] or [`Error::PhotoService`].
    pub fn list(&self) -> Result<Vec<(String, u64)>, Error> {
        let mut all = BTreeMap::<String, u64>::new();
        for place in self.places() {
            for (name, bytes) in place.list()? {
                if let Some((original, _)) = sums_of(&name) {
                    *all.entry(original.to_owned()).or_default() += bytes;
                }
            }
        }
        Ok(all.into_iter().collect())
    }

    /// Removes a photo and its copies. Only a clean-up may, which knows that nothing names it.
    pub(crate) fn remove(&self, sha256: &str) -> Result<(), Error> {
        for place in self.places() {
            for name in place.copies_of(sha256)? {
                place.remove(&name)?;
            }
            if place.has(sha256)? {
                place.remove(sha256)?;
            }
        }
        Ok(())
    }
}

fn not_there(sha256: &str) -> Error {
    Error::NotFound {
        what: "photo",
        id: sha256.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4's example message "abc" (NIST, SHA256 example values).
    #[test]
    fn names_are_sha_256() {
        assert_eq!(
            sha256_hex(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn a_photo_is_stored_once_and_comes_back_unchanged() {
        let dir = tempfile::tempdir().unwrap();
        let store = PhotoStore::open(dir.path()).unwrap();
        let name = store.put(b"picture").unwrap();
        assert_eq!(store.put(b"picture").unwrap(), name);
        assert_eq!(store.get(&name).unwrap(), b"picture");
        assert_eq!(store.list().unwrap(), [(name, 7)]);
        assert_eq!(
            std::fs::read_dir(dir.path().join("unfinished")).unwrap().count(),
            0
        );
    }

    #[test]
    fn a_changed_photo_is_told_and_mended_by_storing_it_again() {
        let dir = tempfile::tempdir().unwrap();
        let store = PhotoStore::open(dir.path()).unwrap();
        let name = store.put(b"picture").unwrap();
        std::fs::write(dir.path().join(&name[..2]).join(&name), b"pictur").unwrap();
        assert!(matches!(store.get(&name), Err(Error::PhotoChanged { .. })));
        store.put(b"picture").unwrap();
        assert_eq!(store.get(&name).unwrap(), b"picture");
    }

    #[test]
    fn a_shared_place_gets_copies_and_the_photo_stays_here() {
        let dir = tempfile::tempdir().unwrap();
        let [here, elsewhere, shared] = ["here", "elsewhere", "shared"].map(|name| dir.path().join(name));
        let without = WithoutPlace::new(|bytes| match bytes {
            b"stuck" => Err("it is stuck".into()),
            _ => Ok(bytes.strip_prefix(b"at home: ").unwrap_or(bytes).to_vec()),
        });
        let at = |own: &Path| {
            let store = PhotoStore::open(own).unwrap();
            store.shared_at(shared.to_str().unwrap(), without).unwrap()
        };
        let (ours, theirs) = (at(&here), at(&elsewhere));
        let name = ours.put(b"at home: picture").unwrap();
        assert_eq!(ours.get(&name).unwrap(), b"at home: picture");
        assert_eq!(
            theirs.held(&name).unwrap(),
            HeldPhoto {
                bytes: b"picture".to_vec(),
                is_copy: true
            }
        );
        assert_eq!(theirs.original(&name).unwrap(), None);
        assert_eq!(theirs.list().unwrap(), [(name.clone(), 7)]);
        assert_eq!(ours.list().unwrap(), [(name.clone(), 23)]);
        // A copy that was damaged is none.
        let file = shared.join(&name[..2]).join(copy_name(&name, b"picture"));
        std::fs::write(&file, b"pictor").unwrap();
        assert!(matches!(theirs.get(&name), Err(Error::NotFound { .. })));
        assert!(matches!(ours.put(b"stuck"), Err(Error::PlaceStays(_))));
        assert!(!ours.has(&sha256_hex(b"stuck")).unwrap());
        ours.remove(&name).unwrap();
        assert!(!theirs.has(&name).unwrap() && !file.exists());
    }

    #[test]
    fn names_that_are_no_sum_lead_nowhere() {
        let dir = tempfile::tempdir().unwrap();
        let store = PhotoStore::open(dir.path()).unwrap();
        for name in ["../../etc/passwd", "abc", ""] {
            assert!(matches!(store.get(name), Err(Error::NotFound { .. })), "{name}");
        }
    }
}
