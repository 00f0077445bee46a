//! Writing: every file stored, headers that follow from names, contents and one moment.

use super::{CENTRAL, END, LOCAL};
use crate::Error;
use chrono::{DateTime, Datelike, FixedOffset, Timelike};
use shimwright_phrase::Phrase;
use shimwright_say::say;

/// A file to be packed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Part<'a> {
    pub path: &'a str,
    pub bytes: &'a [u8],
}

/// Version of the format that a reader must know to take out a stored file: 1.0.
const NEEDS: u16 = 10;
/// Made on Unix (3), by the rules of version 2.0: so that readers take the permissions below.
const MADE_BY: u16 = (3 << 8) | 20;
/// A plain file that its owner may write and everybody may read.
const PERMISSIONS: u32 = 0o100_644 << 16;

/// The archive of these files, all dated to this moment.
///
/// # Errors
/// [`Error::Limit`] when it would need 64 bit lengths.
pub(crate) fn write(parts: &[Part], at: &DateTime<FixedOffset>) -> Result<Vec<u8>, Error> {
    let room = parts
        .iter()
        .map(|part| part.bytes.len() + 2 * part.path.len() + 80)
        .sum::<usize>()
        + 30;
    let mut out = Vec::with_capacity(room);
    let mut index = Vec::new();
    for part in parts {
        let start = length(say!("the archive"), out.len())?;
        let facts = facts(part, at)?;
        put(&mut out, &[Field::Four(LOCAL), Field::Two(NEEDS)]);
        out.extend(&facts);
        out.extend(part.path.as_bytes());
        out.extend(part.bytes);

        put(
            &mut index,
            &[Field::Four(CENTRAL), Field::Two(MADE_BY), Field::Two(NEEDS)],
        );
        index.extend(&facts);
        // No comment, first disk, a binary file.
        put(
            &mut index,
            &[
                Field::Two(0),
                Field::Two(0),
                Field::Two(0),
                Field::Four(PERMISSIONS),
                Field::Four(start),
            ],
        );
        index.extend(part.path.as_bytes());
    }
    let start = length(say!("the archive"), out.len())?;
    let count = u16::try_from(parts.len()).map_err(|_| Error::Limit {
        what: say!("the number of files"),
        is: parts.len() as u64,
        limit: u16::MAX.into(),
    })?;
    let index_bytes = length(say!("the archive's index"), index.len())?;
    out.extend(index);
    put(
        &mut out,
        &[
            Field::Four(END),
            Field::Two(0),
            Field::Two(0),
            Field::Two(count),
            Field::Two(count),
        ],
    );
    put(
        &mut out,
        &[Field::Four(index_bytes), Field::Four(start), Field::Two(0)],
    );
    Ok(out)
}

/// What a local and a central header say alike: flags, method, time, date, sum, lengths of data, name and extra field.
fn facts(part: &Part, at: &DateTime<FixedOffset>) -> Result<Vec<u8>, Error> {
    let bytes = length(say!("{}", part.path), part.bytes.len())?;
    let mut crc = flate2::Crc::new();
    crc.update(part.bytes);
    let name = u16::try_from(part.path.len()).unwrap_or(u16::MAX);
    let mut out = Vec::new();
    put(
        &mut out,
        &[
            Field::Two(0),
            Field::Two(0),
            Field::Two(dos_time(at)),
            Field::Two(dos_date(at)),
        ],
    );
    put(
        &mut out,
        &[
            Field::Four(crc.sum()),
            Field::Four(bytes),
            Field::Four(bytes),
            Field::Two(name),
            Field::Two(0),
        ],
    );
    Ok(out)
}

/// A number of a header.
enum Field {
    Two(u16),
    Four(u32),
}

fn put(out: &mut Vec<u8>, fields: &[Field]) {
    for field in fields {
        match field {
            Field::Two(number) => out.extend(number.to_le_bytes()),
            Field::Four(number) => out.extend(number.to_le_bytes()),
        }
    }
}

fn length(what: Phrase, bytes: usize) -> Result<u32, Error> {
    u32::try_from(bytes).map_err(|_| Error::Limit {
        what: say!("the length of {what}"),
        is: bytes as u64,
        limit: u32::MAX.into(),
    })
}

/// Hours, minutes and half the seconds (APPNOTE 4.4.6).
fn dos_time(at: &DateTime<FixedOffset>) -> u16 {
    ((at.hour() << 11) | (at.minute() << 5) | (at.second().min(59) / 2)) as u16
}

/// Years since 1980, month and day.
fn dos_date(at: &DateTime<FixedOffset>) -> u16 {
    let years = (at.year() - 1980).clamp(0, 127) as u32;
    ((years << 9) | (at.month() << 5) | at.day()) as u16
}
