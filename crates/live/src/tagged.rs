//! A target by its tags alone: many times quicker than fitting every corner, and good to a part of a pixel still.

use shimwright_detect::{CornerKind, FoundCorner, FoundTarget, Tag};
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_target::Target;

/// Cells across a tag with its black border.
pub(crate) const CELLS: f64 = 8.0;
/// Standard deviation of a tag's corners as they are read, px.
const SIGMA_PX: f64 = 0.4;
/// Fewest tags that make a target: one alone may be a misreading.
const FEWEST_TAGS: usize = 2;
/// Largest distance of a tag's corner from where the others put it, in sides of the tag.
const MOST_OFF: f64 = 0.3;
/// Places along a tag's side at which its border is looked across, as shares of the side.
const ALONG: [f64; 3] = [0.3, 0.5, 0.7];
/// Step across a border, px, and the furthest that is looked.
const STEP_PX: f64 = 0.5;
const FURTHEST_PX: f64 = 6.0;
/// Smallest contrast of a border that tells a blur, in linear light.
const LEAST_CONTRAST: f64 = 0.01;
/// Slope of a blurred step: `contrast / (sigma sqrt(2 pi))`.
const ROOT_OF_TWO_PI: f64 = 2.506_628_274_631_000_2;

/// The target that some tags belong to; its corners are theirs. `None` when they are too few or do not agree.
pub(crate) fn target_of_tags(picture: &GreyPicture, tags: &[Tag], target: &Target) -> Option<FoundTarget> {
    let mine: Vec<&Tag> = tags.iter().filter(|tag| target.tag(tag.id).is_some()).collect();
    let all = found(picture, &mine, target)?;
    let agree = |tag: &&&Tag| {
        let Some(place) = target.tag(tag.id) else {
            return false;
        };
        place.corners.iter().zip(&tag.corners).all(|(place, at)| {
            all.seen_at(place)
                .is_some_and(|seen| (seen - at).norm() < MOST_OFF * shortest_side(tag))
        })
    };
    let agreeing: Vec<&Tag> = mine.iter().filter(agree).copied().collect();
    found(picture, &agreeing, target)
}

fn found(picture: &GreyPicture, tags: &[&Tag], target: &Target) -> Option<FoundTarget> {
    if tags.len() < FEWEST_TAGS {
        return None;
    }
    let mut corners: Vec<FoundCorner> = Vec::new();
    for tag in tags {
        let place = target.tag(tag.id)?;
        let blur_px = blur_px(picture, tag).unwrap_or(0.0);
        corners.extend((0..4).map(|k| FoundCorner {
            place: place.corners[k],
            at: tag.corners[k],
            sigma_px: SIGMA_PX,
            kind: CornerKind::TagCorner,
            index: 4 * tag.id + k as u32,
            blur_px,
        }));
    }
    corners.sort_by_key(|corner| corner.index);
    let mut ids: Vec<u32> = tags.iter().map(|tag| tag.id).collect();
    ids.sort_unstable();
    Some(FoundTarget {
        name: target.name().to_owned(),
        corners,
        tags: ids,
    })
}

/// The shortest side of a tag, px.
pub(crate) fn shortest_side(tag: &Tag) -> f64 {
    let c = &tag.corners;
    (0..4)
        .map(|k| (c[(k + 1) % 4] - c[k]).norm())
        .fold(f64::INFINITY, f64::min)
}

/// Blur across a tag's border, standard deviation in pixels: the median over its four sides, from slope beside contrast.
fn blur_px(picture: &GreyPicture, tag: &Tag) -> Option<f64> {
    let reach = (shortest_side(tag) / CELLS).min(FURTHEST_PX);
    let c = &tag.corners;
    let mut blurs: Vec<f64> = (0..4)
        .flat_map(|k| ALONG.map(|share| (k, share)))
        .filter_map(|(k, share)| {
            let side = c[(k + 1) % 4] - c[k];
            let across = Vec2::new(-side.y, side.x).normalize();
            blur_across(picture, &(c[k] + side * share), &across, reach)
        })
        .collect();
    blurs.sort_by(f64::total_cmp);
    blurs.get(blurs.len() / 2).copied()
}

fn blur_across(picture: &GreyPicture, at: &Vec2, across: &Vec2, reach: f64) -> Option<f64> {
    let steps = (reach / STEP_PX) as i32;
    let light: Vec<f64> = (-steps..=steps)
        .map(|k| {
            let p = at + across * (f64::from(k) * STEP_PX);
            picture.linear_at(p.x, p.y)
        })
        .collect::<Option<_>>()?;
    let (low, high) = light.iter().fold((f64::INFINITY, 0.0_f64), |(low, high), v| {
        (low.min(*v), high.max(*v))
    });
    let contrast = high - low;
    let slope = light
        .windows(3)
        .map(|three| (three[2] - three[0]).abs() / (2.0 * STEP_PX))
        .fold(0.0, f64::max);
    (contrast > LEAST_CONTRAST && slope > 0.0).then(|| contrast / (slope * ROOT_OF_TWO_PI))
}
