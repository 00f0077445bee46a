//! Reading the archive's index, under limits and with suspicion.

use super::{CENTRAL, CENTRAL_BYTES, END, END_BYTES, Limits, u16_at, u32_at};
use crate::{Error, names};
use shimwright_phrase::Phrase;
use shimwright_say::say;
use std::collections::HashSet;
use std::ops::Range;

/// An entry as the index tells it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Entry {
    pub path: String,
    /// 0 stored, 8 deflated.
    pub method: u16,
    pub crc: u32,
    pub packed: u64,
    pub unpacked: u64,
    /// Where its local header stands.
    pub start: usize,
}

/// Flag bit 0: encrypted. Bits 5, 6 and 13: patches and other encryption (APPNOTE 4.4.4).
const ENCRYPTED: u16 = 0x2061;
/// Unix file types in the upper half of the external attributes.
const FILE_TYPE: u32 = 0o170_000;
const PLAIN_FILE: u32 = 0o100_000;

/// Reads the index: every name checked, no name twice, no kind that bundles do not hold, all within limits.
pub(crate) fn read_index(bytes: &[u8], limits: &Limits) -> Result<Vec<Entry>, Error> {
    limit(
        say!("the size of the archive in bytes"),
        bytes.len() as u64,
        limits.bytes,
    )?;
    let (count, range) = end_record(bytes)?;
    limit(say!("the number of entries"), count as u64, limits.entries)?;
    let index = &bytes[range];
    let mut entries = Vec::with_capacity(count);
    let mut seen = HashSet::new();
    let (mut at, mut total) = (0, 0_u64);
    for _ in 0..count {
        let entry = entry(index, &mut at, limits)?;
        // Systems that do not tell capitals apart would write one over the other.
        if !seen.insert(entry.path.to_ascii_lowercase()) {
            return Err(Error::Twice { name: entry.path });
        }
        total = total.saturating_add(entry.unpacked);
        limit(
            say!("the size of all files unpacked, in bytes,"),
            total,
            limits.bytes,
        )?;
        entries.push(entry);
    }
    if at != index.len() {
        return Err(broken(say!("it is longer than its entries")));
    }
    Ok(entries)
}

/// How many entries there are and where their headers lie.
fn end_record(bytes: &[u8]) -> Result<(usize, Range<usize>), Error> {
    let at = bytes
        .len()
        .checked_sub(END_BYTES)
        .ok_or_else(|| broken(say!("the file is too short for an archive")))?;
    if u32_at(bytes, at) != Some(END) {
        return Err(broken(say!("there is no end record at the end of the file")));
    }
    let two = |place: usize| usize::from(u16_at(bytes, at + place).unwrap_or(u16::MAX));
    let four = |place: usize| u32_at(bytes, at + place).unwrap_or(u32::MAX) as usize;
    if two(4) != 0 || two(6) != 0 || two(8) != two(10) || two(20) != 0 {
        return Err(broken(say!(
            "its end record tells of several disks or of a comment"
        )));
    }
    let (length, start) = (four(12), four(16));
    if start.checked_add(length) != Some(at) {
        return Err(broken(say!("its end record does not tell where the index lies")));
    }
    Ok((two(10), start..at))
}

/// The central header at `at`, which moves behind it.
fn entry(index: &[u8], at: &mut usize, limits: &Limits) -> Result<Entry, Error> {
    let head = index
        .get(*at..*at + CENTRAL_BYTES)
        .ok_or_else(|| broken(say!("an entry is cut short")))?;
    let two = |place: usize| u16_at(head, place).unwrap_or_default();
    let four = |place: usize| u32_at(head, place).unwrap_or_default();
    if four(0) != CENTRAL {
        return Err(broken(say!("an entry does not begin like one")));
    }
    let rest = *at + CENTRAL_BYTES;
    let name = index
        .get(rest..rest + usize::from(two(28)))
        .ok_or_else(|| broken(say!("a name is cut short")))?;
    *at = rest + name.len() + usize::from(two(30)) + usize::from(two(32));
    let path = String::from_utf8_lossy(name).into_owned();
    if let Some(why) = names::trouble(&path) {
        return Err(Error::Name { name: path, why });
    }
    let kind = |what: Phrase| Error::Kind {
        name: path.clone(),
        what,
    };
    if two(8) & ENCRYPTED != 0 {
        return Err(kind(say!("encrypted")));
    }
    let file_type = (four(38) >> 16) & FILE_TYPE;
    if two(4) >> 8 == 3 && file_type != 0 && file_type != PLAIN_FILE {
        return Err(kind(say!("a link or another thing than a file")));
    }
    if !matches!(two(10), 0 | 8) {
        return Err(kind(say!("packed with method {}", two(10))));
    }
    let (packed, unpacked) = (u64::from(four(20)), u64::from(four(24)));
    limit(say!("the size of {path} in bytes"), unpacked, limits.file_bytes)?;
    if unpacked > 0 {
        limit(
            say!("the expansion of {path}"),
            unpacked / packed.max(1),
            limits.expansion,
        )?;
    }
    Ok(Entry {
        method: two(10),
        crc: four(16),
        packed,
        unpacked,
        start: four(42) as usize,
        path,
    })
}

fn limit(what: Phrase, is: u64, limit: u64) -> Result<(), Error> {
    if is <= limit {
        return Ok(());
    }
    Err(Error::Limit { what, is, limit })
}

fn broken(what: Phrase) -> Error {
    Error::Index { what }
}
