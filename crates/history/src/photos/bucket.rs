//! Photos in an S3-compatible store, each an object under the SHA-256 of its bytes.

use crate::Error;
use futures_util::TryStreamExt;
use object_store::aws::{AmazonS3Builder, AmazonS3ConfigKey};
use object_store::path::Path;
use object_store::{ObjectStore, ObjectStoreExt, RetryConfig};
use std::sync::Arc;
use std::time::Duration;
use url::Url;

/// How a place in such a store begins.
const SCHEME: &str = "s3";
/// How often a request that failed is made again, and for how long: a person waits.
const RETRIES: usize = 3;
const RETRY_FOR: Duration = Duration::from_secs(20);

/// A bucket of photos, each unchanged and named by the SHA-256 of its bytes.
#[derive(Clone, Debug)]
pub(crate) struct BucketPhotos {
    store: Arc<dyn ObjectStore>,
    /// What stands before the names, without a slash at its end; may be empty.
    prefix: String,
    /// Bucket and prefix, to be told; without keys.
    place: String,
    own: Arc<OwnThread>,
}

impl BucketPhotos {
    /// Reaches a bucket by its URL, `s3://BUCKET/PREFIX?endpoint=…&region=…&access_key_id=…&secret_access_key=…`. What the URL
    /// does not say comes from the environment (`AWS_ENDPOINT_URL`, `AWS_REGION`, `AWS_ACCESS_KEY_ID`, …).
    ///
    /// # Errors
    /// [`Error::NoPhotoPlace`] for a URL that cannot be read, [`Error::PhotoService`] for a bucket that cannot be used.
    pub(crate) fn reach(url: &str) -> Result<Self, Error> {
        let asked = Asked::read(url)?;
        let failed = |error: object_store::Error| Error::PhotoService {
            why: reason(&error),
            place: asked.place.clone(),
        };
        // Refused only when something else in this program has set the same already.
        let _ = rustls::crypto::ring::default_provider().install_default();
        let mut builder = AmazonS3Builder::from_env()
            .with_bucket_name(&asked.bucket)
            .with_retry(RetryConfig {
                max_retries: RETRIES,
                retry_timeout: RETRY_FOR,
                ..RetryConfig::default()
            });
        for (key, value) in &asked.options {
            builder = builder.with_config(*key, value);
        }
        // An address that is written with `http://` is meant so: a store in the shop's own network.
        let plain = builder
            .get_config_value(&AmazonS3ConfigKey::Endpoint)
            .is_some_and(|endpoint| endpoint.starts_with("http://"));
        let store = builder.with_allow_http(plain).build().map_err(failed)?;
        let bucket = Self::on(Arc::new(store), asked.prefix, asked.place)?;
        // A wrong key is better told now than at the first save.
        let (store, prefix) = (bucket.store.clone(), bucket.root());
        bucket
            .own
            .wait(async move { store.list(Some(&prefix)).try_next().await })?
            .map_err(|error| bucket.failed(&error))?;
        Ok(bucket)
    }

    fn on(store: Arc<dyn ObjectStore>, prefix: String, place: String) -> Result<Self, Error> {
        Ok(Self {
            store,
            prefix,
            place,
            own: Arc::new(OwnThread::start()?),
        })
    }

    fn root(&self) -> Path {
        Path::from(self.prefix.as_str())
    }

    fn path(&self, sha256: &str) -> Path {
        Path::from(format!("{}/{}/{sha256}", self.prefix, &sha256[..2]))
    }

    /// Whether there is an object with this name.
    ///
    /// # Errors
    /// [`Error::PhotoService`].
    pub(crate) fn has(&self, sha256: &str) -> Result<bool, Error> {
        let (store, path) = (self.store.clone(), self.path(sha256));
        self.absent_is_none(self.own.wait(async move { store.head(&path).await })?)
            .map(|there| there.is_some())
    }

    /// Stores bytes under their name. Bytes that are there already are not sent again. The store takes an object whole
    /// or not at all.
    ///
    /// # Errors
    /// [`Error::PhotoService`].
    pub(crate) fn put(&self, sha256: &str, bytes: &[u8]) -> Result<(), Error> {
        if self.get(sha256)?.is_some_and(|there| there == bytes) {
            return Ok(());
        }
        let (store, path, bytes) = (self.store.clone(), self.path(sha256), bytes.to_vec());
        self.own
            .wait(async move { store.put(&path, bytes.into()).await })?
            .map(drop)
            .map_err(|error| self.failed(&error))
    }

    /// The bytes under a name; none when there is no such object.
    ///
    /// # Errors
    /// [`Error::PhotoService`].
    pub(crate) fn get(&self, sha256: &str) -> Result<Option<Vec<u8>>, Error> {
        let (store, path) = (self.store.clone(), self.path(sha256));
        let got = self
            .own
            .wait(async move { store.get(&path).await?.bytes().await })?;
        Ok(self.absent_is_none(got)?.map(Vec::from))
    }

    /// The names of a photo's copies, ordered.
    ///
    /// # Errors
    /// [`Error::PhotoService`].
    pub(crate) fn copies_of(&self, sha256: &str) -> Result<Vec<String>, Error> {
        let (store, photo) = (self.store.clone(), self.path(sha256));
        let shelf = Path::from(format!("{}/{}", self.prefix, &sha256[..2]));
        // Names come in order: those that begin with the photo's sum are the first behind it.
        let begins = format!("{sha256}-");
        let copies: Vec<String> = self
            .own
            .wait(async move {
                store
                    .list_with_offset(Some(&shelf), &photo)
                    .map_ok(|object| object.location.filename().unwrap_or_default().to_owned())
                    .try_take_while(|name| std::future::ready(Ok(name.starts_with(&begins))))
                    .try_collect()
                    .await
            })?
            .map_err(|error| self.failed(&error))?;
        Ok(copies
            .into_iter()
            .filter(|name| super::sums_of(name).is_some())
            .collect())
    }

    /// Names and sizes of all photos and copies that are there, ordered by name.
    ///
    /// # Errors
    /// [`Error::PhotoService`].
    pub(crate) fn list(&self) -> Result<Vec<(String, u64)>, Error> {
        let (store, prefix) = (self.store.clone(), self.root());
        let objects: Vec<_> = self
            .own
            .wait(async move { store.list(Some(&prefix)).try_collect().await })?
            .map_err(|error| self.failed(&error))?;
        let mut all: Vec<(String, u64)> = objects
            .into_iter()
            .filter_map(|object: object_store::ObjectMeta| {
                let name = object.location.filename()?.to_owned();
                // What lies elsewhere or is called otherwise is not ours.
                let ours = super::sums_of(&name).is_some() && object.location == self.path(&name);
                ours.then_some((name, object.size))
            })
            .collect();
        all.sort();
        Ok(all)
    }

    /// Removes a photo.
    ///
    /// # Errors
    /// [`Error::PhotoService`].
    pub(crate) fn remove(&self, sha256: &str) -> Result<(), Error> {
        let (store, path) = (self.store.clone(), self.path(sha256));
        self.own
            .wait(async move { store.delete(&path).await })?
            .map_err(|error| self.failed(&error))
    }

    fn failed(&self, error: &object_store::Error) -> Error {
        Error::PhotoService {
            why: reason(error),
            place: self.place.clone(),
        }
    }

    fn absent_is_none<T>(&self, outcome: Result<T, object_store::Error>) -> Result<Option<T>, Error> {
        match outcome {
            Err(object_store::Error::NotFound { .. }) => Ok(None),
            other => other.map(Some).map_err(|error| self.failed(&error)),
        }
    }
}

/// What stands in an answer of the store between two marks.
fn told<'a>(answer: &'a str, name: &str) -> Option<&'a str> {
    let (_, after) = answer.split_once(&format!("<{name}>"))?;
    Some(after.split_once("</")?.0)
}

/// Why a store refuses, in few words.
fn reason(error: &object_store::Error) -> String {
    match error {
        object_store::Error::NotFound { .. } => return "there is no such bucket".into(),
        object_store::Error::PermissionDenied { .. } | object_store::Error::Unauthenticated { .. } => {
            return "it does not take this bench's key".into();
        }
        _ => {}
    }
    // The outer layers repeat the request; what went wrong stands innermost.
    let mut inner: &dyn std::error::Error = error;
    while let Some(source) = inner.source() {
        inner = source;
    }
    let text = inner.to_string();
    match (told(&text, "Code"), told(&text, "Message")) {
        (Some("NoSuchBucket"), _) => "there is no such bucket".into(),
        (_, Some(message)) => message.to_owned(),
        _ => text,
    }
}

/// What a URL asks for.
#[derive(Debug)]
struct Asked {
    bucket: String,
    prefix: String,
    options: Vec<(AmazonS3ConfigKey, String)>,
    place: String,
}

impl Asked {
    fn read(url: &str) -> Result<Self, Error> {
        // Keys may stand behind the question mark: they are not told on.
        let place = url.split('?').next().unwrap_or_default().to_owned();
        let wrong = |why: String| Error::NoPhotoPlace {
            place: place.clone(),
            why,
        };
        let read = Url::parse(url).map_err(|error| wrong(error.to_string()))?;
        let bucket = read.host_str().filter(|_| read.scheme() == SCHEME);
        let bucket = bucket.ok_or_else(|| wrong("it is no s3:// URL with a bucket".into()))?;
        let mut options = Vec::new();
        for (name, value) in read.query_pairs() {
            let key = name
                .parse()
                .map_err(|_| wrong(format!("`{name}` is no setting of such a store")))?;
            options.push((key, value.into_owned()));
        }
        Ok(Self {
            bucket: bucket.to_owned(),
            prefix: read.path().trim_matches('/').to_owned(),
            options,
            place: place.clone(),
        })
    }
}

/// A thread of its own that speaks with the network: the calls above wait for it, on whatever thread they are made.
#[derive(Debug)]
struct OwnThread(Option<tokio::runtime::Runtime>);

impl OwnThread {
    fn start() -> Result<Self, Error> {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(1)
            .enable_all()
            .build()
            .map_err(|_| Error::Stopped)?;
        Ok(Self(Some(runtime)))
    }

    fn wait<T: Send + 'static>(&self, work: impl Future<Output = T> + Send + 'static) -> Result<T, Error> {
        let (send, answer) = std::sync::mpsc::sync_channel(1);
        if let Some(runtime) = &self.0 {
            runtime.spawn(async move { send.send(work.await) });
        }
        answer.recv().map_err(|_| Error::Stopped)
    }
}

impl Drop for OwnThread {
    fn drop(&mut self) {
        // Dropped as it is, it would wait, which the threads that serve others must not.
        if let Some(runtime) = self.0.take() {
            runtime.shutdown_background();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use object_store::memory::InMemory;

    fn in_memory() -> BucketPhotos {
        BucketPhotos::on(Arc::new(InMemory::new()), "shop/photos".into(), "memory".into()).unwrap()
    }

    /// On a thread that serves others, too.
    #[tokio::test]
    async fn photos_are_objects_under_their_sums() {
        let photos = in_memory();
        let sum = crate::sha256_hex(b"picture");
        assert_eq!(
            (photos.has(&sum).unwrap(), photos.get(&sum).unwrap()),
            (false, None)
        );
        photos.put(&sum, b"picture").unwrap();
        assert_eq!(photos.get(&sum).unwrap().as_deref(), Some(&b"picture"[..]));
        assert_eq!(photos.list().unwrap(), [(sum.clone(), 7)]);
        let place = Path::from(format!("shop/photos/{}/{sum}", &sum[..2]));
        photos.store.put(&place, b"damage".to_vec().into()).await.unwrap();
        photos.put(&sum, b"picture").unwrap();
        assert_eq!(
            photos.get(&sum).unwrap().as_deref(),
            Some(&b"picture"[..]),
            "mended"
        );
        photos.remove(&sum).unwrap();
        assert!(!photos.has(&sum).unwrap());
    }

    #[tokio::test]
    async fn copies_are_found_by_the_photo_that_they_are_of() {
        let photos = in_memory();
        let sum = format!("ab{}", "7".repeat(62));
        let copy = format!("{sum}-{}", "1".repeat(64));
        for other in [
            format!("ab{}", "8".repeat(62)),
            format!("ab{}-{}", "6".repeat(62), "2".repeat(64)),
        ] {
            photos.put(&other, b"other").unwrap();
        }
        assert_eq!(photos.copies_of(&sum).unwrap(), [""; 0]);
        photos.put(&copy, b"copy").unwrap();
        photos.put(&sum, b"photo").unwrap();
        assert_eq!(photos.copies_of(&sum).unwrap(), [copy]);
    }

    #[tokio::test]
    async fn what_is_called_otherwise_or_lies_elsewhere_is_not_ours() {
        let photos = in_memory();
        for place in [
            "shop/photos/notes.txt".to_owned(),
            format!("shop/photos/{}", "a".repeat(64)),
        ] {
            photos
                .store
                .put(&Path::from(place), b"x".to_vec().into())
                .await
                .unwrap();
        }
        assert_eq!(photos.list().unwrap(), []);
    }

    #[test]
    fn a_url_names_bucket_prefix_and_settings() {
        let asked =
            Asked::read("s3://shop/photos/all/?endpoint=http://10.0.0.2:9000&secret_access_key=se%26cret")
                .unwrap();
        assert_eq!(
            (asked.bucket.as_str(), asked.prefix.as_str()),
            ("shop", "photos/all")
        );
        assert_eq!(
            asked.options[1],
            (AmazonS3ConfigKey::SecretAccessKey, "se&cret".into())
        );
        assert_eq!(asked.place, "s3://shop/photos/all/");
        for wrong in ["s3://", "gs://shop/photos", "s3://shop?colour=red"] {
            let refused = Asked::read(wrong).unwrap_err();
            assert!(
                matches!(refused, Error::NoPhotoPlace { .. }),
                "{wrong}: {refused:?}"
            );
        }
    }
}
