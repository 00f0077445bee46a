//! From a region's outline to a four-sided figure, and its sides refined on the picture.

use crate::region::Outline;
use shimwright_geom::{GreyPicture, Vec2};

/// Four corners, clockwise as seen in the picture (x right, y down).
pub(crate) type Quad = [Vec2; 4];

/// Least share of its enclosing quadrilateral that a region's hull fills: corners are blunt in small pictures.
const LEAST_HULL_SHARE: f64 = 0.8;

/// Most outline points that lines are fitted to.
const MOST_OUTLINE_POINTS: usize = 240;

/// Fits a quadrilateral to an outline. `None` when the outline is not four straight sides.
pub(crate) fn quad_of_outline(outline: &Outline, min_side_px: f64) -> Option<Quad> {
    let hull = outline_hull(outline);
    let hull_area = area(&hull);
    let rough = enclosing_quad(hull)?;
    if hull_area < LEAST_HULL_SHARE * area(&rough) {
        return None;
    }
    let (quad, rms) = straighten(&rough, &outline.points)?;
    let (shortest, longest) = side_range(&quad);
    // A tag covers a good part of its own figure: border ring 44 %, and more with its inner black cells.
    let covered = outline.area as f64 / area(&quad).max(1.0);
    let good = shortest >= 0.35 * min_side_px
        && longest >= 0.8 * min_side_px
        && shortest >= 0.12 * longest
        && rms <= 0.7 + 0.03 * shortest
        && covered <= 1.25
        && is_convex(&quad);
    good.then_some(quad)
}

/// Twice-signed-area test: all turns the same way, none too flat.
pub(crate) fn is_convex(quad: &Quad) -> bool {
    (0..4).all(|i| {
        let (a, b) = (quad[(i + 1) % 4] - quad[i], quad[(i + 2) % 4] - quad[(i + 1) % 4]);
        cross(&a, &b) > 0.12 * a.norm() * b.norm()
    })
}

/// Area enclosed, positive for clockwise figures.
fn area(figure: &[Vec2]) -> f64 {
    let n = figure.len();
    0.5 * (0..n)
        .map(|i| cross(&figure[i], &figure[(i + 1) % n]))
        .sum::<f64>()
}

/// Length of the shortest and the longest side.
pub(crate) fn side_range(quad: &Quad) -> (f64, f64) {
    (0..4)
        .map(|i| (quad[(i + 1) % 4] - quad[i]).norm())
        .fold((f64::INFINITY, 0.0), |(low, high), s| (low.min(s), high.max(s)))
}

fn cross(a: &Vec2, b: &Vec2) -> f64 {
    a.x * b.y - a.y * b.x
}

/// Convex hull of an outline. Its rows' and columns' ends come in order, so that a pass along each leaves few points to
/// be sorted; places are half-integers, which makes the turns exact.
fn outline_hull(outline: &Outline) -> Vec<Vec2> {
    let (rows, columns) = outline.points.split_at(outline.row_points);
    let mut corners = Vec::new();
    for (ends, sense) in [(rows, 1.0), (columns, -1.0)] {
        for (from, sense) in [(0, sense), (1, -sense)] {
            let start = corners.len();
            for p in ends.iter().skip(from).step_by(2) {
                while let [.., a, b] = corners[start..]
                    && sense * cross(&(p - a), &(b - a)) <= 0.0
                {
                    corners.pop();
                }
                corners.push(*p);
            }
        }
    }
    convex_hull(&corners)
}

/// Convex hull, clockwise in the picture (Andrew's monotone chain).
fn convex_hull(points: &[Vec2]) -> Vec<Vec2> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let mut hull: Vec<Vec2> = Vec::new();
    for pass in 0..2 {
        let start = hull.len();
        let order: Box<dyn Iterator<Item = &Vec2>> = if pass == 0 {
            Box::new(sorted.iter())
        } else {
            Box::new(sorted.iter().rev())
        };
        for p in order {
            while hull.len() >= start + 2
                && cross(
                    &(hull[hull.len() - 1] - hull[hull.len() - 2]),
                    &(p - hull[hull.len() - 1]),
                ) <= 0.0
            {
                hull.pop();
            }
            hull.push(*p);
        }
        hull.pop();
    }
    hull
}

/// Takes away one side after the other, always the one whose neighbours, prolonged, add the least area.
fn enclosing_quad(mut hull: Vec<Vec2>) -> Option<Quad> {
    let mut added: Vec<Option<(f64, Vec2)>> = (0..hull.len()).map(|i| without_side(&hull, i)).collect();
    while hull.len() > 4 {
        let mut best: Option<(f64, usize, Vec2)> = None;
        for (i, side) in added.iter().enumerate() {
            if let Some((area, tip)) = *side
                && best.is_none_or(|(least, ..)| area < least)
            {
                best = Some((area, i, tip));
            }
        }
        let (_, i, tip) = best?;
        let gone = (i + 1) % hull.len();
        hull[i] = tip;
        hull.remove(gone);
        added.remove(gone);
        // The tip is a corner of four sides and their neighbours.
        let n = hull.len();
        let at = if gone < i { i - 1 } else { i };
        for side in [at + n - 2, at + n - 1, at, at + 1].map(|k| k % n) {
            added[side] = without_side(&hull, side);
        }
    }
    <[Vec2; 4]>::try_from(hull).ok()
}

/// What the figure gains when the side after corner `i` goes, and where its neighbours then meet.
fn without_side(hull: &[Vec2], i: usize) -> Option<(f64, Vec2)> {
    let n = hull.len();
    let (before, a, b, after) = (
        hull[(i + n - 1) % n],
        hull[i],
        hull[(i + 1) % n],
        hull[(i + 2) % n],
    );
    let (u, v) = (a - before, b - after);
    let turn = cross(&u, &v);
    // The neighbours meet beyond the side only when they lean towards each other.
    if turn >= 0.0 {
        return None;
    }
    let t = cross(&(b - a), &v) / turn;
    if t < 0.0 {
        return None;
    }
    let tip = a + u * t;
    Some((0.5 * cross(&(tip - a), &(b - tip)).abs(), tip))
}

/// Fits a line to the outline points of each side and gives the figure of the lines and the rms distance.
fn straighten(rough: &Quad, points: &[Vec2]) -> Option<(Quad, f64)> {
    let mut quad = *rough;
    let mut rms = 0.0;
    let every = points.len().div_ceil(MOST_OUTLINE_POINTS);
    // Sums are taken from a corner, so that places far out in the picture lose no digits.
    let origin = rough[0];
    for _ in 0..2 {
        let mut sides = [Sums::default(); 4];
        let rough: [Line; 4] = [0, 1, 2, 3].map(|i| Line::of_side(&quad[i], &quad[(i + 1) % 4]));
        for p in points.iter().step_by(every) {
            let distances = rough.map(|line| line.distance(p));
            let nearest = (1..4).fold(0, |best, i| if distances[i] < distances[best] { i } else { best });
            sides[nearest].add(&(p - origin));
        }
        let mut lines = [Line::default(); 4];
        let mut sum = 0.0;
        for i in 0..4 {
            let (a, b) = (quad[i] - origin, quad[(i + 1) % 4] - origin);
            let line = sides[i].line(&a, &b)?;
            sum += sides[i].squares(&line);
            lines[i] = Line {
                normal: line.normal,
                offset: line.offset + line.normal.dot(&origin),
            };
        }
        rms = (sum * every as f64 / points.len() as f64).sqrt();
        quad = corners(&lines)?;
    }
    Some((quad, rms))
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
        let along = 0.5 * (2.0 * xy).atan2(xx - yy);
        let mut normal = Vec2::new(-along.sin(), along.cos());
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cut_corner_is_put_back() {
        let hull = vec![
            Vec2::new(0.0, 0.0),
            Vec2::new(9.0, 0.0),
            Vec2::new(10.0, 1.0),
            Vec2::new(10.0, 10.0),
            Vec2::new(0.0, 10.0),
        ];
        let quad = enclosing_quad(convex_hull(&hull)).unwrap();
        assert!((area(&quad) - 100.0).abs() < 1e-9, "{quad:?}");
        assert!(is_convex(&quad));
    }

    #[test]
    fn a_triangle_is_no_quad() {
        let hull = vec![Vec2::new(0.0, 0.0), Vec2::new(9.0, 0.0), Vec2::new(4.0, 8.0)];
        assert!(enclosing_quad(convex_hull(&hull)).is_none());
    }
}
