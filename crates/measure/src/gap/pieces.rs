//! Edges cut into pieces: what is looked at, how blurred it is, and where each piece of edge lies.

use super::chamfer::{self, UNKNOWN_CHAMFER};
use super::hiding;
use super::problem::Problem;
use super::view::{Piece, View};
use crate::observe::Observed;
use shimwright_edge::{Band, Noise, Strip, fit_band, fit_band_near_blur};
use shimwright_geom::{GreyPicture, Vec2, Vec3};
use shimwright_solve::{Circle, EdgeSight, FeatureId, JointState, Line};
use std::f64::consts::TAU;

/// Depth of the rim's face next to its edge that is taken to be lit evenly, mm.
const FACE: f64 = 1.5;
/// Width of the rim's wall beyond its chamfer that a rim has at least, mm (common practice, no source).
const WALL: f64 = 1.0;
/// A piece beside which that depth covers less than this share of the pixels looked at says nothing.
const SLIVER: f64 = 0.4;
/// Pieces believed less than this are left out.
const LEAST_BELIEVED: f64 = 0.02;
/// Length of an edge piece, px: long enough to average the surface's grain, short enough to be straight.
const PIECE: f64 = 20.0;
/// How far to both sides an edge is looked at to tell how large a photo shows it, mm.
const FACING: f64 = 20.0;
/// Pixels of flat surface looked at beyond the blurred edge.
const FLAT: f64 = 2.5;
/// Blurs tried, as factors to that of the card's corners: an edge nearer or farther than the card may lie out of focus.
const BLURS: [f64; 6] = [0.85, 1.0, 1.2, 1.5, 2.0, 2.8];
/// Blur taken when no corner tells, px.
const USUAL_BLUR: f64 = 0.9;
/// Part of a piece's standard deviation that the noise does not show: rounding of the edge, grain, px.
const FLOOR: f64 = 0.08;
/// Pieces less certain than this say nothing, px.
const VAGUE: f64 = 1.0;

/// How a round looks.
#[derive(Clone, Copy)]
pub(crate) struct Round {
    /// How far from the guess an edge may lie, px.
    pub reach: f64,
    /// How far it usually lies, px.
    pub leash: f64,
}

/// A piece of an edge in one photo, ready to be measured.
pub(crate) struct StripPiece {
    pub photo: usize,
    pub feature: FeatureId,
    pub piece: Piece,
    pub strip: Strip,
    pub noise: Noise,
    pub band: Band,
    /// Share of its say that is believed, by how the surfaces beside it are seen.
    pub believed: f64,
}

/// A piece of edge as it is cut.
struct Cut {
    piece: Piece,
    /// Width of the band between the two lines, px, signed along the axis.
    band: f64,
    believed: f64,
}

/// One edge in one photo.
#[derive(Clone, Copy)]
pub(crate) struct Sighted<'a> {
    pub picture: &'a GreyPicture,
    pub photo: usize,
    pub feature: FeatureId,
    /// Blur of the card's corners in the photo, px.
    pub corner_blur: f64,
    /// By what part of a piece the cuts are shifted along the edge.
    pub phase: f64,
    /// One in so many pieces is looked at.
    pub each: usize,
}

/// Blur of the card's corners in a photo, px.
pub(crate) fn card_blur(problem: &Problem, photo: &Observed) -> f64 {
    let card = photo.found.targets.iter().find(|t| t.name == problem.fixed);
    card.and_then(|card| card.blur_px()).unwrap_or(USUAL_BLUR)
}

/// The pieces of an edge as a state projects it.
fn pieces(problem: &Problem, state: &JointState, edge: &Sighted, range: (f64, f64)) -> Option<Vec<Cut>> {
    let feature = edge.feature;
    let (line, circle) = (state.line?, state.circle?);
    let view = View::of(state, edge.photo);
    let axis = chamfer::axis(&line, &circle);
    let eyes = middle_of_cameras(state);
    let point = |t: f64| match feature {
        FeatureId::Line => line.point + line.direction * t,
        FeatureId::Circle => circle.centre + circle.radial(t) * circle.radius,
    };
    let offset = |t: f64| match feature {
        FeatureId::Line => {
            let leg = problem.drive.mount_chamfer.unwrap_or(UNKNOWN_CHAMFER);
            chamfer::mount_offset(&line, &circle, &eyes, leg)
        }
        FeatureId::Circle => {
            let leg = problem.drive.rim_chamfer.unwrap_or(UNKNOWN_CHAMFER);
            chamfer::rim_offset(&line, &circle, t, leg)
        }
    };
    let scale = |(from, to): (f64, f64)| -> Option<f64> {
        let length = (view.see(&point(to))? - view.see(&point(from))?).norm();
        Some(length.max(PIECE) / (to - from))
    };
    let per_unit = scale(facing(&line, &circle, feature, range)).or_else(|| scale(range))?;
    // Counted from a place that the marks do not choose, so that the same pieces are measured wherever they lie.
    let origin = match feature {
        FeatureId::Line => -line.point.dot(&line.direction),
        FeatureId::Circle => 0.0,
    };
    let step = lattice_step(PIECE / per_unit, feature);
    let (range, count) = on_lattice(range, step, origin + edge.phase * step);
    let pieces = view.pieces(range, count, point, |t| point(t) + axis)?;
    pieces
        .into_iter()
        .step_by(edge.each)
        .filter(|piece| match feature {
            FeatureId::Line => !hiding::behind_rim(&circle, &view.place(), &point(piece.t)),
            FeatureId::Circle => !hiding::behind_mount(&line, &circle, &view.place(), &point(piece.t)),
        })
        .map(|piece| {
            let beyond = point(piece.t) + offset(piece.t);
            let second = view.see(&beyond)?;
            let believed = match feature {
                // The mount's top beside its edge is flat and wide in every view.
                FeatureId::Line => 1.0,
                FeatureId::Circle => {
                    let within = point(piece.t) - circle.radial(piece.t) * FACE;
                    let behind = beyond + axis * WALL;
                    by_its_face(&view, &piece, &point(piece.t), &within, &axis, edge.corner_blur)
                        * seen_broadly(&view, &piece, &second, &behind, edge.corner_blur)
                }
            };
            Some(Cut {
                band: (second - piece.guess.at).dot(&piece.guess.side),
                piece,
                believed,
            })
        })
        .collect()
}

/// How far a piece of the rim is believed by its face; `within` lies on it beside the piece. A face that is turned away
/// does not show, and what is seen past the edge lies behind it.
fn by_its_face(view: &View, piece: &Piece, at: &Vec3, within: &Vec3, axis: &Vec3, blur: f64) -> f64 {
    if (view.place() - at).dot(axis) >= 0.0 {
        return 1.0;
    }
    seen_broadly(view, piece, &piece.guess.at, within, blur)
}

/// Whether the surface beside a piece, from a pixel to a point in space, is seen broadly: 0 to 1. A face that is seen
/// nearly along its plane is a sliver a pixel or two wide, bright at its rim and dark in the depth of the gap; a wall
/// that is seen nearly along itself is one between the chamfer and what lies behind. Neither is a flat surface from
/// which a step can be told, and both draw the edge to themselves.
fn seen_broadly(view: &View, piece: &Piece, from: &Vec2, to: &Vec3, blur: f64) -> f64 {
    let Some(to) = view.see(to) else {
        return 1.0;
    };
    let seen = (to - from).dot(&piece.guess.side).abs();
    let x = ((seen / (1.8 * blur + FLAT) - SLIVER) / (1.0 - SLIVER)).clamp(0.0, 1.0);
    x * x * (3.0 - 2.0 * x)
}

/// The part of an edge by which it is told how large a photo shows it: about where both edges face each other, as that is
/// nothing the marks choose, or the end of the marked range that lies nearest.
fn facing(line: &Line, circle: &Circle, feature: FeatureId, range: (f64, f64)) -> (f64, f64) {
    let foot = (circle.centre - line.point).dot(&line.direction);
    let (at, reach) = match feature {
        FeatureId::Line => (foot, FACING),
        FeatureId::Circle => {
            let angle = circle.angle_of(&(line.point + line.direction * foot));
            let turns = ((range.0 + range.1) / 2.0 - angle) / TAU;
            (angle + TAU * turns.round(), FACING / circle.radius)
        }
    };
    let at = at.max(range.0).min(range.1);
    (at - reach, at + reach)
}

/// Length of a piece along its edge: in steps of the square root of two, so that a little more or less wanted changes
/// nothing; of a rim a whole part, so that it is cut the same whichever turn its angles are told in.
fn lattice_step(wanted: f64, feature: FeatureId) -> f64 {
    let step = 2f64.powf((2.0 * wanted.log2()).round() / 2.0);
    match feature {
        FeatureId::Line => step,
        FeatureId::Circle => TAU / (TAU / step).round().max(1.0),
    }
}

/// The marked range in whole pieces, and their number; places count from `origin`.
fn on_lattice(range: (f64, f64), step: f64, origin: f64) -> ((f64, f64), usize) {
    let first = ((range.0 - origin) / step - 0.3).ceil();
    let last = ((range.1 - origin) / step + 0.3).floor().max(first + 1.0);
    let count = (last - first).min(120.0);
    (
        (origin + first * step, origin + (first + count) * step),
        count as usize,
    )
}

fn middle_of_cameras(state: &JointState) -> Vec3 {
    let count = state.photos.len().max(1) as f64;
    (0..state.photos.len())
        .map(|k| View::of(state, k).place())
        .sum::<Vec3>()
        / count
}

/// The pieces of one edge in one photo with the pixels beside them.
pub(crate) fn strips(
    problem: &Problem,
    state: &JointState,
    edge: &Sighted,
    known_blur: &mut Option<f64>,
    range: (f64, f64),
) -> Vec<StripPiece> {
    let Some(mut pieces) = pieces(problem, state, edge, range) else {
        return Vec::new();
    };
    pieces.retain(|cut| cut.believed > LEAST_BELIEVED);
    let found = known_blur.or_else(|| best_blur(edge.picture, &pieces, edge.corner_blur));
    *known_blur = found;
    let Some(blur) = found else { return Vec::new() };
    pieces
        .into_iter()
        .filter_map(|cut| {
            let (strip, noise) = strip_of(edge.picture, &cut.piece, cut.band, blur)?;
            let band = Band {
                width: cut.band,
                blur,
                shade: None,
            };
            Some(StripPiece {
                photo: edge.photo,
                feature: edge.feature,
                piece: cut.piece,
                strip,
                noise,
                band,
                believed: cut.believed,
            })
        })
        .collect()
}

fn strip_of(picture: &GreyPicture, piece: &Piece, band: f64, blur: f64) -> Option<(Strip, Noise)> {
    let from = band.min(0.0) - 1.8 * blur - FLAT;
    let to = band.max(0.0) + 1.8 * blur + FLAT;
    let mut wide = piece.guess;
    wide.length *= 2.0;
    let strip = Strip::collect_windowed(picture, &wide, from, to)?
        .trimmed(band.min(0.0) - 1.2 * blur, band.max(0.0) + 1.2 * blur);
    let noise = Noise::measure(&strip, FLAT)?;
    Some((strip, noise))
}

/// The blur under which the pieces of an edge cost least together. A blur unlike that of the card's corners must
/// explain the pieces clearly better: a wide step and a chamfer between two lines look much alike.
fn best_blur(picture: &GreyPicture, pieces: &[Cut], corners: f64) -> Option<f64> {
    let strips: Vec<_> = pieces
        .iter()
        .step_by((pieces.len() / 12).max(1))
        .filter_map(|cut| {
            strip_of(picture, &cut.piece, cut.band, corners).map(|(strip, noise)| (strip, noise, cut.band))
        })
        .collect();
    let cost_of = |factor: f64| -> f64 {
        let pieces: f64 = strips
            .iter()
            .filter_map(|(strip, noise, band)| {
                let cost = fit_band(
                    strip,
                    noise,
                    &Band {
                        width: *band,
                        blur: corners * factor,
                        shade: None,
                    },
                    2.0,
                    0.25,
                )?;
                // A strip that no blur explains must not decide.
                Some((cost.cost[cost.best()] / cost.freedom).min(20.0))
            })
            .sum();
        pieces / strips.len() as f64 + 0.3 * (factor.ln() / 0.25).powi(2)
    };
    if strips.is_empty() {
        return None;
    }
    BLURS
        .iter()
        .map(|f| (*f, cost_of(*f)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(f, _)| f * corners)
}

/// The edge point of one piece; `None` when it says nothing.
pub(crate) fn measure(piece: &StripPiece, round: Round) -> Option<EdgeSight> {
    let cost = fit_band_near_blur(&piece.strip, &piece.noise, &piece.band, round.reach, 0.125)?;
    // What the model does not explain widens the standard deviation.
    let scale = (cost.cost[cost.best()] / cost.freedom).max(1.0);
    let (place, curvature) = cost.minimum(0.0, round.leash, scale)?;
    let sigma = (2.0 * scale / curvature + FLOOR * FLOOR).sqrt();
    let guess = &piece.piece.guess;
    let sight = EdgeSight {
        photo: piece.photo,
        feature: piece.feature,
        at: guess.at + guess.side * place,
        side: guess.side,
        t: piece.piece.t,
        along: 0.0,
        sigma_px: sigma,
    };
    (sigma < VAGUE).then_some(sight)
}
