//! How large a photo may be.

use crate::Error;

/// How large a photo may be; checked before its pixels are decoded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Most bytes in the file.
    pub max_bytes: usize,
    /// Most pixels.
    pub max_pixels: u64,
    /// Least pixels on each side.
    pub min_side: u32,
}

impl Default for Limits {
    /// 80 MB, 60 megapixels and 320 pixels a side: above every phone's photo, and small enough that a decoded
    /// picture fits in memory several times.
    fn default() -> Self {
        Self {
            max_bytes: 80_000_000,
            max_pixels: 60_000_000,
            min_side: 320,
        }
    }
}

impl Limits {
    /// Checks the file's length.
    pub(crate) fn check_bytes(&self, bytes: usize) -> Result<(), Error> {
        if bytes == 0 {
            return Err(Error::Empty);
        }
        if bytes > self.max_bytes {
            return Err(Error::TooManyBytes {
                bytes,
                limit: self.max_bytes,
            });
        }
        Ok(())
    }

    /// Checks the stored size in pixels.
    pub(crate) fn check_size(&self, width: u32, height: u32) -> Result<(), Error> {
        if u64::from(width) * u64::from(height) > self.max_pixels {
            return Err(Error::TooManyPixels {
                width,
                height,
                limit: self.max_pixels,
            });
        }
        if width.min(height) < self.min_side.max(1) {
            return Err(Error::TooSmall {
                width,
                height,
                min: self.min_side,
            });
        }
        Ok(())
    }
}
