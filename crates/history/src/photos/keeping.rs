//! How much room photos take, and a clean-up that never touches evidence.

use crate::{Error, History, aside, copies};
use std::collections::HashSet;

/// How much room the photos take.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct PhotoSizes {
    /// Photos that records name.
    pub named: u64,
    /// Their size, bytes.
    pub named_bytes: u64,
    /// Photos that are there and that nothing names: left by a save or an import that was broken off.
    pub unnamed: u64,
    /// Their size, bytes.
    pub unnamed_bytes: u64,
    /// How often records name photos: as many more as photos that are used twice and stored once.
    pub uses: u64,
    /// Photos that records name and that are not there.
    pub missing: Vec<String>,
}

/// What a clean-up removed, or would remove.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct CleanUp {
    /// Names of the photos.
    pub photos: Vec<String>,
    /// Their size, bytes.
    pub bytes: u64,
}

impl History {
    /// How much room the photos take.
    ///
    /// # Errors
    /// [`Error`] of the database or the photos' place.
    pub async fn photo_sizes(&self) -> Result<PhotoSizes, Error> {
        let mut session = self.database.read().await?;
        let mut named = names(&mut session).await?;
        let uses = session
            .query("SELECT count(*) FROM check_photos")
            .number()
            .await?;
        let mut sizes = PhotoSizes {
            uses: uses.unsigned_abs(),
            ..PhotoSizes::default()
        };
        for (name, bytes) in self.stored().await? {
            if named.remove(&name) {
                sizes.named += 1;
                sizes.named_bytes += bytes;
            } else {
                sizes.unnamed += 1;
                sizes.unnamed_bytes += bytes;
            }
        }
        sizes.missing = named.into_iter().collect();
        sizes.missing.sort();
        Ok(sizes)
    }

    /// Removes photos that no record names: neither this history, nor its daily copies, nor a database that was kept
    /// aside. With `dry_run` it only tells which.
    ///
    /// # Errors
    /// [`Error::UnreadableAside`] when a database kept aside cannot be read and might name photos; [`Error`] of the
    /// database or the photos' place.
    pub async fn clean_up_photos(&self, dry_run: bool) -> Result<CleanUp, Error> {
        let mut named = copies::photos_named(&self.folder, &self.program).await?;
        // While this transaction runs, nobody can name a photo that is about to go; a save that stored its photos
        // before it looks again after it has named them.
        let mut session = self.database.write().await?;
        session.hold_photos().await?;
        named.extend(names(&mut session).await?);
        let mut done = CleanUp::default();
        for (name, bytes) in self.stored().await? {
            if named.contains(&name) {
                continue;
            }
            if !dry_run {
                let (store, name) = (self.photos.clone(), name.clone());
                aside(move || store.remove(&name)).await?;
            }
            done.photos.push(name);
            done.bytes += bytes;
        }
        drop(session);
        Ok(done)
    }

    async fn stored(&self) -> Result<Vec<(String, u64)>, Error> {
        let store = self.photos.clone();
        aside(move || store.list()).await
    }
}

async fn names(session: &mut crate::database::Session) -> Result<HashSet<String>, Error> {
    let rows = session.query("SELECT sha256 FROM photos").all().await?;
    rows.iter().map(|row| row.get("sha256")).collect()
}
