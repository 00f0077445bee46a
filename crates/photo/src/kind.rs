//! Which kind of file some bytes are.

use serde::{Deserialize, Serialize};
use std::fmt;

/// A format that is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Format {
    /// JPEG (ITU-T T.81), baseline or progressive.
    Jpeg,
    /// PNG.
    Png,
    /// TIFF 6.0.
    Tiff,
    /// WebP.
    WebP,
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Jpeg => "JPEG",
            Self::Png => "PNG",
            Self::Tiff => "TIFF",
            Self::WebP => "WebP",
        })
    }
}

/// What the first bytes of a file say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// One that is read.
    Readable(Format),
    /// HEIC or HEIF.
    Heic,
    /// Known by name only, with an article.
    Other(&'static str),
    /// None that is known.
    Unknown,
}

/// First bytes of kinds that people hand in by mistake.
const OTHERS: &[(&[u8], &str)] = &[
    (b"GIF8", "a GIF picture"),
    (b"BM", "a BMP picture"),
    (b"%PDF", "a PDF document"),
    (b"PK\x03\x04", "a ZIP archive"),
    (b"\x1a\x45\xdf\xa3", "a WebM or Matroska video"),
    (b"8BPS", "a Photoshop document"),
    (b"\x00\x00\x01\x00", "an icon"),
    (b"\xff\x0a", "a JPEG XL picture"),
    (b"\x00\x00\x00\x0cJXL ", "a JPEG XL picture"),
    (b"\x00\x00\x00\x0cjP  ", "a JPEG 2000 picture"),
    (b"FUJIFILMCCD-RAW", "a camera raw file"),
];

/// Tells the kind of file from its first bytes.
pub(crate) fn sniff(bytes: &[u8]) -> Kind {
    if bytes.starts_with(b"\xff\xd8") {
        return Kind::Readable(Format::Jpeg);
    }
    if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        return Kind::Readable(Format::Png);
    }
    if bytes.starts_with(b"II*\0") || bytes.starts_with(b"MM\0*") {
        return Kind::Readable(Format::Tiff);
    }
    if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        return Kind::Readable(Format::WebP);
    }
    if bytes.get(4..8) == Some(b"ftyp") {
        return iso_media(bytes.get(8..12).unwrap_or_default());
    }
    OTHERS
        .iter()
        .find(|(magic, _)| bytes.starts_with(magic))
        .map_or(Kind::Unknown, |(_, name)| Kind::Other(name))
}

/// Kind of an ISO base media file by its major brand (ISO/IEC 14496-12; HEIF brands ISO/IEC 23008-12).
fn iso_media(brand: &[u8]) -> Kind {
    match brand {
        b"heic" | b"heix" | b"heim" | b"heis" | b"hevc" | b"hevx" | b"mif1" | b"msf1" | b"mif2" => Kind::Heic,
        b"avif" | b"avis" => Kind::Other("an AVIF picture"),
        b"crx " => Kind::Other("a camera raw file"),
        _ => Kind::Other("a video"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_content_decides() {
        assert_eq!(sniff(b"\xff\xd8\xff\xe0rest"), Kind::Readable(Format::Jpeg));
        assert_eq!(sniff(b"\x89PNG\r\n\x1a\n...."), Kind::Readable(Format::Png));
        assert_eq!(sniff(b"RIFF....WEBPVP8 "), Kind::Readable(Format::WebP));
        assert_eq!(sniff(b"RIFF....WAVE"), Kind::Unknown);
        assert_eq!(sniff(b"\0\0\0\x18ftypheic\0\0\0\0"), Kind::Heic);
        assert_eq!(sniff(b"\0\0\0\x18ftypqt  \0\0\0\0"), Kind::Other("a video"));
        assert_eq!(sniff(b"{\"check\": \"gap\"}"), Kind::Unknown);
        assert_eq!(sniff(b"\0\0\0\x18ftyp"), Kind::Other("a video"));
        assert_eq!(sniff(b"x"), Kind::Unknown);
    }
}
