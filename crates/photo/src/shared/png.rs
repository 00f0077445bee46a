//! PNG (ISO/IEC 15948): the chunks that make the picture, and a shortened Exif chunk.

use super::facts_block::facts_block;

const HEAD: &[u8] = b"\x89PNG\r\n\x1a\n";

/// Chunks that are kept: what makes the picture, its colours and its density.
const KEPT: [&[u8; 4]; 11] = [
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"sBIT", b"cICP", b"pHYs",
];

/// The copy; `None` when the chunks do not hold together.
pub(super) fn copy(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut out = HEAD.to_vec();
    let mut rest = bytes.strip_prefix(HEAD)?;
    while !rest.is_empty() {
        let length = u32::from_be_bytes(rest.get(..4)?.try_into().ok()?) as usize;
        let (chunk, behind) = rest.split_at_checked(length.checked_add(12)?)?;
        let (name, content) = (&chunk[4..8], &chunk[8..8 + length]);
        if KEPT.iter().any(|kept| name == *kept) {
            out.extend(chunk);
        } else if name == b"eXIf"
            && let Some(block) = facts_block(content)
        {
            put(&mut out, b"eXIf", &block);
        }
        if name == b"IEND" {
            break;
        }
        rest = behind;
    }
    Some(out)
}

fn put(out: &mut Vec<u8>, name: &[u8; 4], content: &[u8]) {
    let told = [name.as_slice(), content].concat();
    out.extend((content.len() as u32).to_be_bytes());
    out.extend(&told);
    out.extend(crc(&told).to_be_bytes());
}

/// CRC-32 as PNG uses it (ISO 3309), bit by bit: the chunk is short.
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, &byte| {
        (0..8).fold(crc ^ u32::from(byte), |c, _| {
            if c & 1 == 1 {
                0xEDB8_8320 ^ (c >> 1)
            } else {
                c >> 1
            }
        })
    })
}
