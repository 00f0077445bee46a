//! An 8-bit grey picture as a camera wrote it, and the way back to linear light.

use std::sync::OnceLock;

/// A grey picture, one byte a pixel, row by row from the top left, in the camera's sRGB encoding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GreyPicture {
    width: usize,
    height: usize,
    data: Vec<u8>,
}

impl GreyPicture {
    /// Wraps `width * height` bytes. Returns `None` when the count does not fit.
    pub fn new(width: usize, height: usize, data: Vec<u8>) -> Option<Self> {
        (data.len() == width.checked_mul(height)? && width > 0 && height > 0).then_some(Self {
            width,
            height,
            data,
        })
    }

    /// Width in pixels.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Height in pixels.
    pub fn height(&self) -> usize {
        self.height
    }

    /// All bytes, row by row.
    pub fn data(&self) -> &[u8] {
        &self.data
    }

    /// One row of bytes. Panics when `y` is outside the picture.
    pub fn row(&self, y: usize) -> &[u8] {
        &self.data[y * self.width..(y + 1) * self.width]
    }

    /// The encoded value of a pixel. Panics outside the picture.
    #[inline]
    pub fn at(&self, x: usize, y: usize) -> u8 {
        self.data[y * self.width + x]
    }

    /// Linear light in 0..=1 at a sub-pixel place, bilinear between the four pixels around it; `None` when one
    /// of them is outside the picture.
    #[inline]
    pub fn linear_at(&self, x: f64, y: f64) -> Option<f64> {
        if !(x >= 0.0 && y >= 0.0) {
            return None;
        }
        let (x0, y0) = (x as usize, y as usize);
        if x0 + 1 >= self.width || y0 + 1 >= self.height {
            return None;
        }
        let (fx, fy) = (x - x0 as f64, y - y0 as f64);
        let lut = linear_light();
        let i = y0 * self.width + x0;
        let value = |k: usize| f64::from(lut[self.data[k] as usize]);
        let top = value(i) * (1.0 - fx) + value(i + 1) * fx;
        let bottom = value(i + self.width) * (1.0 - fx) + value(i + self.width + 1) * fx;
        Some(top * (1.0 - fy) + bottom * fy)
    }

    /// True when the place lies inside the picture, at least `margin` pixels from its border.
    pub fn contains(&self, x: f64, y: f64, margin: f64) -> bool {
        x >= margin
            && y >= margin
            && x <= (self.width - 1) as f64 - margin
            && y <= (self.height - 1) as f64 - margin
    }
}

/// Linear light in 0..=1 for each encoded byte, by the sRGB transfer function (IEC 61966-2-1).
///
/// Edges must be located in linear light: in encoded values the border between black and white moves by
/// about 0.3 px towards the dark side.
pub fn linear_light() -> &'static [f32; 256] {
    static TABLE: OnceLock<[f32; 256]> = OnceLock::new();
    TABLE.get_or_init(|| {
        std::array::from_fn(|i| {
            let v = i as f64 / 255.0;
            let linear = if v <= 0.04045 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            };
            linear as f32
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pixel_zero_is_the_centre_of_the_top_left_pixel() {
        let picture = GreyPicture::new(2, 2, vec![0, 255, 0, 255]).unwrap();
        assert_eq!(picture.linear_at(0.0, 0.0), Some(0.0));
        assert!((picture.linear_at(0.5, 0.5).unwrap() - 0.5).abs() < 1e-6);
        assert_eq!(picture.linear_at(1.5, 0.0), None);
        assert_eq!(picture.linear_at(-0.1, 0.0), None);
    }

    /// sRGB byte 188 is half the light of white within half a step (IEC 61966-2-1; value from memory, 0.5029).
    #[test]
    fn half_light_is_at_188() {
        assert!((linear_light()[188] - 0.5029).abs() < 5e-4);
    }

    #[test]
    fn a_wrong_count_of_bytes_is_refused() {
        assert!(GreyPicture::new(3, 2, vec![0; 5]).is_none());
        assert!(GreyPicture::new(0, 0, vec![]).is_none());
    }
}
