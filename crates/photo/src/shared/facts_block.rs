//! The facts of camera, lens and time out of an Exif block (a TIFF structure; Exif 2.32, TIFF 6.0).

/// Fields of the first directory: make, model, orientation, resolution, time of the file.
pub(super) const PRIMARY: [u16; 7] = [0x010F, 0x0110, 0x0112, 0x011A, 0x011B, 0x0128, 0x0132];

/// Fields of the Exif directory: exposure, version, times, focus, flash, focal length, size, zoom and lens.
pub(super) const EXIF: [u16; 30] = [
    0x829A, 0x829D, 0x8827, 0x9000, 0x9003, 0x9004, 0x9010, 0x9011, 0x9012, 0x9201, 0x9202, 0x9206, 0x9209,
    0x920A, 0x9290, 0x9291, 0x9292, 0xA001, 0xA002, 0xA003, 0xA20E, 0xA20F, 0xA210, 0xA402, 0xA403, 0xA404,
    0xA405, 0xA432, 0xA433, 0xA434,
];

/// Where the Exif directory lies.
pub(super) const EXIF_POINTER: u16 = 0x8769;

/// Longest value that is a fact and not something else in its place, bytes.
const MOST_VALUE: usize = 1_000;

/// A block with the listed fields only, in the byte order of the one given; `None` when nothing is left.
pub(super) fn facts_block(block: &[u8]) -> Option<Vec<u8>> {
    let order = Order::of(block)?;
    let first = order.four(block, 4)? as usize;
    let primary = fields(block, order, first, &PRIMARY).unwrap_or_default();
    let exif = pointer(block, order, first)
        .and_then(|at| fields(block, order, at, &EXIF))
        .unwrap_or_default();
    if primary.is_empty() && exif.is_empty() {
        return None;
    }
    let mut out = Vec::new();
    out.extend(block.get(..4)?);
    order.put_four(&mut out, 8);
    let count = primary.len() + usize::from(!exif.is_empty());
    let behind = directory_end(8, count);
    let exif_at = behind + primary.iter().map(Field::outside).sum::<usize>();
    let mut primary = primary;
    if !exif.is_empty() {
        let mut value = Vec::new();
        order.put_four(&mut value, exif_at as u32);
        primary.push(Field {
            tag: EXIF_POINTER,
            kind: 4,
            count: 1,
            value,
        });
    }
    put_directory(&mut out, order, &primary);
    if !exif.is_empty() {
        put_directory(&mut out, order, &exif);
    }
    Some(out)
}

/// A field with its value's bytes.
#[derive(Clone, Debug)]
struct Field {
    tag: u16,
    kind: u16,
    count: u32,
    value: Vec<u8>,
}

impl Field {
    /// Bytes that do not fit into the entry, at an even address.
    fn outside(&self) -> usize {
        if self.value.len() > 4 {
            self.value.len().next_multiple_of(2)
        } else {
            0
        }
    }
}

/// The wanted fields of the directory at `at`.
fn fields(block: &[u8], order: Order, at: usize, wanted: &[u16]) -> Option<Vec<Field>> {
    let count = usize::from(order.two(block, at)?);
    let mut fields = Vec::new();
    for entry in (0..count).map(|i| at + 2 + 12 * i) {
        let Some(tag) = order.two(block, entry) else { break };
        if wanted.contains(&tag) {
            fields.extend(field(block, order, entry, tag));
        }
    }
    Some(fields)
}

fn field(block: &[u8], order: Order, entry: usize, tag: u16) -> Option<Field> {
    let (kind, count) = (order.two(block, entry + 2)?, order.four(block, entry + 4)?);
    let size = kind_bytes(kind)?;
    let length = usize::try_from(count)
        .ok()?
        .checked_mul(size)
        .filter(|length| *length <= MOST_VALUE)?;
    let start = if length > 4 {
        order.four(block, entry + 8)? as usize
    } else {
        entry + 8
    };
    let value = block.get(start..start.checked_add(length)?)?.to_vec();
    Some(Field {
        tag,
        kind,
        count,
        value,
    })
}

/// Bytes of one value of a kind of field.
pub(super) fn kind_bytes(kind: u16) -> Option<usize> {
    match kind {
        1 | 2 | 6 | 7 => Some(1),
        3 | 8 => Some(2),
        4 | 9 | 11 => Some(4),
        5 | 10 | 12 => Some(8),
        _ => None,
    }
}

fn pointer(block: &[u8], order: Order, at: usize) -> Option<usize> {
    let field = fields(block, order, at, &[EXIF_POINTER])?.into_iter().next()?;
    order.four(&field.value, 0).map(|at| at as usize)
}

fn directory_end(start: usize, count: usize) -> usize {
    start + 2 + 12 * count + 4
}

/// Writes a directory without a next one, its long values right behind it.
fn put_directory(out: &mut Vec<u8>, order: Order, fields: &[Field]) {
    let mut outside = directory_end(out.len(), fields.len());
    let mut values = Vec::new();
    order.put_two(out, fields.len() as u16);
    for field in fields {
        order.put_two(out, field.tag);
        order.put_two(out, field.kind);
        order.put_four(out, field.count);
        if field.value.len() > 4 {
            order.put_four(out, outside as u32);
            outside += field.outside();
            values.extend(&field.value);
            values.resize(values.len().next_multiple_of(2), 0);
        } else {
            out.extend(&field.value);
            out.resize(out.len() + 4 - field.value.len(), 0);
        }
    }
    order.put_four(out, 0);
    out.extend(values);
}

/// Which byte of a number comes first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Order {
    Lowest,
    Highest,
}

impl Order {
    pub(super) fn of(block: &[u8]) -> Option<Self> {
        match block.get(..4)? {
            b"II*\0" => Some(Self::Lowest),
            b"MM\0*" => Some(Self::Highest),
            _ => None,
        }
    }

    pub(super) fn two(self, bytes: &[u8], at: usize) -> Option<u16> {
        let two: [u8; 2] = bytes.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if self == Self::Lowest {
            u16::from_le_bytes(two)
        } else {
            u16::from_be_bytes(two)
        })
    }

    pub(super) fn four(self, bytes: &[u8], at: usize) -> Option<u32> {
        let four: [u8; 4] = bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
        Some(if self == Self::Lowest {
            u32::from_le_bytes(four)
        } else {
            u32::from_be_bytes(four)
        })
    }

    pub(super) fn put_two(self, out: &mut Vec<u8>, number: u16) {
        out.extend(if self == Self::Lowest {
            number.to_le_bytes()
        } else {
            number.to_be_bytes()
        });
    }

    fn put_four(self, out: &mut Vec<u8>, number: u32) {
        out.extend(if self == Self::Lowest {
            number.to_le_bytes()
        } else {
            number.to_be_bytes()
        });
    }
}
