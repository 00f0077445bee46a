//! A known target, found from its tags and refined corner by corner.

use crate::board;
use crate::found::FoundTarget;
use crate::params::TargetParams;
use crate::places;
use crate::ring;
use crate::tags::Tag;
use shimwright_geom::GreyPicture;
use shimwright_target::Target;

/// Finds a target's corners in a picture, given the tags that were read there.
///
/// Every corner of the target is foretold from the tags, also beside tags that were not read, and fitted in the
/// full picture in linear light. Corners that are covered, over-exposed, too blurred or otherwise unlike the
/// model are left out. A board gives its saddles, a ring of lone tags the corners of its tags. `None` when fewer
/// corners or tags are left than the parameters ask for.
pub fn find_target(
    picture: &GreyPicture,
    tags: &[Tag],
    target: &Target,
    params: &TargetParams,
) -> Option<FoundTarget> {
    let matches = places::agreeing(tags, target);
    if matches.is_empty() {
        return None;
    }
    let mut corners = if target.saddles().is_empty() {
        ring::corners(picture, &matches, target, params)
    } else {
        board::corners(picture, &matches, target, params)
    };
    let least = if target.saddles().is_empty() {
        4 * params.min_ring_tags
    } else {
        params.min_board_corners
    };
    if corners.len() < least {
        return None;
    }
    corners.sort_by_key(|c| c.index);
    let mut ids: Vec<u32> = matches.iter().map(|m| m.place.id).collect();
    ids.sort_unstable();
    Some(FoundTarget {
        name: target.name().to_owned(),
        corners,
        tags: ids,
    })
}
