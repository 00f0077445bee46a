//! A place of photos, and how photos lose theirs.

use super::bucket::BucketPhotos;
use super::folder::FolderPhotos;
use super::is_sum;
use crate::Error;

/// Makes the copy of a photo that does not tell where it was taken: the same bytes for the same photo, and the photo itself
/// when it tells no place. What photos are made of is not known here.
#[derive(Clone, Copy)]
pub struct WithoutPlace(fn(&[u8]) -> Result<Vec<u8>, String>);

impl WithoutPlace {
    /// By a function that gives the copy, or why there can be none.
    pub fn new(copy: fn(&[u8]) -> Result<Vec<u8>, String>) -> Self {
        Self(copy)
    }

    /// The copy.
    ///
    /// # Errors
    /// Why there can be none.
    pub fn copy(&self, bytes: &[u8]) -> Result<Vec<u8>, String> {
        (self.0)(bytes)
    }
}

impl std::fmt::Debug for WithoutPlace {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("WithoutPlace")
    }
}

impl PartialEq for WithoutPlace {
    /// A program has one way to do it.
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Eq for WithoutPlace {}

/// A place where photos lie under names.
#[derive(Clone, Debug)]
pub(super) enum Place {
    Folder(FolderPhotos),
    Bucket(BucketPhotos),
}

impl Place {
    pub(super) fn has(&self, name: &str) -> Result<bool, Error> {
        match self {
            _ if super::sums_of(name).is_none() => Ok(false),
            Self::Folder(folder) => Ok(folder.has(name)),
            Self::Bucket(bucket) => bucket.has(name),
        }
    }

    /// Whether a photo is there, or a copy of it.
    pub(super) fn has_some(&self, sha256: &str) -> Result<bool, Error> {
        Ok(self.has(sha256)? || !self.copies_of(sha256)?.is_empty())
    }

    /// The names of a photo's copies.
    pub(super) fn copies_of(&self, sha256: &str) -> Result<Vec<String>, Error> {
        match self {
            _ if !is_sum(sha256) => Ok(Vec::new()),
            Self::Folder(folder) => folder.copies_of(sha256),
            Self::Bucket(bucket) => bucket.copies_of(sha256),
        }
    }

    pub(super) fn put(&self, name: &str, bytes: &[u8]) -> Result<(), Error> {
        match self {
            Self::Folder(folder) => folder.put(name, bytes),
            Self::Bucket(bucket) => bucket.put(name, bytes),
        }
    }

    pub(super) fn get(&self, name: &str) -> Result<Option<Vec<u8>>, Error> {
        match self {
            Self::Folder(folder) => folder.get(name),
            Self::Bucket(bucket) => bucket.get(name),
        }
    }

    pub(super) fn list(&self) -> Result<Vec<(String, u64)>, Error> {
        match self {
            Self::Folder(folder) => folder.list(),
            Self::Bucket(bucket) => bucket.list(),
        }
    }

    pub(super) fn remove(&self, name: &str) -> Result<(), Error> {
        match self {
            Self::Folder(folder) => folder.remove(name),
            Self::Bucket(bucket) => bucket.remove(name),
        }
    }
}
