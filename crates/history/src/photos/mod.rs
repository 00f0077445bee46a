//! Photos under the SHA-256 of their bytes, unchanged and stored once, wherever they lie.

mod bucket;
mod folder;
mod keeping;

pub use keeping::{CleanUp, PhotoSizes};

use crate::Error;
use bucket::BucketPhotos;
use folder::FolderPhotos;
use sha2::{Digest, Sha256};
use std::path::Path;

/// Where photos lie. Its calls wait for disks and networks: make them away from the threads that serve others.
#[derive(Clone, Debug)]
pub struct PhotoStore(Place);

#[derive(Clone, Debug)]
enum Place {
    Folder(FolderPhotos),
    Bucket(BucketPhotos),
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

/// Whether a text can be the name of a photo.
pub(crate) fn is_sum(text: &str) -> bool {
    text.len() == 64
        && text
            .bytes()
            .all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
}

impl PhotoStore {
    /// Opens the store in a folder, making it when needed, and removes files that a crash left unfinished.
    ///
    /// # Errors
    /// [`Error::NotWritable`].
    pub fn open(folder: &Path) -> Result<Self, Error> {
        Ok(Self(Place::Folder(FolderPhotos::open(folder)?)))
    }

    /// The store in a folder that is only read; it may be missing.
    pub(crate) fn to_read(folder: &Path) -> Self {
        Self(Place::Folder(FolderPhotos::to_read(folder)))
    }

    /// Opens the store at a place that was set: a folder that all benches reach, or a bucket of an S3-compatible store,
    /// `s3://BUCKET/PREFIX?endpoint=…&region=…&access_key_id=…&secret_access_key=…`; what the URL does not say comes from
    /// the environment (`AWS_ENDPOINT_URL`, `AWS_ACCESS_KEY_ID`, …).
    ///
    /// # Errors
    /// [`Error::NoPhotoPlace`] for another URL, [`Error::PhotoService`] for a bucket that cannot be used; otherwise as
    /// [`PhotoStore::open`].
    pub fn at(place: &str) -> Result<Self, Error> {
        if place.contains("://") {
            return Ok(Self(Place::Bucket(BucketPhotos::reach(place)?)));
        }
        Self::open(Path::new(place))
    }

    /// Whether a photo of this name is there.
    ///
    /// # Errors
    /// [`Error::PhotoService`].
    pub fn has(&self, sha256: &str) -> Result<bool, Error> {
        match &self.0 {
            _ if !is_sum(sha256) => Ok(false),
            Place::Folder(folder) => Ok(folder.has(sha256)),
            Place::Bucket(bucket) => bucket.has(sha256),
        }
    }

    /// Stores bytes and gives their name. When this returns they are stored for good. Bytes that are there already
    /// are not written again.
    ///
    /// # Errors
    /// [`Error::DiskFull`], [`Error::NotWritable`], [`Error::PhotoFile`] or [`Error::PhotoService`]; then nothing is left
    /// that counts.
    pub fn put(&self, bytes: &[u8]) -> Result<String, Error> {
        let sha256 = sha256_hex(bytes);
        match &self.0 {
            Place::Folder(folder) => folder.put(&sha256, bytes)?,
            Place::Bucket(bucket) => bucket.put(&sha256, bytes)?,
        }
        Ok(sha256)
    }

    /// The bytes of a stored photo, checked against their name.
    ///
    /// # Errors
    /// [`Error::NotFound`], [`Error::PhotoFile`], [`Error::PhotoService`], or [`Error::PhotoChanged`] when they are not
    /// what was stored.
    pub fn get(&self, sha256: &str) -> Result<Vec<u8>, Error> {
        let there = match &self.0 {
            _ if !is_sum(sha256) => None,
            Place::Folder(folder) => folder.get(sha256)?,
            Place::Bucket(bucket) => bucket.get(sha256)?,
        };
        let bytes = there.ok_or_else(|| Error::NotFound {
            what: "photo",
            id: sha256.to_owned(),
        })?;
        if sha256_hex(&bytes) != sha256 {
            return Err(Error::PhotoChanged {
                sha256: sha256.to_owned(),
            });
        }
        Ok(bytes)
    }

    /// Names and sizes in bytes of all photos that are there, ordered by name.
    ///
    /// # Errors
    /// [`Error::PhotoFile`] or [`Error::PhotoService`].
    pub fn list(&self) -> Result<Vec<(String, u64)>, Error> {
        match &self.0 {
            Place::Folder(folder) => folder.list(),
            Place::Bucket(bucket) => bucket.list(),
        }
    }

    /// Removes a photo. Only a clean-up may, which knows that nothing names it.
    pub(crate) fn remove(&self, sha256: &str) -> Result<(), Error> {
        match &self.0 {
            Place::Folder(folder) => folder.remove(sha256),
            Place::Bucket(bucket) => bucket.remove(sha256),
        }
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
    fn names_that_are_no_sum_lead_nowhere() {
        let dir = tempfile::tempdir().unwrap();
        let store = PhotoStore::open(dir.path()).unwrap();
        for name in ["../../etc/passwd", "abc", ""] {
            assert!(matches!(store.get(name), Err(Error::NotFound { .. })), "{name}");
        }
    }
}
