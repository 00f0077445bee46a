//! Taking a file out of the archive.

use super::index::Entry;
use super::{LOCAL, LOCAL_BYTES, u16_at, u32_at};
use shimwright_phrase::Phrase;
use shimwright_say::say;
use std::io::Read;

/// The bytes of an entry, or what is wrong with them. No more is unpacked than the index said, whatever the data say.
pub(crate) fn unpack(archive: &[u8], entry: &Entry) -> Result<Vec<u8>, Phrase> {
    let head = archive
        .get(entry.start..)
        .filter(|head| u32_at(head, 0) == Some(LOCAL))
        .ok_or_else(|| say!("the archive's index leads nowhere"))?;
    let skip = |place: usize| {
        u16_at(head, place)
            .map(usize::from)
            .ok_or_else(|| say!("its header is cut short"))
    };
    let start = LOCAL_BYTES + skip(26)? + skip(28)?;
    let packed = usize::try_from(entry.packed).unwrap_or(usize::MAX);
    let data = head
        .get(start..)
        .and_then(|data| data.get(..packed))
        .ok_or_else(|| say!("it is cut short"))?;
    let bytes = match entry.method {
        8 => inflate(data, entry.unpacked)?,
        _ => data.to_vec(),
    };
    if bytes.len() as u64 != entry.unpacked {
        return Err(say!(
            "it has {} bytes and the archive's index says {}",
            bytes.len(),
            entry.unpacked
        ));
    }
    let mut crc = flate2::Crc::new();
    crc.update(&bytes);
    if crc.sum() != entry.crc {
        return Err(say!("its bytes are not those that it was packed with"));
    }
    Ok(bytes)
}

fn inflate(data: &[u8], unpacked: u64) -> Result<Vec<u8>, Phrase> {
    let mut bytes = Vec::new();
    flate2::read::DeflateDecoder::new(data)
        .take(unpacked.saturating_add(1))
        .read_to_end(&mut bytes)
        .map_err(|error| say!("it cannot be unpacked ({error})"))?;
    Ok(bytes)
}
