//! Photos and recordings without the place where they were taken, as they leave this machine.

use shimwright_history::{PhotosOut, SharedPhotos, WithoutPlace};
use shimwright_photo::{Limits, shared_copy};

/// Parts of a WAV file that are its sound (RIFF, Multimedia Programming Interface 1.0): form, count and samples. Lists,
/// broadcast data and others may tell a place.
const SOUND_PARTS: [&[u8; 4]; 3] = [b"fmt ", b"fact", b"data"];

/// How photos go into files that may leave this machine: untouched when that was asked for, otherwise without place.
pub(crate) fn photos_out(with_place: bool) -> PhotosOut {
    if with_place {
        PhotosOut::Untouched
    } else {
        PhotosOut::WithoutPlace(WithoutPlace::new(without_place))
    }
}

/// A place for photos that all benches reach: a folder or a bucket's URL.
pub fn shared_photos(place: String) -> SharedPhotos {
    SharedPhotos {
        place,
        without_place: WithoutPlace::new(without_place),
    }
}

/// The copy of a photo or a recording without place data.
///
/// # Errors
/// Why there can be none.
pub(crate) fn without_place(bytes: &[u8]) -> Result<Vec<u8>, String> {
    if is_recording(bytes) {
        return recording(bytes).ok_or_else(|| "the recording's parts do not hold together".to_owned());
    }
    shared_copy(bytes, &Limits::default()).map_err(|error| error.to_string())
}

/// Whether a file is a recording.
pub(crate) fn is_recording(bytes: &[u8]) -> bool {
    bytes.get(..4) == Some(b"RIFF") && bytes.get(8..12) == Some(b"WAVE")
}

/// A recording's sound without what else its file tells.
pub(crate) fn recording(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut kept = Vec::with_capacity(bytes.len());
    let mut rest = bytes.get(12..)?;
    while let (Some(name), Some(size)) = (rest.get(..4), rest.get(4..8)) {
        let size = u32::from_le_bytes(size.try_into().ok()?) as usize;
        // A recorder that was stopped leaves a last part that is shorter than it says; readers take what there is.
        let end = size.checked_add(8)?.min(rest.len());
        let (part, behind) = rest.split_at(end);
        if SOUND_PARTS.iter().any(|wanted| name == *wanted) {
            kept.extend(part);
            if size % 2 == 1 && !behind.is_empty() {
                kept.push(0);
            }
        }
        rest = behind.get(size % 2..).unwrap_or_default();
    }
    let length = u32::try_from(kept.len() + 4).ok()?;
    let mut copy = Vec::with_capacity(kept.len() + 12);
    copy.extend(b"RIFF");
    copy.extend(length.to_le_bytes());
    copy.extend(b"WAVE");
    copy.extend(kept);
    Some(copy)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wav(parts: &[(&[u8; 4], &[u8])]) -> Vec<u8> {
        let mut body = b"WAVE".to_vec();
        for (name, content) in parts {
            body.extend(*name);
            body.extend((content.len() as u32).to_le_bytes());
            body.extend(*content);
            body.resize(body.len().next_multiple_of(2), 0);
        }
        [b"RIFF".as_slice(), &(body.len() as u32).to_le_bytes(), &body].concat()
    }

    #[test]
    fn a_recording_keeps_its_sound_alone() {
        let (form, samples) = ([1_u8, 0, 1, 0].as_slice(), [5_u8, 6, 7].as_slice());
        let plain = wav(&[(b"fmt ", form), (b"data", samples)]);
        assert_eq!(without_place(&plain).unwrap(), plain);
        let told = wav(&[
            (b"LIST", b"INFOIARL at home"),
            (b"fmt ", form),
            (b"bext", b"somewhere"),
            (b"data", samples),
            (b"id3 ", b"GPS"),
        ]);
        assert_eq!(without_place(&told).unwrap(), plain);
    }

    #[test]
    fn what_is_neither_says_why() {
        let why = without_place(b"dear diary").unwrap_err();
        assert!(why.contains("JPEG"), "{why}");
    }
}
