//! The convex hull of a region's outline and the four-sided figure around it.

use crate::quad::Quad;
use crate::region::Outline;
use shimwright_geom::Vec2;

/// Convex hull of an outline, clockwise in the picture: the hull of the pixels' middles, widened by the diamond of a
/// pixel's four outline points. Places are half-integers, which makes the turns exact.
pub(crate) fn outline_hull(outline: &Outline) -> Vec<Vec2> {
    let (rows, _) = outline.points[..outline.row_points].as_chunks::<2>();
    let half = Vec2::new(0.5, 0.0);
    let mut middles = Vec::with_capacity(32);
    push_chain(&mut middles, rows.iter().map(|[_, right]| right - half));
    push_chain(&mut middles, rows.iter().rev().map(|[left, _]| left + half));
    middles.dedup();
    if middles.len() > 1 && middles.first() == middles.last() {
        middles.pop();
    }
    widened(&middles)
}

/// Adds one side of a hull from points in order, clockwise in the picture.
fn push_chain(hull: &mut Vec<Vec2>, points: impl Iterator<Item = Vec2>) {
    let start = hull.len();
    for p in points {
        while let [.., a, b] = hull[start..]
            && cross(&(b - a), &(p - a)) <= 0.0
        {
            hull.pop();
        }
        hull.push(p);
    }
}

/// Points of a pixel's outline about its middle, clockwise in the picture.
const DIAMOND: [(f64, f64); 4] = [(0.5, 0.0), (0.0, 0.5), (-0.5, 0.0), (0.0, -0.5)];

/// A clockwise convex figure widened by the diamond: each corner takes on the diamond's points that lie furthest out between
/// the directions across its two sides.
fn widened(figure: &[Vec2]) -> Vec<Vec2> {
    let n = figure.len();
    let mut out = Vec::with_capacity(n + 4);
    for (i, p) in figure.iter().enumerate() {
        let (before, after) = (figure[(i + n - 1) % n], figure[(i + 1) % n]);
        let mut at = furthest(&(p - before), true);
        let last = furthest(&(after - p), false);
        out.push(p + Vec2::from(<[f64; 2]>::from(DIAMOND[at])));
        while at != last {
            at = (at + 1) % DIAMOND.len();
            out.push(p + Vec2::from(<[f64; 2]>::from(DIAMOND[at])));
        }
    }
    out
}

/// Index of the diamond's point that lies furthest out across a side of a clockwise figure; of two the later one, if asked.
fn furthest(side: &Vec2, later: bool) -> usize {
    let (x, y) = (side.y, -side.x);
    let first = match (x.abs() > y.abs(), x.abs() == y.abs()) {
        (_, true) => match (x > 0.0, y > 0.0) {
            (true, true) => 0,
            (false, true) => 1,
            (false, false) => 2,
            (true, false) => 3,
        },
        (true, _) => return if x > 0.0 { 0 } else { 2 },
        (false, _) => return if y > 0.0 { 1 } else { 3 },
    };
    (first + usize::from(later)) % DIAMOND.len()
}

/// Takes away one side after the other, always the one whose neighbours, prolonged, add the least area.
pub(crate) fn enclosing_quad(mut hull: Vec<Vec2>) -> Option<Quad> {
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

/// Area enclosed, positive for clockwise figures.
pub(crate) fn area(figure: &[Vec2]) -> f64 {
    let n = figure.len();
    0.5 * (0..n)
        .map(|i| cross(&figure[i], &figure[(i + 1) % n]))
        .sum::<f64>()
}

/// Positive when `b` lies clockwise of `a` in the picture.
pub(crate) fn cross(a: &Vec2, b: &Vec2) -> f64 {
    a.x * b.y - a.y * b.x
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quad::is_convex;

    #[test]
    fn a_cut_corner_is_put_back() {
        let hull = vec![
            Vec2::new(0.0, 0.0),
            Vec2::new(9.0, 0.0),
            Vec2::new(10.0, 1.0),
            Vec2::new(10.0, 10.0),
            Vec2::new(0.0, 10.0),
        ];
        let quad = enclosing_quad(hull).unwrap();
        assert!((area(&quad) - 100.0).abs() < 1e-9, "{quad:?}");
        assert!(is_convex(&quad));
    }

    /// Against the hull of all outline points by their turns about each pair: no point lies outside of any side.
    #[test]
    fn the_hull_holds_every_point_of_an_outline() {
        let rows = [(5, 6), (3, 9), (2, 9), (2, 12), (4, 11), (6, 6)];
        let mut points = Vec::new();
        for (y, &(left, right)) in rows.iter().enumerate() {
            points.push(Vec2::new(f64::from(left) - 0.5, y as f64));
            points.push(Vec2::new(f64::from(right) + 0.5, y as f64));
        }
        let row_points = points.len();
        for x in 2..=12 {
            let in_column = || (0..rows.len()).filter(|&y| (rows[y].0..=rows[y].1).contains(&x));
            let (top, bottom) = (in_column().min().unwrap(), in_column().max().unwrap());
            points.push(Vec2::new(f64::from(x), top as f64 - 0.5));
            points.push(Vec2::new(f64::from(x), bottom as f64 + 0.5));
        }
        let outline = Outline {
            points,
            row_points,
            area: 1,
        };
        let hull = outline_hull(&outline);
        for (i, a) in hull.iter().enumerate() {
            assert!(outline.points.contains(a), "{a}");
            let side = hull[(i + 1) % hull.len()] - a;
            assert!(outline.points.iter().all(|p| cross(&side, &(p - a)) >= 0.0));
            let next = hull[(i + 2) % hull.len()] - hull[(i + 1) % hull.len()];
            assert!(cross(&side, &next) > 0.0, "corner after {a}");
        }
    }

    #[test]
    fn a_triangle_is_no_quad() {
        let hull = vec![Vec2::new(0.0, 0.0), Vec2::new(9.0, 0.0), Vec2::new(4.0, 8.0)];
        assert!(enclosing_quad(hull).is_none());
    }
}
