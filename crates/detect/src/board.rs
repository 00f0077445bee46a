//! The saddles of a board.

use crate::cores;
use crate::found::{CornerKind, FoundCorner};
use crate::params::TargetParams;
use crate::places::{Expectation, Match};
use crate::saddle::{self, Saddle, SaddleGuess};
use nalgebra::Matrix2;
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_target::{SaddlePlace, Target};

/// Blur that the first fits start from, pixels.
const FIRST_BLUR_PX: f64 = 0.9;
/// Distance to the nearest known point within which a saddle is fitted, squares.
const NEAR_SQUARES: f64 = 1.2;
/// Rounds in which corners next to known points are fitted; the last takes all that are left.
const ROUNDS: usize = 12;
/// Largest residual rms over contrast of a corner that is kept: a dark picture has a quarter,
/// glare that leaves a third of the contrast half.
const MAX_MISFIT: f64 = 0.65;
/// The same against the median of the board's corners, and the misfit that is always allowed.
const MAX_MISFIT_RATIO: f64 = 2.0;
const SMALL_MISFIT: f64 = 0.06;
/// Largest angle between a fitted edge and the map's direction.
const MAX_TURN_RAD: f64 = 0.15;
/// Fewest corners among which strays can be told.
const FEWEST_FOR_STRAYS: usize = 6;

struct Board<'a> {
    picture: &'a GreyPicture,
    target: &'a Target,
    params: &'a TargetParams,
    square_mm: f64,
}

/// A saddle with its fit.
struct Corner {
    place: Vec2,
    index: u32,
    fit: Saddle,
}

/// Fits every saddle of the board, those next to known points first.
pub(crate) fn corners(
    picture: &GreyPicture,
    matches: &[Match<'_>],
    target: &Target,
    params: &TargetParams,
) -> Vec<FoundCorner> {
    let board = Board {
        picture,
        target,
        params,
        square_mm: square_of(target),
    };
    let mut known = Expectation::from_tags(matches, 1.5 * board.square_mm);
    let mut open: Vec<&SaddlePlace> = target.saddles().iter().collect();
    let mut found: Vec<Corner> = Vec::new();
    for round in 1..=ROUNDS {
        let reach = if round == ROUNDS {
            f64::INFINITY
        } else {
            NEAR_SQUARES * board.square_mm
        };
        let (near, far) = open.into_iter().partition(|s| known.distance(&s.at) < reach);
        open = far;
        let blur = median(found.iter().map(|c| c.fit.blur_px)).unwrap_or(FIRST_BLUR_PX);
        let fresh = board.fit_all(&near, &known, blur);
        for c in &fresh {
            known.learn(c.place, c.fit.at, c.fit.sigma_px);
        }
        found.extend(fresh);
        if open.is_empty() {
            break;
        }
    }
    let found = board.without_strays(without_misfits(found), matches);
    found.into_iter().map(|c| board.found_corner(c)).collect()
}

impl Board<'_> {
    fn fit_all(&self, saddles: &[&SaddlePlace], known: &Expectation, blur_px: f64) -> Vec<Corner> {
        let fitted = cores::map(saddles.len(), 1, |k| self.fit(saddles[k], known, blur_px));
        without_misfits(fitted.into_iter().flatten().collect())
    }

    fn fit(&self, saddle: &SaddlePlace, known: &Expectation, blur_px: f64) -> Option<Corner> {
        let map = known.map_at(&saddle.at)?;
        let at = map.apply(&saddle.at);
        if !self.picture.contains(at.x, at.y, 3.0) {
            return None;
        }
        let square: Matrix2<f64> = map.derivative(&saddle.at) * self.square_mm;
        let (margin, black_on_diagonal) = self.surroundings(saddle);
        let guess = SaddleGuess {
            at,
            square,
            black_on_diagonal,
            margin,
            blur_px,
        };
        let fit = saddle::fit_saddle(self.picture, &guess)?;
        let side_px = square.column(0).norm().min(square.column(1).norm());
        let near = (fit.at - at).norm() < (0.1 * side_px).max(2.0);
        (near && self.is_good(&fit)).then_some(Corner {
            place: saddle.at,
            index: saddle.index,
            fit,
        })
    }

    /// Tags lie in white squares: the nearest one tells how wide the white border is, as a share of the square,
    /// and which squares are black.
    fn surroundings(&self, saddle: &SaddlePlace) -> (f64, bool) {
        let from_saddle = self
            .target
            .tags()
            .iter()
            .flat_map(|t| &t.corners)
            .map(|c| c - saddle.at);
        let nearest = from_saddle.min_by(|a, b| a.amax().total_cmp(&b.amax()));
        nearest.map_or((0.0, false), |d| {
            ((d.amax() / self.square_mm).min(0.4), d.x * d.y < 0.0)
        })
    }

    fn is_good(&self, fit: &Saddle) -> bool {
        fit.contrast >= self.params.min_contrast
            && fit.misfit <= MAX_MISFIT
            && fit.turn_rad <= MAX_TURN_RAD
            && fit.growth_px.abs() <= 1.0 + 0.5 * fit.blur_px
            && fit.blur_px <= self.params.max_blur_px
            && fit.sigma_px <= self.params.max_sigma_px
    }

    /// Leaves out corners that lie off the map of their neighbours; the tags steady it where neighbours are few.
    fn without_strays(&self, found: Vec<Corner>, matches: &[Match<'_>]) -> Vec<Corner> {
        if found.len() < FEWEST_FOR_STRAYS {
            return found;
        }
        let mut known = Expectation::from_tags(matches, 1.5 * self.square_mm);
        for c in &found {
            known.learn(c.place, c.fit.at, c.fit.sigma_px);
        }
        let off: Vec<f64> = found
            .iter()
            .map(|c| {
                known
                    .map_at(&c.place)
                    .map_or(0.0, |map| (map.apply(&c.place) - c.fit.at).norm())
            })
            .collect();
        let typical = median(off.iter().copied()).unwrap_or(0.0);
        let limit = |c: &Corner| (6.0 * typical).max(6.0 * c.fit.sigma_px).max(0.5);
        found
            .into_iter()
            .zip(off)
            .filter(|(c, off)| *off <= limit(c))
            .map(|(c, _)| c)
            .collect()
    }

    fn found_corner(&self, corner: Corner) -> FoundCorner {
        FoundCorner {
            place: corner.place,
            at: corner.fit.at,
            sigma_px: self.params.with_floor(corner.fit.sigma_px, corner.fit.blur_px),
            kind: CornerKind::Saddle,
            index: corner.index,
            blur_px: corner.fit.blur_px,
        }
    }
}

fn square_of(target: &Target) -> f64 {
    let saddles = target.saddles();
    saddles[1..]
        .iter()
        .map(|s| (s.at - saddles[0].at).norm())
        .fold(f64::INFINITY, f64::min)
}

/// Leaves out corners that fit much worse than the others: something lies over them in part.
fn without_misfits(found: Vec<Corner>) -> Vec<Corner> {
    let typical = median(found.iter().map(|c| c.fit.misfit)).unwrap_or(0.0);
    let limit = (MAX_MISFIT_RATIO * typical).max(SMALL_MISFIT);
    found.into_iter().filter(|c| c.fit.misfit <= limit).collect()
}

/// The upper median.
fn median(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).copied()
}
