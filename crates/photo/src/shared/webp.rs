//! WebP (RFC 9649): the chunks that make the picture, and a shortened Exif chunk.

use super::facts_block::facts_block;

const KEPT: [&[u8; 4]; 6] = [b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ANIM", b"ANMF"];
/// Flags of the extended header: colour profile, Exif, XMP.
const PROFILE_EXIF_XMP: u8 = 0x20 | 0x08 | 0x04;
const HAS_EXIF: u8 = 0x08;

/// The copy; `None` when the chunks do not hold together.
pub(super) fn copy(bytes: &[u8]) -> Option<Vec<u8>> {
    let length = u32::from_le_bytes(bytes.get(4..8)?.try_into().ok()?) as usize;
    let mut rest = bytes.get(12..length.checked_add(8)?.min(bytes.len()))?;
    let mut chunks: Vec<u8> = b"WEBP".to_vec();
    let (mut flags_at, mut has_exif) = (None, false);
    while rest.len() >= 8 {
        let length = u32::from_le_bytes(rest.get(4..8)?.try_into().ok()?) as usize;
        let content = rest.get(8..8_usize.checked_add(length)?)?;
        let name = rest.get(..4)?;
        if KEPT.iter().any(|kept| name == *kept) {
            flags_at = flags_at.or((name == b"VP8X").then_some(chunks.len() + 8));
            put(&mut chunks, name, content);
        } else if name == b"EXIF"
            && let Some(block) = facts_block(content.strip_prefix(b"Exif\0\0").unwrap_or(content))
        {
            put(&mut chunks, name, &block);
            has_exif = true;
        }
        rest = rest.get((8 + length).next_multiple_of(2)..).unwrap_or_default();
    }
    if let Some(flags) = flags_at.and_then(|at| chunks.get_mut(at)) {
        *flags &= !PROFILE_EXIF_XMP;
        *flags |= if has_exif { HAS_EXIF } else { 0 };
    }
    let mut out = b"RIFF".to_vec();
    out.extend(u32::try_from(chunks.len()).ok()?.to_le_bytes());
    out.extend(chunks);
    Some(out)
}

fn put(out: &mut Vec<u8>, name: &[u8], content: &[u8]) {
    out.extend(name);
    out.extend((content.len() as u32).to_le_bytes());
    out.extend(content);
    out.resize(out.len().next_multiple_of(2), 0);
}
