//! What was found of a target.

use crate::homography::Homography;
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

    /// Where a place of the target's plane (mm) shows in the picture, pixels, as a plane shows through a lens without
    /// distortion. `None` when the corners found do not tell, because they are few or lie on one line.
    pub fn seen_at(&self, place: &Vec2) -> Option<Vec2> {
        Some(self.map()?.apply(place))
    }

    /// The place of the target's plane (mm) that shows at a pixel; what stands out of that plane is off by its parallax.
    /// `None` as for [`FoundTarget::seen_at`].
    pub fn place_at(&self, at: &Vec2) -> Option<Vec2> {
        Some(self.map()?.inverse()?.apply(at))
    }

    fn map(&self) -> Option<Homography> {
        let pairs: Vec<_> = self
            .corners
            .iter()
            .map(|c| (c.place, c.at, c.sigma_px.powi(-2)))
            .collect();
        Homography::fit(&pairs)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(place: Vec2) -> FoundCorner {
        // A plane seen aslant: pixels by hand from a projective map.
        let w = 1.0 + 0.001 * place.x - 0.002 * place.y;
        FoundCorner {
            place,
            at: Vec2::new(
                (100.0 + 3.0 * place.x - place.y) / w,
                (50.0 + place.x + 2.0 * place.y) / w,
            ),
            sigma_px: 0.02,
            kind: CornerKind::Saddle,
            index: 0,
            blur_px: 0.7,
        }
    }

    #[test]
    fn places_and_pixels_lead_to_each_other_also_outside_the_pattern() {
        let corners = [(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0), (16.0, 8.0)];
        let found = FoundTarget {
            name: "card".into(),
            corners: corners.map(|(x, y)| seen(Vec2::new(x, y))).to_vec(),
            tags: vec![],
        };
        let far = seen(Vec2::new(-30.0, 55.0));
        assert!((found.seen_at(&far.place).unwrap() - far.at).norm() < 1e-6);
        assert!((found.place_at(&far.at).unwrap() - far.place).norm() < 1e-6);
        let few = FoundTarget {
            corners: found.corners[..3].to_vec(),
            ..found
        };
        assert_eq!(few.seen_at(&far.place), None);
    }
}
