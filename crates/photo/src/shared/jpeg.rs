//! JPEG: the picture's own segments and a shortened Exif segment.

use super::facts_block::facts_block;
use crate::Error;
use crate::jpeg::Layout;

const EXIF_HEAD: &[u8] = b"Exif\0\0";
/// Length of a JFIF segment's content without a preview (JFIF 1.02).
const JFIF_BYTES: usize = 14;
/// Length of an Adobe segment's content.
const ADOBE_BYTES: usize = 12;

/// The copy.
pub(super) fn copy(bytes: &[u8]) -> Result<Vec<u8>, Error> {
    let layout = Layout::read(bytes)?;
    let mut out = vec![0xFF, 0xD8];
    if let Some(block) = layout.exif(bytes).and_then(facts_block) {
        segment(&mut out, 0xE1, &[EXIF_HEAD, &block].concat());
    }
    for part in layout.parts(bytes) {
        let (marker, content) = (part[1], part.get(4..).unwrap_or_default());
        match marker {
            // A preview may stand in these segments.
            0xE0 => {
                if let Some(head) = content
                    .get(..JFIF_BYTES)
                    .filter(|head| head.starts_with(b"JFIF\0"))
                {
                    segment(&mut out, marker, &[&head[..12], &[0, 0]].concat());
                }
            }
            0xEE => segment(&mut out, marker, &content[..content.len().min(ADOBE_BYTES)]),
            _ => out.extend(part),
        }
    }
    out.extend([0xFF, 0xD9]);
    Ok(out)
}

fn segment(out: &mut Vec<u8>, marker: u8, content: &[u8]) {
    // Contents are a few kilobytes at most: see the longest value of a fact.
    let length = u16::try_from(content.len() + 2).unwrap_or(u16::MAX);
    out.extend([0xFF, marker]);
    out.extend(length.to_be_bytes());
    out.extend(content);
}
