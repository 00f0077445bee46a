//! TIFF (revision 6.0): every byte stays in its place, and all that the listed fields do not name is blank.
//!
//! The picture's strips or tiles cannot move without a new layout, so the copy is as long as the original: the first
//! directory and its Exif directory keep their listed fields, and previews, further pages, makers' notes and all else
//! are zeros.

use super::facts_block::{EXIF, EXIF_POINTER, Order, PRIMARY, kind_bytes};
use std::ops::Range;

/// Fields of the first directory that make the picture: size, samples, compression, layout, colours.
const PICTURE: [u16; 27] = [
    0x00FE, 0x00FF, 0x0100, 0x0101, 0x0102, 0x0103, 0x0106, 0x010A, 0x0111, 0x0115, 0x0116, 0x0117, 0x011C,
    0x013D, 0x013E, 0x013F, 0x0140, 0x0142, 0x0143, 0x0144, 0x0145, 0x0152, 0x0153, 0x015B, 0x0211, 0x0212,
    0x0214,
];

/// Where the picture's data lie, and how long each part is: strips, then tiles.
const PARTS: [(u16, u16); 2] = [(0x0111, 0x0117), (0x0144, 0x0145)];

/// The copy; `None` when the file does not hold together.
pub(super) fn copy(bytes: &[u8]) -> Option<Vec<u8>> {
    let order = Order::of(bytes)?;
    let first = order.four(bytes, 4)? as usize;
    let mut copy = Copy {
        order,
        from: bytes,
        out: vec![0; bytes.len()],
    };
    copy.keep(0..8)?;
    let wanted = |tag: u16| PICTURE.contains(&tag) || PRIMARY.contains(&tag) || tag == EXIF_POINTER;
    let entries = copy.directory(first, wanted)?;
    for (offsets, lengths) in PARTS {
        let (offsets, lengths) = (copy.numbers(&entries, offsets)?, copy.numbers(&entries, lengths)?);
        for (start, length) in offsets.into_iter().zip(lengths) {
            copy.keep(start..start.checked_add(length)?)?;
        }
    }
    if let [at] = copy.numbers(&entries, EXIF_POINTER)?[..] {
        copy.directory(at, |tag| EXIF.contains(&tag))?;
    }
    Some(copy.out)
}

struct Copy<'b> {
    order: Order,
    from: &'b [u8],
    out: Vec<u8>,
}

impl Copy<'_> {
    fn keep(&mut self, range: Range<usize>) -> Option<()> {
        let part = self.from.get(range.clone())?;
        self.out.get_mut(range)?.copy_from_slice(part);
        Some(())
    }

    /// Keeps the wanted fields of the directory at `at` with their values, as a directory without a next one. Gives where
    /// their entries lie in the original.
    fn directory(&mut self, at: usize, wanted: impl Fn(u16) -> bool) -> Option<Vec<usize>> {
        let count = usize::from(self.order.two(self.from, at)?);
        let mut kept = Vec::new();
        for entry in (0..count).map(|i| at + 2 + 12 * i) {
            if wanted(self.order.two(self.from, entry)?) {
                kept.push(entry);
            }
        }
        let mut made = Vec::new();
        self.order.put_two(&mut made, u16::try_from(kept.len()).ok()?);
        for &entry in &kept {
            made.extend(self.from.get(entry..entry + 12)?);
            if let Some(value) = self.outside(entry)? {
                self.keep(value)?;
            }
        }
        self.out.get_mut(at..at + made.len())?.copy_from_slice(&made);
        Some(kept)
    }

    /// Where the value of an entry lies when it does not fit into the entry.
    fn outside(&self, entry: usize) -> Option<Option<Range<usize>>> {
        let length = self.count(entry)?.checked_mul(self.size(entry)?)?;
        if length <= 4 {
            return Some(None);
        }
        let start = self.order.four(self.from, entry + 8)? as usize;
        Some(Some(start..start.checked_add(length)?))
    }

    fn count(&self, entry: usize) -> Option<usize> {
        self.order.four(self.from, entry + 4).map(|count| count as usize)
    }

    fn size(&self, entry: usize) -> Option<usize> {
        kind_bytes(self.order.two(self.from, entry + 2)?)
    }

    /// The whole numbers of a field, 16 or 32 bits wide; none when it is not among the entries.
    fn numbers(&self, entries: &[usize], tag: u16) -> Option<Vec<usize>> {
        let of_tag = |entry: &&usize| self.order.two(self.from, **entry) == Some(tag);
        let Some(&entry) = entries.iter().find(of_tag) else {
            return Some(Vec::new());
        };
        let (count, size) = (self.count(entry)?, self.size(entry)?);
        let start = self.outside(entry)?.map_or(entry + 8, |value| value.start);
        // A count that the file cannot hold ends at the first number outside of it.
        (0..count)
            .map(|i| match size {
                2 => self.order.two(self.from, start + 2 * i).map(usize::from),
                4 => self
                    .order
                    .four(self.from, start + 4 * i)
                    .map(|number| number as usize),
                _ => None,
            })
            .collect()
    }
}
