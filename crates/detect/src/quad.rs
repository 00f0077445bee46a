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
    let hull = convex_hull(&outline.points);
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
    while hull.len() > 4 {
        let n = hull.len();
        let mut best: Option<(f64, usize, Vec2)> = None;
        for i in 0..n {
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
                continue;
            }
            let t = cross(&(b - a), &v) / turn;
            if t < 0.0 {
                continue;
            }
            let tip = a + u * t;
            let added = 0.5 * cross(&(tip - a), &(b - tip)).abs();
            if best.is_none_or(|(least, ..)| added < least) {
                best = Some((added, i, tip));
            }
        }
        let (_, i, tip) = best?;
        hull[i] = tip;
        hull.remove((i + 1) % n);
    }
    <[Vec2; 4]>::try_from(hull).ok()
}

/// Fits a line to the outline points of each side and gives the figure of the lines and the rms distance.
fn straighten(rough: &Quad, points: &[Vec2]) -> Option<(Quad, f64)> {
    let mut quad = *rough;
    let mut rms = 0.0;
    let every = points.len().div_ceil(MOST_OUTLINE_POINTS);
    for _ in 0..2 {
        let mut sides: [Vec<Vec2>; 4] = Default::default();
        let rough: [Line; 4] = [0, 1, 2, 3].map(|i| Line::of_side(&quad[i], &quad[(i + 1) % 4]));
        for p in points.iter().step_by(every) {
            let distances = rough.map(|line| line.distance(p));
            let nearest = (1..4).fold(0, |best, i| if distances[i] < distances[best] { i } else { best });
            sides[nearest].push(*p);
        }
        let mut lines = [Line::default(); 4];
        let mut sum = 0.0;
        for i in 0..4 {
            lines[i] = Line::through(&sides[i], &quad[i], &quad[(i + 1) % 4])?;
            sum += sides[i].iter().map(|p| lines[i].distance(p).powi(2)).sum::<f64>();
        }
        rms = (sum * every as f64 / points.len() as f64).sqrt();
        quad = corners(&lines)?;
    }
    Some((quad, rms))
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

    /// Least squares by perpendicular distance; the normal's sense is that of the side from `a` to `b` turned
    /// left in the picture, which is outwards for a clockwise figure.
    fn through(points: &[Vec2], a: &Vec2, b: &Vec2) -> Option<Self> {
        let side = b - a;
        let outwards = Vec2::new(side.y, -side.x).try_normalize(1e-9)?;
        if points.len() < 3 {
            return Some(Self {
                normal: outwards,
                offset: outwards.dot(a),
            });
        }
        let n = points.len() as f64;
        let mean = points.iter().fold(Vec2::zeros(), |s, p| s + p) / n;
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for p in points {
            let d = p - mean;
            xx += d.x * d.x;
            xy += d.x * d.y;
            yy += d.y * d.y;
        }
        let along = 0.5 * (2.0 * xy).atan2(xx - yy);
        let mut normal = Vec2::new(-along.sin(), along.cos());
        if normal.dot(&outwards) < 0.0 {
            normal = -normal;
        }
        // Points that say nothing about this side's direction (a corner's clutter) must not turn it.
        if normal.dot(&outwards) < 0.9 {
            normal = outwards;
        }
        Some(Self {
            normal,
            offset: normal.dot(&mean),
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
    let steps = (reach_px / STEP).ceil() as i32;
    let (mut weight, mut sum) = (0.0, 0.0);
    for k in -steps..=steps {
        let s = f64::from(k) * STEP;
        let out = grey_at(picture, &(from + outwards * (s + 0.75)))?;
        let inside = grey_at(picture, &(from + outwards * (s - 0.75)))?;
        let rise = out - inside;
        if rise > 0.0 {
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
