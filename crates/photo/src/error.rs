//! Why a photo cannot be read.

use crate::Format;
use std::fmt::Display;

/// Why a photo cannot be read. All of these are bad input; each message says how to mend it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error, shimwright_say::Halves)]
#[non_exhaustive]
pub enum Error {
    /// No bytes at all.
    #[error("the file is empty (0 bytes); copy the photo from the camera again")]
    Empty,
    /// More bytes than a photo may have.
    #[error("the file has {} MB and the limit is {} MB; export the photo as a JPEG", bytes.div_ceil(1_000_000), limit / 1_000_000)]
    TooManyBytes {
        /// Bytes in the file.
        bytes: usize,
        /// Most bytes allowed.
        limit: usize,
    },
    /// HEIC or HEIF, for which there is no freely licensed decoder.
    #[error(
        "this is a HEIC picture, which cannot be read here; set the phone's camera format to \"most compatible\" \
         or share the photo as JPEG"
    )]
    Heic,
    /// A known kind of file that is not read.
    #[error("this is {name}, which cannot be read here; use a JPEG, PNG, TIFF or WebP photo")]
    OtherFormat {
        /// What it is, with an article.
        name: &'static str,
    },
    /// Not a known kind of picture.
    #[error("this is not a picture that can be read; use a JPEG, PNG, TIFF or WebP photo")]
    NotAPicture,
    /// More pixels than a photo may have.
    #[error(
        "the picture has {width} x {height} pixels and the limit is {} megapixels; scale it down or crop it before \
         the camera's EXIF data is lost",
        limit / 1_000_000
    )]
    TooManyPixels {
        /// Stored width.
        width: u32,
        /// Stored height.
        height: u32,
        /// Most pixels allowed.
        limit: u64,
    },
    /// Too small to measure in.
    #[error(
        "the picture has {width} x {height} pixels and each side needs at least {min}; use the original photo and \
         not a preview of it"
    )]
    TooSmall {
        /// Stored width.
        width: u32,
        /// Stored height.
        height: u32,
        /// Least pixels a side.
        min: u32,
    },
    /// The file ends before its picture is complete.
    #[error(
        "the {format} file is cut short: it ends after {bytes} bytes, before its picture is complete; copy the photo \
         from the camera again"
    )]
    Truncated {
        /// Kind of file.
        format: Format,
        /// Bytes in the file.
        bytes: usize,
    },
    /// No copy without place data can be made of it.
    #[error(
        "no copy without place data can be made of the {format} file ({reason}); hand it out as it is, or as a JPEG"
    )]
    NoSharedCopy {
        /// Kind of file.
        format: Format,
        /// Why not.
        reason: &'static str,
    },
    /// The file's content contradicts itself.
    #[error("the {format} file is damaged ({reason}); copy the photo from the camera again")]
    Damaged {
        /// Kind of file.
        format: Format,
        /// What the decoder found.
        reason: String,
    },
    /// A variant of a format that no camera writes and no decoder here reads.
    #[error("the {format} file uses {what}, which cannot be read here; save the photo as an ordinary JPEG")]
    Unsupported {
        /// Kind of file.
        format: Format,
        /// The variant.
        what: String,
    },
}

impl Error {
    /// Damage with a decoder's reason, cut to one line of bearable length.
    pub(crate) fn damaged(format: Format, reason: impl Display) -> Self {
        Self::Damaged {
            format,
            reason: one_line(&reason.to_string()),
        }
    }
}

/// Folds white space and cuts at 120 characters: decoders may quote file content at length.
fn one_line(text: &str) -> String {
    const MOST: usize = 120;
    let mut folded = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if folded.chars().count() > MOST {
        folded = folded.chars().take(MOST).collect::<String>() + "…";
    }
    folded
}
