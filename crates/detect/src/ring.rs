//! The corners of lone tags, on a ring or anywhere on a page.

use crate::cores;
use crate::decode;
use crate::found::{CornerKind, FoundCorner};
use crate::params::TargetParams;
use crate::places::{Expectation, Match};
use crate::print::{self, PrintedTag};
use crate::quad::Quad;
use shimwright_geom::GreyPicture;
use shimwright_target::{TagPlace, Target};

/// Blur that the fits start from, pixels.
const FIRST_BLUR_PX: f64 = 0.9;
/// Largest residual rms over contrast of a tag that is kept.
const MAX_MISFIT: f64 = 0.65;
/// Largest growth of a tag's black that is kept, cells.
const MAX_GROWTH_CELLS: f64 = 0.3;
/// Most wrong cells of a tag that is expected but was not read.
const MAX_ERRORS: u32 = 6;

/// Fits the corners of every tag of the target; a tag counts only with all four.
pub(crate) fn corners(
    picture: &GreyPicture,
    matches: &[Match<'_>],
    target: &Target,
    params: &TargetParams,
) -> Vec<FoundCorner> {
    let reach_mm = 3.0 * (target.tags()[0].corners[1] - target.tags()[0].corners[0]).norm();
    let known = Expectation::from_tags(matches, reach_mm);
    let tags = target.tags();
    let fitted = cores::map(tags.len(), 1, |k| {
        tag_corners(picture, matches, &known, &tags[k], params)
    });
    fitted.into_iter().flatten().flatten().collect()
}

fn tag_corners(
    picture: &GreyPicture,
    matches: &[Match<'_>],
    known: &Expectation,
    place: &TagPlace,
    params: &TargetParams,
) -> Option<[FoundCorner; 4]> {
    let quad = expected_quad(picture, matches, known, place)?;
    let tag = print::fit_print(picture, &quad, place.id, FIRST_BLUR_PX).filter(|t| is_good(t, params))?;
    Some(std::array::from_fn(|i| FoundCorner {
        place: place.corners[i],
        at: tag.corners[i],
        sigma_px: params.with_floor(tag.sigma_px[i], tag.blur_px),
        kind: CornerKind::TagCorner,
        index: 4 * place.id + i as u32,
        blur_px: tag.blur_px,
    }))
}

fn expected_quad(
    picture: &GreyPicture,
    matches: &[Match<'_>],
    known: &Expectation,
    place: &TagPlace,
) -> Option<Quad> {
    if let Some(read) = matches.iter().find(|m| m.place.id == place.id) {
        return Some(read.tag.corners);
    }
    let map = known.map_at(&place.corners[0])?;
    let quad: Quad = std::array::from_fn(|i| map.apply(&place.corners[i]));
    let inside = quad.iter().all(|c| picture.contains(c.x, c.y, 3.0));
    (inside && decode::errors_against(picture, &quad, place.id)? <= MAX_ERRORS).then_some(quad)
}

fn is_good(tag: &PrintedTag, params: &TargetParams) -> bool {
    tag.contrast >= params.min_contrast
        && tag.misfit <= MAX_MISFIT
        && tag.growth_cells.abs() <= MAX_GROWTH_CELLS
        && tag.blur_px <= params.max_blur_px
        && tag.sigma_px.iter().all(|&s| s <= params.max_sigma_px)
}
