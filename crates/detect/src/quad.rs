//! From a region's outline to a four-sided figure, and its sides refined on the picture.

use crate::hull::{area, cross, enclosing_quad, outline_hull};
use crate::region::Outline;
use shimwright_geom::{GreyPicture, Vec2};

/// Four corners, clockwise as seen in the picture (x right, y down).
pub(crate) type Quad = [Vec2; 4];

/// Least share of its enclosing quadrilateral that a region's hull fills: corners are blunt in small pictures.
const LEAST_HULL_SHARE: f64 = 0.8;

/// Most outline points that lines are fitted to.
const MOST_OUTLINE_POINTS: usize = 240;
/// About as many serve for a first look, whose outcome is taken with so much slack.
const FEW_OUTLINE_POINTS: usize = 40;
const LOOK_SLACK: f64 = 2.0;

/// Fits a quadrilateral to an outline. `None` when the outline is not four straight sides.
pub(crate) fn quad_of_outline(outline: &Outline, min_side_px: f64) -> Option<Quad> {
    let hull = outline_hull(outline);
    let hull_area = area(&hull);
    let rough = enclosing_quad(hull)?;
    if hull_area < LEAST_HULL_SHARE * area(&rough) || !is_large(&rough, min_side_px / LOOK_SLACK) {
        return None;
    }
    // Most figures are specks: a look at some of their points is enough to tell.
    let every = outline.points.len().div_ceil(MOST_OUTLINE_POINTS);
    let few = every.max(outline.points.len() / FEW_OUTLINE_POINTS);
    let (looked_at, rms) = straighten(&rough, outline.points.iter().step_by(few))?;
    if !is_straight(&looked_at, rms, min_side_px, LOOK_SLACK) {
        return None;
    }
    let (quad, rms) = straighten(&looked_at, outline.points.iter().step_by(every))?;
    let covered = outline.area as f64 / area(&quad).max(1.0);
    let good = is_straight(&quad, rms, min_side_px, 1.0) && covered <= 1.25 && is_convex(&quad);
    good.then_some(quad)
}

/// Whether a figure's sides are long enough and as straight as its size asks for, give or take a factor.
fn is_straight(quad: &Quad, rms: f64, min_side_px: f64, slack: f64) -> bool {
    is_large(quad, min_side_px / slack) && rms <= slack * (0.7 + 0.03 * side_range(quad).0)
}

/// Whether a figure's sides are long enough.
fn is_large(quad: &Quad, min_side_px: f64) -> bool {
    let (shortest, longest) = side_range(quad);
    shortest >= 0.35 * min_side_px && longest >= 0.8 * min_side_px && shortest >= 0.12 * longest
}

/// Twice-signed-area test: all turns the same way, none too flat.
pub(crate) fn is_convex(quad: &Quad) -> bool {
    (0..4).all(|i| {
        let (a, b) = (quad[(i + 1) % 4] - quad[i], quad[(i + 2) % 4] - quad[(i + 1) % 4]);
        cross(&a, &b) > 0.12 * a.norm() * b.norm()
    })
}

/// Length of the shortest and the longest side.
pub(crate) fn side_range(quad: &Quad) -> (f64, f64) {
    (0..4)
        .map(|i| (quad[(i + 1) % 4] - quad[i]).norm())
        .fold((f64::INFINITY, 0.0), |(low, high), s| (low.min(s), high.max(s)))
}

/// Fits a line to the outline points nearest to each side and gives the figure of the lines and the rms distance.
fn straighten<'a>(rough: &Quad, points: impl ExactSizeIterator<Item = &'a Vec2>) -> Option<(Quad, f64)> {
    let count = points.len() as f64;
    // Sums are taken from a corner, so that places far out in the picture lose no digits.
    let origin = rough[0];
    let mut sides = [Sums::default(); 4];
    let sides_of: [Line; 4] = [0, 1, 2, 3].map(|i| Line::of_side(&rough[i], &rough[(i + 1) % 4]));
    for p in points {
        let distances = sides_of.map(|line| line.distance(p));
        let nearest = (1..4).fold(0, |best, i| if distances[i] < distances[best] { i } else { best });
        sides[nearest].add(&(p - origin));
    }
    let mut lines = [Line::default(); 4];
    let mut sum = 0.0;
    for i in 0..4 {
        let (a, b) = (rough[i] - origin, rough[(i + 1) % 4] - origin);
        let line = sides[i].line(&a, &b)?;
        sum += sides[i].squares(&line);
        lines[i] = Line {
            normal: line.normal,
            offset: line.offset + line.normal.dot(&origin),
        };
    }
    Some((corners(&lines)?, (sum / count).sqrt()))
}

/// What a line is fitted to: count, sums and sums of products of points.
#[derive(Clone, Copy, Default)]
struct Sums {
    count: f64,
    sum: Vec2,
    xx: f64,
    xy: f64,
    yy: f64,
}

impl Sums {
    fn add(&mut self, p: &Vec2) {
        self.count += 1.0;
        self.sum += p;
        self.xx += p.x * p.x;
        self.xy += p.x * p.y;
        self.yy += p.y * p.y;
    }

    /// Least squares by perpendicular distance; the normal's sense is that of the side from `a` to `b` turned
    /// left in the picture, which is outwards for a clockwise figure.
    fn line(&self, a: &Vec2, b: &Vec2) -> Option<Line> {
        let side = b - a;
        let outwards = Vec2::new(side.y, -side.x).try_normalize(1e-9)?;
        if self.count < 3.0 {
            return Some(Line {
                normal: outwards,
                offset: outwards.dot(a),
            });
        }
        let mean = self.sum / self.count;
        let xx = self.xx - mean.x * self.sum.x;
        let xy = self.xy - mean.x * self.sum.y;
        let yy = self.yy - mean.y * self.sum.y;
        let mut normal = across_the_spread(xx - yy, 2.0 * xy);
        if normal.dot(&outwards) < 0.0 {
            normal = -normal;
        }
        // Points that say nothing about this side's direction (a corner's clutter) must not turn it.
        if normal.dot(&outwards) < 0.9 {
            normal = outwards;
        }
        Some(Line {
            normal,
            offset: normal.dot(&mean),
        })
    }

    /// Sum of the squared distances from a line.
    fn squares(&self, line: &Line) -> f64 {
        let (n, o) = (line.normal, line.offset);
        let spread = n.x * n.x * self.xx + 2.0 * n.x * n.y * self.xy + n.y * n.y * self.yy;
        (spread - 2.0 * o * n.dot(&self.sum) + self.count * o * o).max(0.0)
    }
}

/// The unit vector across the direction in which points spread most, from the difference of their spreads along x and y and
/// twice their common one: the direction's angle is half that of the two.
fn across_the_spread(difference: f64, twice_common: f64) -> Vec2 {
    let length = difference.hypot(twice_common);
    if length == 0.0 {
        return Vec2::y();
    }
    let larger = (0.5 * (1.0 + difference.abs() / length)).sqrt();
    let smaller = 0.5 * twice_common / (length * larger);
    if difference >= 0.0 {
        Vec2::new(-smaller, larger)
    } else {
        Vec2::new(-larger, smaller)
    }
}

/// A line `normal . p = offset` with a unit normal.
#[derive(Clone, Copy, Default)]
pub(crate) struct Line {
    pub(crate) normal: Vec2,
    pub(crate) offset: f64,
}

impl Line {
    /// Through two corners of a clockwise figure, with the normal outwards.
    fn of_side(a: &Vec2, b: &Vec2) -> Self {
        let normal = Vec2::new(b.y - a.y, a.x - b.x)
            .try_normalize(1e-9)
            .unwrap_or_default();
        Self {
            normal,
            offset: normal.dot(a),
        }
    }

    /// Through points of the side from `a` to `b`, as [`Sums::line`].
    fn through(points: &[Vec2], a: &Vec2, b: &Vec2) -> Option<Self> {
        let mut sums = Sums::default();
        for p in points {
            sums.add(&(p - a));
        }
        let line = sums.line(&Vec2::zeros(), &(b - a))?;
        Some(Self {
            normal: line.normal,
            offset: line.offset + line.normal.dot(a),
        })
    }

    fn distance(&self, p: &Vec2) -> f64 {
        (self.normal.dot(p) - self.offset).abs()
    }

    /// Where two lines cross; `None` when they are nearly parallel.
    pub(crate) fn crossing(&self, other: &Line) -> Option<Vec2> {
        let turn = cross(&self.normal, &other.normal);
        (turn.abs() > 0.05).then(|| {
            Vec2::new(
                (self.offset * other.normal.y - other.offset * self.normal.y) / turn,
                (other.offset * self.normal.x - self.offset * other.normal.x) / turn,
            )
        })
    }
}

/// Corner `i` lies between the sides `i - 1` and `i`.
fn corners(lines: &[Line; 4]) -> Option<Quad> {
    let mut quad = [Vec2::zeros(); 4];
    for i in 0..4 {
        quad[i] = lines[(i + 3) % 4].crossing(&lines[i])?;
    }
    Some(quad)
}

/// Moves each side to the steepest dark-to-light change along its normals, in encoded grey: good to a third of
/// a pixel, enough to read the cells. Sides where nothing is found stay.
pub(crate) fn refine_on_picture(picture: &GreyPicture, quad: &Quad, reach_px: f64) -> Option<Quad> {
    let mut lines = [Line::default(); 4];
    for i in 0..4 {
        let (a, b) = (quad[i], quad[(i + 1) % 4]);
        let side = b - a;
        let length = side.norm();
        let outwards = Vec2::new(side.y, -side.x) / length;
        let count = (length / 2.0).clamp(6.0, 32.0) as usize;
        let mut points = Vec::with_capacity(count);
        for k in 0..count {
            let t = 0.08 + 0.84 * (k as f64 + 0.5) / count as f64;
            points.extend(steepest_rise(picture, &(a + side * t), &outwards, reach_px));
        }
        lines[i] = if points.len() * 2 >= count {
            robust_line(points, &a, &b)?
        } else {
            Line {
                normal: outwards,
                offset: outwards.dot(&a),
            }
        };
    }
    corners(&lines)
}

fn robust_line(mut points: Vec<Vec2>, a: &Vec2, b: &Vec2) -> Option<Line> {
    let mut line = Line::through(&points, a, b)?;
    for _ in 0..2 {
        let mut distances: Vec<f64> = points.iter().map(|p| line.distance(p)).collect();
        distances.sort_by(f64::total_cmp);
        let limit = (2.5 * distances[distances.len() / 2]).max(0.3);
        points.retain(|p| line.distance(p) <= limit);
        line = Line::through(&points, a, b)?;
    }
    Some(line)
}

fn steepest_rise(picture: &GreyPicture, from: &Vec2, outwards: &Vec2, reach_px: f64) -> Option<Vec2> {
    const STEP: f64 = 0.5;
    // Rise over three steps: each place is the outer one of a rise and the inner one of another.
    const SPAN: usize = 3;
    const MOST: usize = 64;
    let steps = ((reach_px / STEP).ceil() as usize).min((MOST - SPAN - 1) / 2);
    let mut greys = [0.0; MOST];
    let greys = &mut greys[..2 * steps + 1 + SPAN];
    let first = -(steps as f64 + 0.5 * SPAN as f64) * STEP;
    for (k, grey) in greys.iter_mut().enumerate() {
        *grey = grey_at(picture, &(from + outwards * (first + k as f64 * STEP)))?;
    }
    let (mut weight, mut sum) = (0.0, 0.0);
    for (k, ends) in greys.windows(SPAN + 1).enumerate() {
        let rise = ends[SPAN] - ends[0];
        if rise > 0.0 {
            let s = (k as f64 - steps as f64) * STEP;
            weight += rise * rise;
            sum += rise * rise * s;
        }
    }
    (weight > 16.0).then(|| from + outwards * (sum / weight))
}

/// Encoded grey, bilinear; `None` outside the picture.
#[inline]
pub(crate) fn grey_at(picture: &GreyPicture, p: &Vec2) -> Option<f64> {
    if !(p.x >= 0.0 && p.y >= 0.0) {
        return None;
    }
    let (x, y) = (p.x as usize, p.y as usize);
    if x + 1 >= picture.width() || y + 1 >= picture.height() {
        return None;
    }
    let (fx, fy) = (p.x - x as f64, p.y - y as f64);
    let (top, bottom) = (&picture.row(y)[x..x + 2], &picture.row(y + 1)[x..x + 2]);
    let mix = |r: &[u8]| f64::from(r[0]) * (1.0 - fx) + f64::from(r[1]) * fx;
    Some(mix(top) * (1.0 - fy) + mix(bottom) * fy)
}
