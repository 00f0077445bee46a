//! From rough marks to curves in space: the edge that is meant in the marked photo, then the height above the target
//! at which the other photos show it too.

use super::pieces::{Ridges, around};
use super::{ChamferLight, Edge, Wall};
use crate::Error;
use crate::gap::view::{Piece, View, guesses_along};
use crate::observe::Observed;
use crate::scene::Scene;
use shimwright_edge::{SearchOptions, search};
use shimwright_geom::{GreyPicture, Vec2, Vec3};
use shimwright_say::say;
use shimwright_solve::{Circle, Line, Shape};
use std::f64::consts::TAU;

/// How far from a mark the edge may lie, px.
const REACH: f64 = 12.0;
/// How far a mark is usually off, px: nearer edges are preferred.
const USUAL: f64 = 8.0;
/// Places looked at around a rim.
const PLACES: usize = 72;
/// Fewest of them that tell where a rim lies.
const FEWEST_CLEAR: usize = PLACES / 3;
/// Distance between heights that are tried, mm.
const STEP_MM: f64 = 0.2;
/// Share of the best score that counts as about as well.
const ABOUT_AS_WELL: f64 = 0.7;
/// Score of a photo that shows nothing anywhere: it has no say in the height, and is named afterwards.
const UNSEEN: f64 = 0.01;
/// A peak is the best of so many heights either way.
const PEAK: usize = 5;

/// A curve that is looked for.
pub(crate) struct Sought<'a> {
    /// Its name in messages.
    pub name: &'a str,
    /// Whether it is a straight edge.
    pub straight: bool,
    /// Marks of each used photo, px.
    pub marks: Vec<&'a [Vec2]>,
    /// Heights above the target between which it stands, mm.
    pub heights: (f64, f64),
    /// On which side of a rim a wall stands that reaches down to the target.
    pub wall: Option<Wall>,
}

/// Finds a curve parallel to the target's plane.
pub(crate) fn flat_curve(
    scene: &Scene,
    photos: &[Observed],
    sought: &Sought,
) -> Result<(Shape, Edge), Error> {
    let views: Vec<View> = (0..scene.used.len()).map(|k| View::of(&scene.state, k)).collect();
    let pictures: Vec<&GreyPicture> = scene.used.iter().map(|&i| &photos[i].picture).collect();
    let marked = (0..views.len())
        .rev()
        .max_by_key(|&k| sought.marks[k].len())
        .filter(|&k| !sought.marks[k].is_empty());
    let Some(marked) = marked else {
        return Err(Error::unmeasurable(
            None,
            say!(
                "no photo that shows the {} carries the mark `{}`",
                scene.setting.fixed,
                sought.name
            ),
            say!("mark it in a photo that shows the whole target"),
        ));
    };
    let (low, high) = sought.heights;
    let middle = (low + high) / 2.0;
    let lost = || {
        Error::unmeasurable(
            Some(&photos[scene.used[marked]].name),
            say!(
                "no edge lies near the mark `{}` of {}",
                sought.name,
                photos[scene.used[marked]].name
            ),
            say!("mark it within some pixels of the edge, with points spread along it"),
        )
    };
    let view = &views[marked];
    let rough = through(view, sought.marks[marked], middle, sought.straight).ok_or_else(lost)?;
    let edge = if sought.straight {
        straight_edge(view, pictures[marked], sought.marks[marked])
    } else {
        round_edge(view, pictures[marked], &rough.0, sought.wall)
    }
    .ok_or_else(lost)?;
    if views.len() == 1 {
        return through(view, &edge, middle, sought.straight).ok_or_else(lost);
    }
    let count = ((high - low) / STEP_MM).ceil().max(1.0) as usize;
    let tried: Vec<_> = (0..=count)
        .filter_map(|i| {
            let height = low + (high - low) * i as f64 / count as f64;
            let (shape, range) = through(view, &edge, height, sought.straight)?;
            let others = (0..views.len()).filter(|&k| k != marked);
            // All the others must show it: the mean of logarithms is low when one does not.
            let score: f64 = others
                .map(|k| {
                    let seen = seen(&views[k], pictures[k], (&shape, &range), sought.wall);
                    (seen * near_marks(&views[k], sought.marks[k], &shape, &range))
                        .max(UNSEEN)
                        .ln()
                })
                .sum();
            Some(((score / (views.len() - 1) as f64).exp(), shape, range))
        })
        .collect();
    let scores: Vec<f64> = tried.iter().map(|(score, ..)| *score).collect();
    let best = highest_peak(&scores).ok_or_else(lost)?;
    let (_, shape, edge) = tried[best];
    Ok((shape, edge))
}

/// Index of the highest place at which a curve is seen about as well as anywhere: seen from above, the upper edge of a wall
/// nearly hides the lower one, which the other photos then show at no height at all.
fn highest_peak(scores: &[f64]) -> Option<usize> {
    let best = scores.iter().copied().fold(0.0, f64::max);
    let at = |i: usize| scores.get(i).copied().unwrap_or(0.0);
    let is_peak = |&i: &usize| {
        let around = (i.saturating_sub(PEAK)..=i + PEAK).map(at);
        at(i) >= ABOUT_AS_WELL * best && around.fold(0.0, f64::max) <= at(i)
    };
    (best > 0.0)
        .then(|| (0..scores.len()).rev().find(is_peak))
        .flatten()
}

/// The curve at a height through pixels of a photo, the normal of a rim towards the cameras.
fn through(view: &View, pixels: &[Vec2], height: f64, straight: bool) -> Option<(Shape, Edge)> {
    let eye = view.place();
    let on_plane = |pixel: &Vec2| {
        let ray = view.ray(pixel);
        let p = eye + ray * ((-height - eye.z) / ray.z);
        p.iter().all(|v| v.is_finite()).then_some(Vec2::new(p.x, p.y))
    };
    let points: Vec<Vec2> = pixels.iter().map(on_plane).collect::<Option<_>>()?;
    let up = -Vec3::z();
    if straight {
        let (middle, direction) = line_through(&points)?;
        let along = points.iter().map(|p| (p - middle).dot(&direction));
        let range = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| {
            (l.min(t), h.max(t))
        });
        let direction = Vec3::new(direction.x, direction.y, 0.0);
        let line = Line {
            point: Vec3::new(middle.x, middle.y, -height),
            direction,
        };
        let edge = Edge {
            range,
            across: (direction.cross(&up), up),
            chamfer: (0.0, 0.0),
            aside: false,
            only_in: None,
            light: ChamferLight::Open,
        };
        (range.1 - range.0 > 1.0).then_some((Shape::Line(line), edge))
    } else {
        let (centre, radius) = circle_through(&points)?;
        let circle = Circle {
            centre: Vec3::new(centre.x, centre.y, -height),
            normal: up,
            radius,
        };
        let edge = Edge {
            range: (0.0, TAU),
            across: (Vec3::zeros(), up),
            chamfer: (0.0, 0.0),
            aside: false,
            only_in: None,
            light: ChamferLight::Open,
        };
        (radius > 0.5 && radius < 400.0).then_some((Shape::Circle(circle), edge))
    }
}

fn line_through(points: &[Vec2]) -> Option<(Vec2, Vec2)> {
    let middle = points.iter().sum::<Vec2>() / points.len() as f64;
    let spread: nalgebra::Matrix2<f64> = points
        .iter()
        .map(|p| (p - middle) * (p - middle).transpose())
        .sum();
    let eigen = spread.symmetric_eigen();
    let direction = eigen.eigenvectors.column(eigen.eigenvalues.imax()).into_owned();
    (points.len() >= 2 && direction.iter().all(|v| v.is_finite())).then_some((middle, direction))
}

/// Circle with the least squared distances from points: Gauss-Newton from the algebraic fit of Kasa (1976).
pub(crate) fn circle_through(points: &[Vec2]) -> Option<(Vec2, f64)> {
    let middle = points.iter().sum::<Vec2>() / points.len() as f64;
    let mut normal = nalgebra::Matrix3::zeros();
    let mut right = Vec3::zeros();
    for p in points.iter().map(|p| p - middle) {
        let row = Vec3::new(2.0 * p.x, 2.0 * p.y, 1.0);
        normal += row * row.transpose();
        right += row * p.norm_squared();
    }
    let found = normal.lu().solve(&right)?;
    let mut centre = Vec2::new(found.x, found.y);
    let mut radius = (found.z + centre.norm_squared()).sqrt();
    for _ in 0..20 {
        let mut normal = nalgebra::Matrix3::zeros();
        let mut right = Vec3::zeros();
        for p in points.iter().map(|p| p - middle) {
            let away = p - centre;
            let distance = away.norm().max(1e-12);
            let row = Vec3::new(-away.x / distance, -away.y / distance, -1.0);
            normal += row * row.transpose();
            right -= row * (distance - radius);
        }
        let step = normal.lu().solve(&right)?;
        centre += Vec2::new(step.x, step.y);
        radius += step.z;
        if step.norm() < 1e-12 * radius.abs() {
            break;
        }
    }
    (radius.is_finite() && radius > 0.0).then_some((centre + middle, radius))
}

/// Pixels of the rim that is meant: the marked one moved and grown to where the light steps most.
fn round_edge(view: &View, picture: &GreyPicture, shape: &Shape, wall: Option<Wall>) -> Option<Vec<Vec2>> {
    let edge = Edge {
        range: (0.0, TAU),
        across: (Vec3::zeros(), -Vec3::z()),
        chamfer: (0.0, 0.0),
        aside: false,
        only_in: None,
        light: ChamferLight::Open,
    };
    let pieces = around(view, shape, &edge, PLACES)?;
    let clear = clear(view, shape, &pieces, wall);
    let ridges: Vec<_> = pieces
        .iter()
        .zip(&clear)
        .map(|(piece, clear)| clear.then(|| Ridges::measure(picture, piece, REACH)).flatten())
        .collect();
    if ridges.iter().flatten().count() < FEWEST_CLEAR {
        return None;
    }
    let offset = |[x, y, grow]: [f64; 3], side: &Vec2| x * side.x + y * side.y + grow;
    let steps = REACH as i32;
    let mut best: Option<(f64, [f64; 3])> = None;
    for x in -steps..=steps {
        for y in -steps..=steps {
            for grow in -steps..=steps {
                let moved = [x, y, grow].map(f64::from);
                let mut score = 0.0;
                let mut away = 0.0;
                for (piece, ridges) in pieces.iter().zip(&ridges) {
                    let offset = offset(moved, &piece.guess.side);
                    away += offset * offset;
                    score += ridges.as_ref().map_or(0.0, |r| r.at(offset));
                }
                let score = score * (-0.5 * away / PLACES as f64 / (USUAL * USUAL)).exp();
                if best.is_none_or(|b| score > b.0) {
                    best = Some((score, moved));
                }
            }
        }
    }
    let (score, moved) = best?;
    let on = |piece: &Piece| piece.guess.at + piece.guess.side * offset(moved, &piece.guess.side);
    (score > 0.0).then(|| pieces.iter().map(on).collect())
}

/// The rim at a height that one photo shows nearest to another rim.
pub(crate) fn rim_near(view: &View, picture: &GreyPicture, shape: &Shape, height: f64) -> Option<Shape> {
    let pixels = round_edge(view, picture, shape, None)?;
    Some(through(view, &pixels, height, false)?.0)
}

/// Pixels of the straight edge that is meant.
fn straight_edge(view: &View, picture: &GreyPicture, marks: &[Vec2]) -> Option<Vec<Vec2>> {
    let guesses = guesses_along(&view.straight(marks.first()?, marks.last()?, 32));
    let options = SearchOptions {
        reach: REACH,
        usual: USUAL / 2.0,
        knots: 2,
        most: 1,
    };
    let found = search(picture, &guesses, &options);
    let found = found.first()?;
    let last = (guesses.len() - 1).max(1) as f64;
    let on = |(i, guess): (usize, &shimwright_edge::EdgeGuess)| {
        guess.at + guess.side * found.offset(i as f64 / last)
    };
    Some(guesses.iter().enumerate().map(on).collect())
}

/// How well a photo shows a curve: mean height of the ridges along it.
fn seen(view: &View, picture: &GreyPicture, (shape, edge): (&Shape, &Edge), wall: Option<Wall>) -> f64 {
    let Some(pieces) = around(view, shape, edge, PLACES) else {
        return 0.0;
    };
    let clear = clear(view, shape, &pieces, wall);
    let heights = pieces
        .iter()
        .zip(&clear)
        .filter(|(_, clear)| **clear)
        .map(|(piece, _)| Ridges::measure(picture, piece, 0.5).map_or(0.0, |ridges| ridges.at(0.0)));
    heights.sum::<f64>() / clear.iter().filter(|clear| **clear).count().max(1) as f64
}

/// Which pieces of a rim have no sliver of wall beside them; all where too few have not.
fn clear(view: &View, shape: &Shape, pieces: &[Piece], wall: Option<Wall>) -> Vec<bool> {
    let (Shape::Circle(circle), Some(wall)) = (shape, wall) else {
        return vec![true; pieces.len()];
    };
    let is_clear = |piece: &Piece| wall.is_clear(view, &shape.point(piece.t), &circle.radial(piece.t));
    let clear: Vec<bool> = pieces.iter().map(is_clear).collect();
    if clear.iter().filter(|clear| **clear).count() < FEWEST_CLEAR {
        return vec![true; pieces.len()];
    }
    clear
}

/// How near a curve passes to a photo's own marks: 1 at them, or without any.
fn near_marks(view: &View, marks: &[Vec2], shape: &Shape, edge: &Edge) -> f64 {
    match farthest_mark(view, marks, shape, edge) {
        Some(away) => (-0.5 * (away / USUAL).powi(2)).exp(),
        None => 1.0,
    }
}

/// Distance of a curve from the farthest of a photo's marks, px; `None` without marks.
pub(crate) fn farthest_mark(view: &View, marks: &[Vec2], shape: &Shape, edge: &Edge) -> Option<f64> {
    let (from, to) = edge.range;
    // Marks of a straight edge may reach beyond the range.
    let beyond = if matches!(shape, Shape::Line(_)) {
        (to - from) * 0.5
    } else {
        0.0
    };
    let (from, to) = (from - beyond, to + beyond);
    let points: Vec<Vec2> = (0..=256)
        .filter_map(|i| view.see(&shape.point(from + (to - from) * f64::from(i) / 256.0)))
        .collect();
    let distance = |mark: &Vec2| {
        let segments = points.windows(2).map(|w| from_segment(mark, &w[0], &w[1]));
        segments.fold(f64::INFINITY, f64::min)
    };
    marks.iter().map(distance).reduce(f64::max)
}

fn from_segment(p: &Vec2, a: &Vec2, b: &Vec2) -> f64 {
    let d = b - a;
    let along = ((p - a).dot(&d) / d.norm_squared().max(1e-12)).clamp(0.0, 1.0);
    (p - a - d * along).norm()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gander, Golub and Strebel, "Least-squares fitting of circles and ellipses", BIT 34 (1994): six points with the
    /// geometric fit centre (4.7398, 2.9835), radius 4.7142 (points and result from memory; more digits computed).
    #[test]
    fn a_published_circle() {
        let points = [(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)];
        let points = points.map(|(x, y)| Vec2::new(f64::from(x), f64::from(y)));
        let (centre, radius) = circle_through(&points).unwrap();
        assert!(
            (centre - Vec2::new(4.7397824, 2.9835328)).norm() < 1e-4,
            "{centre}"
        );
        assert!((radius - 4.7142259).abs() < 1e-4, "{radius}");
    }

    /// Three points on an exact circle: centre (27/14, 57/14), radius 5.0152828 (computed).
    #[test]
    fn three_points_give_their_circle() {
        let points = [(6.0, 7.0), (1.0, 9.0), (-3.0, 5.0)].map(|(x, y)| Vec2::new(x, y));
        let (centre, radius) = circle_through(&points).unwrap();
        assert!((centre - Vec2::new(27.0, 57.0) / 14.0).norm() < 1e-9);
        assert!((radius - 5.0152828).abs() < 1e-7);
    }

    #[test]
    fn of_two_good_heights_the_upper_one_is_meant() {
        let mut scores = vec![0.1; 60];
        scores[3] = 1.0;
        scores[4] = 0.95;
        scores[30] = 0.8;
        scores[50] = 0.5;
        assert_eq!(highest_peak(&scores), Some(30));
        assert_eq!(highest_peak(&[0.0; 9]), None);
    }

    #[test]
    fn points_on_a_line_give_no_circle() {
        let points = [0.0, 1.0, 2.0].map(|x| Vec2::new(x, 2.0 * x));
        assert!(circle_through(&points).is_none_or(|(_, radius)| radius > 1e6));
    }
}
