//! Where the targets of a large photo lie, told before anything in it is measured.

use crate::tagged::target_of_tags;
use shimwright_detect::{FoundTarget, TagParams, find_tags, halved};
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_target::TargetSet;

/// Most pixels that are looked at: of a larger photo a reduced picture.
const MOST_PIXELS: usize = 2_000_000;

/// Every target in a photo whose tags can be read in a reduced picture of it: pixels of the photo, good to one or two. It
/// serves to show where they lie while the corners are still being fitted, and misses what is small in the photo.
pub fn glimpse(photo: &GreyPicture, targets: &TargetSet) -> Vec<FoundTarget> {
    let mut reduced: Option<GreyPicture> = None;
    let mut factor = 1.0;
    loop {
        let level = reduced.as_ref().unwrap_or(photo);
        if level.width() * level.height() <= MOST_PIXELS {
            break;
        }
        let Some(half) = halved(level) else { break };
        reduced = Some(half);
        factor *= 2.0;
    }
    let picture = reduced.as_ref().unwrap_or(photo);
    let params = TagParams {
        scales: vec![1, 2],
        ..TagParams::default()
    };
    let tags = find_tags(picture, &params);
    let mut found: Vec<FoundTarget> = targets
        .iter()
        .filter_map(|target| target_of_tags(picture, &tags, target))
        .collect();
    for corner in found.iter_mut().flat_map(|target| &mut target.corners) {
        // The middle of a reduced picture's first pixel lies between the pixels that it was made from.
        corner.at = corner.at.add_scalar(0.5) * factor - Vec2::repeat(0.5);
        corner.sigma_px *= factor;
        corner.blur_px *= factor;
    }
    found
}
