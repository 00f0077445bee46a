//! Photos that arrive in pieces, each whole once or not at all.
//!
//! A photo is known by the SHA-256 of its bytes. It is announced, comes in pieces that count whole or not at all, and is
//! handed on once when the sum of what came is the one announced. Whoever lost the connection announces it again and is
//! told where it stands.

use crate::digest::{is_sha256, sha256_hex};
use crate::{Limits, ReceivedPhoto, Refusal};
use serde::{Deserialize, Serialize};
use shimwright_say::say;
use std::collections::HashMap;

/// Longest name of a photo, characters.
const LONGEST_NAME: usize = 120;

/// What a phone says of a photo before it sends it.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Announced {
    pub(crate) sha256: String,
    pub(crate) bytes: usize,
    pub(crate) name: String,
    pub(crate) by_itself: bool,
}

/// Where a photo stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "is", rename_all = "kebab-case")]
pub(crate) enum Place {
    /// So many bytes are here.
    Coming { have: usize },
    /// All are here, and the bench looks at it.
    Checking,
    /// It was taken in; the bench says this of it.
    Kept { said: serde_json::Value },
    /// It was refused.
    Refused { failure: Refusal },
}

/// Why a piece does not count.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Odd {
    /// Nobody announced the photo, or another was announced since.
    NotAnnounced,
    /// It does not begin where the last one ended; this is where it stands.
    Elsewhere(Place),
    /// More bytes than were announced.
    TooMany { announced: usize },
    /// The sum of what came is another; it is forgotten.
    OtherSum,
}

/// What a piece did.
#[derive(Debug, PartialEq)]
pub(crate) enum Added {
    /// There are more to come.
    More(Place),
    /// It was the last: the photo is to be handed on, once.
    Whole(ReceivedPhoto),
}

/// All photos of a check.
pub(crate) struct Uploads {
    limits: Limits,
    /// One at a time, so that unfinished ones take no more memory than one photo.
    coming: Option<(Announced, Vec<u8>)>,
    arrived: HashMap<String, Place>,
    announced: usize,
    kept: usize,
}

impl Uploads {
    pub(crate) fn new(limits: Limits) -> Self {
        Self {
            limits,
            coming: None,
            arrived: HashMap::new(),
            announced: 0,
            kept: 0,
        }
    }

    /// Whether a photo that is new here has to wait: pixels of several at once would take more memory than there may be.
    pub(crate) fn must_wait(&self, sha256: &str) -> bool {
        self.place(sha256).is_none() && self.arrived.values().any(|place| *place == Place::Checking)
    }

    /// Announces a photo, or asks where it stands.
    pub(crate) fn announce(&mut self, photo: Announced) -> Result<Place, Refusal> {
        if let Some(place) = self.place(&photo.sha256) {
            return Ok(place);
        }
        self.check(&photo)?;
        self.announced += 1;
        self.coming = Some((photo, Vec::new()));
        Ok(Place::Coming { have: 0 })
    }

    /// Adds a piece that begins at a byte of the photo.
    pub(crate) fn add(&mut self, sha256: &str, at: usize, piece: &[u8]) -> Result<Added, Odd> {
        let place = self.place(sha256).ok_or(Odd::NotAnnounced)?;
        let Some((photo, bytes)) = self.coming.as_mut().filter(|(photo, _)| photo.sha256 == sha256) else {
            return Err(Odd::Elsewhere(place));
        };
        if at != bytes.len() {
            return Err(Odd::Elsewhere(place));
        }
        if piece.len() > photo.bytes - bytes.len() {
            return Err(Odd::TooMany {
                announced: photo.bytes,
            });
        }
        bytes.extend_from_slice(piece);
        if bytes.len() < photo.bytes {
            return Ok(Added::More(Place::Coming { have: bytes.len() }));
        }
        let (photo, bytes) = self.coming.take().ok_or(Odd::NotAnnounced)?;
        if sha256_hex(&bytes) != photo.sha256 {
            return Err(Odd::OtherSum);
        }
        self.arrived.insert(photo.sha256.clone(), Place::Checking);
        Ok(Added::Whole(ReceivedPhoto {
            name: photo.name,
            sha256: photo.sha256,
            by_itself: photo.by_itself,
            bytes,
        }))
    }

    /// Notes what became of a photo that was handed on.
    pub(crate) fn settle(&mut self, sha256: &str, place: Place) {
        if matches!(place, Place::Kept { .. }) {
            self.kept += 1;
        }
        self.arrived.insert(sha256.to_owned(), place);
    }

    fn place(&self, sha256: &str) -> Option<Place> {
        let coming = self.coming.as_ref().filter(|(photo, _)| photo.sha256 == sha256);
        let have = coming.map(|(_, bytes)| Place::Coming { have: bytes.len() });
        have.or_else(|| self.arrived.get(sha256).cloned())
    }

    fn check(&self, photo: &Announced) -> Result<(), Refusal> {
        let limits = &self.limits;
        if !is_sha256(&photo.sha256) {
            return Err(Refusal::bad_input(
                say!("the photo's sum is no SHA-256 of 64 digits"),
                say!("reload the page"),
            ));
        }
        if photo.bytes == 0 || photo.bytes > limits.photo_bytes {
            return Err(Refusal::bad_input(
                say!(
                    "the photo has {} bytes and 1 to {} are taken",
                    photo.bytes,
                    limits.photo_bytes
                ),
                say!("choose a JPEG as the phone's camera writes it"),
            ));
        }
        let plain = |sign: char| !sign.is_control() && !matches!(sign, '/' | '\\');
        let length = photo.name.chars().count();
        if length == 0
            || length > LONGEST_NAME
            || photo.name.starts_with('.')
            || !photo.name.chars().all(plain)
        {
            return Err(Refusal::bad_input(
                say!("the photo's name is no plain file name of 1 to {LONGEST_NAME} signs"),
                say!("give it another name"),
            ));
        }
        if self.kept >= limits.photos {
            return Err(Refusal::bad_input(
                say!(
                    "{} photos were taken in, and {} are the most",
                    self.kept,
                    limits.photos
                ),
                say!("measure with those that are there"),
            ));
        }
        if self.announced >= limits.announced {
            return Err(Refusal::bad_input(
                say!("{} photos were announced, and that is the most", self.announced),
                say!("start receiving again at the bench"),
            ));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn announced(bytes: &[u8]) -> Announced {
        Announced {
            sha256: sha256_hex(bytes),
            bytes: bytes.len(),
            name: "IMG_0001.jpg".into(),
            by_itself: false,
        }
    }

    fn uploads() -> Uploads {
        Uploads::new(Limits {
            photo_bytes: 100,
            photos: 2,
            announced: 4,
            ..Limits::default()
        })
    }

    #[test]
    fn a_photo_in_pieces_is_handed_on_once() {
        let (mut uploads, photo) = (uploads(), b"0123456789");
        let told = announced(photo);
        let sum = told.sha256.clone();
        assert_eq!(uploads.announce(told.clone()), Ok(Place::Coming { have: 0 }));
        let more = uploads.add(&sum, 0, &photo[..4]);
        assert_eq!(more, Ok(Added::More(Place::Coming { have: 4 })));
        // The answer was lost: announced again, it tells where it stands, and a piece sent twice does not count.
        assert_eq!(uploads.announce(told.clone()), Ok(Place::Coming { have: 4 }));
        let twice = uploads.add(&sum, 0, &photo[..4]);
        assert_eq!(twice, Err(Odd::Elsewhere(Place::Coming { have: 4 })));
        let Ok(Added::Whole(whole)) = uploads.add(&sum, 4, &photo[4..]) else {
            panic!("the last piece does not make it whole");
        };
        assert_eq!(whole.bytes, photo);
        assert_eq!(uploads.announce(told.clone()), Ok(Place::Checking));
        let other = sha256_hex(b"other");
        assert!(uploads.must_wait(&other) && !uploads.must_wait(&sum));
        assert_eq!(
            uploads.add(&sum, 4, &photo[4..]),
            Err(Odd::Elsewhere(Place::Checking))
        );
        let kept = Place::Kept {
            said: json!({"id": 1}),
        };
        uploads.settle(&sum, kept.clone());
        assert!(!uploads.must_wait(&other));
        assert_eq!(uploads.announce(told), Ok(kept));
    }

    #[test]
    fn other_bytes_than_announced_are_forgotten() {
        let mut uploads = uploads();
        let told = announced(b"0123456789");
        let sum = told.sha256.clone();
        uploads.announce(told.clone()).expect("announced");
        assert_eq!(uploads.add(&sum, 0, b"012345678X"), Err(Odd::OtherSum));
        assert_eq!(uploads.announce(told), Ok(Place::Coming { have: 0 }));
        let long = uploads.add(&sum, 0, b"0123456789A");
        assert_eq!(long, Err(Odd::TooMany { announced: 10 }));
    }

    #[test]
    fn one_photo_comes_at_a_time() {
        let mut uploads = uploads();
        let (first, second) = (announced(b"first"), announced(b"second"));
        uploads.announce(first.clone()).expect("announced");
        uploads.add(&first.sha256, 0, b"fi").expect("a piece");
        uploads.announce(second).expect("announced");
        assert_eq!(uploads.add(&first.sha256, 2, b"rst"), Err(Odd::NotAnnounced));
        assert_eq!(uploads.announce(first), Ok(Place::Coming { have: 0 }));
    }

    #[test]
    fn names_sizes_and_sums_are_checked() {
        let mut uploads = uploads();
        let good = announced(b"good");
        let named = |name: &str| Announced {
            name: name.into(),
            ..good.clone()
        };
        for name in [
            "",
            "../a.jpg",
            "a/b",
            "a\\b",
            ".hidden",
            "a\nb",
            "a\0b",
            &"x".repeat(121),
        ] {
            assert!(uploads.announce(named(name)).is_err(), "{name:?} was taken");
        }
        for bytes in [0, 101, usize::MAX] {
            let sized = Announced {
                bytes,
                ..good.clone()
            };
            assert!(uploads.announce(sized).is_err(), "{bytes} bytes were taken");
        }
        for sha256 in [
            "",
            "../../etc/passwd",
            &good.sha256.to_uppercase(),
            &good.sha256[1..],
        ] {
            let summed = Announced {
                sha256: sha256.into(),
                ..good.clone()
            };
            assert!(uploads.announce(summed).is_err(), "{sha256} was taken");
        }
        // Words that a page would take for its own are words here.
        assert!(
            uploads
                .announce(named("<img src=x onerror=alert(1)>.jpg"))
                .is_ok()
        );
    }

    #[test]
    fn photos_and_announcements_are_counted() {
        let mut uploads = uploads();
        for photo in [b"a", b"b"] {
            let told = announced(photo);
            uploads.announce(told.clone()).expect("announced");
            uploads.add(&told.sha256, 0, photo).expect("whole");
            uploads.settle(&told.sha256, Place::Kept { said: json!(null) });
        }
        let refusal = uploads.announce(announced(b"c")).expect_err("a third of two");
        assert!(refusal.message.contains("2 are the most"), "{}", refusal.message);
        uploads.kept = 0;
        for photo in [b"c", b"d"] {
            uploads.announce(announced(photo)).expect("announced");
        }
        let refusal = uploads.announce(announced(b"e")).expect_err("a fifth of four");
        assert!(refusal.message.starts_with("4 photos"), "{}", refusal.message);
    }
}
