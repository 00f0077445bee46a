//! What was found of a target.

use shimwright_geom::Vec2;

/// Which printed feature a corner is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CornerKind {
    /// Where four squares of a board meet.
    Saddle,
    /// An outer corner of a tag's black square.
    TagCorner,
}

/// A corner of a target found in a picture.
#[derive(Clone, Debug, PartialEq)]
pub struct FoundCorner {
    /// Where it is printed, mm in the target's frame.
    pub place: Vec2,
    /// Where it was seen, pixels.
    pub at: Vec2,
    /// Standard deviation of `at` on each axis, pixels.
    pub sigma_px: f64,
    /// What it is.
    pub kind: CornerKind,
    /// The saddle's index in the target, or four times the tag's id plus the number of its corner (0 to 3).
    pub index: u32,
    /// Blur across its edges, standard deviation in pixels.
    pub blur_px: f64,
}

/// A target found in a picture.
#[derive(Clone, Debug, PartialEq)]
pub struct FoundTarget {
    /// The target's name.
    pub name: String,
    /// The corners, sorted by index.
    pub corners: Vec<FoundCorner>,
    /// Ids of the target's tags that were read, sorted.
    pub tags: Vec<u32>,
}

impl FoundTarget {
    /// The median blur of the corners, pixels; `None` without corners.
    pub fn blur_px(&self) -> Option<f64> {
        let mut blurs: Vec<f64> = self.corners.iter().map(|c| c.blur_px).collect();
        blurs.sort_by(f64::total_cmp);
        blurs.get(blurs.len() / 2).copied()
    }
}
