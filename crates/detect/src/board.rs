//! The saddles of a board.

use crate::found::{CornerKind, FoundCorner};
use crate::params::TargetParams;
use crate::places::{Expectation, Match};
use crate::saddle::{self, Saddle, SaddleGuess};
use nalgebra::Matrix2;
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_target::{SaddlePlace, Target};

/// Blur that the first fits start from, pixels.
const FIRST_BLUR_PX: f64 = 0.9;
/// Largest residual rms over contrast of a corner that is kept.
const MAX_MISFIT: f64 = 0.12;
/// Rounds in which corners next to known points are fitted.
const ROUNDS: usize = 12;

/// What the layout says of the surroundings of a saddle.
struct Surroundings {
    black_on_diagonal: bool,
    margin: f64,
}

/// Fits every saddle of the board, those next to known points first.
pub(crate) fn corners(
    picture: &GreyPicture,
    matches: &[Match<'_>],
    target: &Target,
    params: &TargetParams,
) -> Vec<FoundCorner> {
    let square_mm = square_of(target);
    let mut known = Expectation::from_tags(matches, 1.5 * square_mm);
    let mut open: Vec<&SaddlePlace> = target.saddles().iter().collect();
    let mut found: Vec<FoundCorner> = Vec::new();
    for round in 0..ROUNDS {
        let last = round == ROUNDS - 1;
        let (near, far): (Vec<&SaddlePlace>, Vec<&SaddlePlace>) = open
            .into_iter()
            .partition(|s| last || known.distance(&s.at) < 1.2 * square_mm);
        open = far;
        let blur = typical_blur(&found);
        let fresh: Vec<FoundCorner> = near
            .iter()
            .filter_map(|s| corner(picture, target, &known, s, blur, params))
            .collect();
        for c in &fresh {
            known.learn(c.place, c.at);
        }
        found.extend(fresh);
        if open.is_empty() {
            break;
        }
    }
    without_strays(found, square_mm)
}

fn square_of(target: &Target) -> f64 {
    let saddles = target.saddles();
    let first = saddles[0].at;
    saddles[1..]
        .iter()
        .map(|s| (s.at - first).norm())
        .fold(f64::INFINITY, f64::min)
}

fn typical_blur(found: &[FoundCorner]) -> f64 {
    let mut blurs: Vec<f64> = found.iter().map(|c| c.blur_px).collect();
    blurs.sort_by(f64::total_cmp);
    blurs.get(blurs.len() / 2).copied().unwrap_or(FIRST_BLUR_PX)
}

fn corner(
    picture: &GreyPicture,
    target: &Target,
    known: &Expectation,
    saddle: &SaddlePlace,
    blur_px: f64,
    params: &TargetParams,
) -> Option<FoundCorner> {
    let square_mm = square_of(target);
    let map = known.map_at(&saddle.at)?;
    let at = map.apply(&saddle.at);
    if !picture.contains(at.x, at.y, 3.0) {
        return None;
    }
    let square: Matrix2<f64> = map.derivative(&saddle.at) * square_mm;
    let around = surroundings(target, saddle, square_mm);
    let guess = SaddleGuess {
        at,
        square,
        black_on_diagonal: around.black_on_diagonal,
        margin: around.margin,
        blur_px,
    };
    let fitted = saddle::fit_saddle(picture, &guess)?;
    let side_px = square.column(0).norm().min(square.column(1).norm());
    (is_good(&fitted, params) && (fitted.at - at).norm() < (0.1 * side_px).max(2.0)).then(|| FoundCorner {
        place: saddle.at,
        at: fitted.at,
        sigma_px: fitted.sigma_px.hypot(params.floor_px),
        kind: CornerKind::Saddle,
        index: saddle.index,
        blur_px: fitted.blur_px,
    })
}

fn is_good(s: &Saddle, params: &TargetParams) -> bool {
    s.contrast >= params.min_contrast
        && s.misfit <= MAX_MISFIT
        && s.blur_px <= params.max_blur_px
        && s.sigma_px <= params.max_sigma_px
}

/// Tags lie in white squares: the nearest one tells which squares are black and how wide the white border is.
fn surroundings(target: &Target, saddle: &SaddlePlace, square_mm: f64) -> Surroundings {
    let mut nearest = (f64::INFINITY, Vec2::new(1.0, 1.0));
    for corner in target.tags().iter().flat_map(|t| &t.corners) {
        let d = corner - saddle.at;
        let far = d.x.abs().max(d.y.abs());
        if far < nearest.0 {
            nearest = (far, d);
        }
    }
    let (margin, d) = nearest;
    Surroundings {
        black_on_diagonal: d.x * d.y < 0.0,
        margin: (margin / square_mm).min(0.4),
    }
}

/// Leaves out corners that lie off the map of their neighbours.
fn without_strays(found: Vec<FoundCorner>, square_mm: f64) -> Vec<FoundCorner> {
    if found.len() < 9 {
        return found;
    }
    let mut known = Expectation::from_tags(&[], 1.5 * square_mm);
    for c in &found {
        known.learn(c.place, c.at);
    }
    let offs: Vec<f64> = found
        .iter()
        .map(|c| {
            known
                .map_at(&c.place)
                .map_or(0.0, |m| (m.apply(&c.place) - c.at).norm())
        })
        .collect();
    let mut sorted = offs.clone();
    sorted.sort_by(f64::total_cmp);
    let limit = (6.0 * sorted[sorted.len() / 2]).max(0.8);
    found
        .into_iter()
        .zip(offs)
        .filter(|(c, off)| *off <= limit.max(6.0 * c.sigma_px))
        .map(|(c, _)| c)
        .collect()
}
