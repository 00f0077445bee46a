//! The corners of lone tags, on a ring or anywhere on a page.

use crate::border::{self, BorderCorner};
use crate::decode;
use crate::found::{CornerKind, FoundCorner};
use crate::params::TargetParams;
use crate::places::{Expectation, Match};
use crate::quad::Quad;
use shimwright_geom::GreyPicture;
use shimwright_target::{TagPlace, Target};

/// Blur that the fits start from, pixels.
const FIRST_BLUR_PX: f64 = 0.9;
/// Largest residual rms over contrast of a side that is kept.
const MAX_MISFIT: f64 = 0.12;
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
    target
        .tags()
        .iter()
        .filter_map(|place| tag_corners(picture, matches, &known, place, params))
        .flatten()
        .collect()
}

fn tag_corners(
    picture: &GreyPicture,
    matches: &[Match<'_>],
    known: &Expectation,
    place: &TagPlace,
    params: &TargetParams,
) -> Option<[FoundCorner; 4]> {
    let quad = expected_quad(picture, matches, known, place)?;
    let fitted = border::fit_border(picture, &quad, FIRST_BLUR_PX);
    let corners: Vec<FoundCorner> = fitted
        .iter()
        .flatten()
        .enumerate()
        .filter(|(_, c)| is_good(c, params))
        .map(|(i, c)| FoundCorner {
            place: place.corners[i],
            at: c.at,
            sigma_px: c.sigma_px.hypot(params.floor_px),
            kind: CornerKind::TagCorner,
            index: 4 * place.id + i as u32,
            blur_px: c.blur_px,
        })
        .collect();
    <[FoundCorner; 4]>::try_from(corners).ok()
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

fn is_good(c: &BorderCorner, params: &TargetParams) -> bool {
    c.contrast >= params.min_contrast
        && c.misfit <= MAX_MISFIT
        && c.blur_px <= params.max_blur_px
        && c.sigma_px <= params.max_sigma_px
}
