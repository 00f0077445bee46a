//! From rough marks on the rim to a rough circle in space.

use super::grid::Grid;
use super::locate::solve_rough;
use super::movable::{Frame, Movable, Move};
use super::problem::{Problem, RIM_EDGE};
use super::seek::{Seek, mark_points};
use super::start::Start;
use super::view::View;
use crate::Error;
use crate::observe::Observed;
use nalgebra::{Matrix2, Matrix3, Vector2};
use shimwright_detect::cores;
use shimwright_geom::{Vec2, Vec3};
use shimwright_say::say;
use shimwright_solve::{Circle, EdgeSight, FeatureId, JointState};

/// Radius to start from when the job names no rim diameter, mm.
const UNKNOWN_RADIUS: f64 = 45.0;
/// Share of the rim that every photo must show as an edge, where it is not hidden.
const LEAST_SEEN: f64 = 0.3;
/// Of two places of the rim that the photos without marks show this nearly as well, neither is taken. (For one that may be
/// the same flange's edge towards the mount, [`NEARLY_AS_WELL`] is enough.)
const TOO_ALIKE: f64 = 0.93;
/// Places of the rim nearer than this along the axis are the same, mm.
const SAME_PLACE: f64 = 0.8;
/// How far marks may be off, px.
const REACH: f64 = 18.0;
/// A view that looks along the rim's plane to within this (sine of the angle) does not tell its centre.
const ALONG_PLANE: f64 = 0.12;

const NONE: (f64, i32) = (0.0, 0);
const COARSE: Grid = Grid {
    each: [(2.0, 14), (5.0, 13), (5.0, 14), NONE, NONE],
    nearness: 1.8,
};
const MIDDLE: Grid = Grid {
    each: [(0.6, 6), (1.0, 5), (1.0, 5), NONE, NONE],
    nearness: 1.2,
};
const TILTED: Grid = Grid {
    each: [(0.9, 9), (0.9, 3), (0.9, 3), (0.03, 4), (0.012, 2)],
    nearness: 1.5,
};
const FINE: Grid = Grid {
    each: [(0.15, 3), (0.3, 2), (0.3, 2), (0.006, 2), (0.004, 2)],
    nearness: 0.8,
};
/// About the start, a little along the axis only: to see how good an edge nearer to the mount is.
const NEARBY: Grid = Grid {
    each: [(0.15, 2), (0.3, 1), (0.3, 1), NONE, NONE],
    nearness: 1.0,
};

/// A rim has an edge on either side, a flange's thickness apart. Of two that are seen nearly as well, the one that
/// faces the mount is meant; this is how nearly, as a share of the better one's score.
const NEARLY_AS_WELL: f64 = 0.72;
/// The edge that faces the mount is not meant when a mark lies farther from it than this, px.
const MARK_LIMIT: f64 = 9.5;
/// Flanges looked for between the two, mm.
const FLANGES: (f64, f64) = (0.6, 3.0);

/// Finds the rim. Gives the state with its circle, and the arc that the marks reach over, rad.
pub(crate) fn rim(
    problem: &Problem,
    photos: &[Observed],
    start: &Start,
    line_points: &[EdgeSight],
    mut state: JointState,
) -> Result<(JointState, (f64, f64)), Error> {
    let Some(line) = state.line else {
        return Err(lost());
    };
    let marks = mark_points(problem, start, FeatureId::Circle);
    let frame = Frame::of(&line);
    let first = first_circle(problem, start, &state, &frame, &marks).ok_or_else(lost)?;
    // What hides what is judged with the first circle throughout: it is right to some millimetres.
    state.circle = Some(first);
    let seek = Seek {
        photos,
        start,
        state: &state,
        frame: &frame,
        marks: &marks,
    };
    let mut best: Option<(Circle, f64)> = None;
    let mut failed = lost();
    for loose in [UPRIGHT, LEANING] {
        match from_marks(&seek, seek.onto_marks(first, &loose)) {
            Ok(found) if best.is_none_or(|b| found.1 > b.1) => best = Some(found),
            Ok(_) => {}
            Err(error) => failed = error,
        }
    }
    let Some((circle, _)) = best else {
        return Err(failed);
    };
    let range = arc(&seek, &circle).ok_or_else(lost)?;
    check_seen(&seek, &circle, range)?;
    let found = seek.points(&circle, range);
    state.circle = Some(circle);
    let edges: Vec<EdgeSight> = line_points.iter().chain(&found).copied().collect();
    state = solve_rough(problem, start, &edges, state)?;
    Ok((state, range))
}

/// How freely the first circle may be moved onto the marks: standing as the card says, or leaning a little.
const UPRIGHT: Move = [10.0, 12.0, 12.0, 1e-4, 1e-4];
const LEANING: Move = [10.0, 8.0, 8.0, 0.02, 0.01];

/// From a circle on the marks to the edge seen in the photos; with its score.
fn from_marks(seek: &Seek, mut circle: Circle) -> Result<(Circle, f64), Error> {
    let step = |circle: Circle, take: &dyn Fn(usize) -> bool, reach: f64, grid: &Grid| {
        let range = arc(seek, &circle).ok_or_else(lost)?;
        seek.best(&circle, take, range, reach, grid).ok_or_else(lost)
    };
    let marked = |k: usize| seek.marked(k);
    for grid in [&COARSE, &MIDDLE] {
        circle = step(circle, &marked, REACH, grid)?.0;
    }
    if !(0..seek.start.used.len()).all(marked) {
        circle = across_views(seek, circle)?;
    }
    circle = step(circle, &|_| true, 9.0, &TILTED)?.0;
    circle = facing_mount(seek, circle)?;
    step(circle, &|_| true, 9.0, &FINE)
}

fn lost() -> Error {
    Error::unmeasurable(
        None,
        say!("no rim fits the marks `{RIM_EDGE}`"),
        say!("mark three places of the rim, well apart, and check the rim diameter"),
    )
}

/// Refuses a circle that some photo does not show where it should.
fn check_seen(seek: &Seek, circle: &Circle, range: (f64, f64)) -> Result<(), Error> {
    for (k, &i) in seek.start.used.iter().enumerate() {
        if let Some(seen) = seek.seen_in(k, circle, range)
            && seen < LEAST_SEEN
        {
            let name = &seek.photos[i].name;
            return Err(Error::unmeasurable(
                Some(name),
                say!("the rim that fits the marks is not seen in {name}"),
                say!("mark `{RIM_EDGE}` in that photo as well, and check the rim diameter"),
            ));
        }
    }
    Ok(())
}

/// A circle square to the mount's edge and to the card, in the plane through the mount's edge, through the marks as
/// well as that plane allows; its centre on the far side from the cameras.
fn first_circle(
    problem: &Problem,
    start: &Start,
    state: &JointState,
    frame: &Frame,
    marks: &[EdgeSight],
) -> Option<Circle> {
    let radius = problem.radius().map_or(UNKNOWN_RADIUS, |r| r.0);
    // The photo that looks most across the rim's plane.
    let photo = (0..start.used.len())
        .filter(|&k| marks.iter().filter(|m| m.photo == k).count() >= 3)
        .max_by(|&a, &b| steepness(state, frame, marks, a).total_cmp(&steepness(state, frame, marks, b)))?;
    let view = View::of(state, photo);
    // Looked at along its plane, a rim's marks are taken to lie at the height of the mount's edge.
    let along_plane = steepness(state, frame, marks, photo) < ALONG_PLANE;
    let normal = if along_plane { frame.down } else { frame.axis };
    let flat: Vec<Vec2> = marks
        .iter()
        .filter(|m| m.photo == photo)
        .filter_map(|m| {
            let (ray, centre) = (view.ray(&m.at), view.place());
            let s = (frame.origin - centre).dot(&normal) / ray.dot(&normal);
            let d = centre + ray * s - frame.origin;
            (s > 0.0).then(|| Vec2::new(d.dot(&frame.along), d.dot(&frame.down)))
        })
        .collect();
    let centre = if along_plane {
        flat.iter().sum::<Vec2>() / flat.len().max(1) as f64 + Vec2::new(0.0, 0.85 * radius)
    } else {
        fixed_radius_centre(&flat, radius)?
    };
    let centre = frame.origin + frame.along * centre.x + frame.down * centre.y;
    Some(Circle {
        centre,
        normal: frame.axis,
        radius,
    })
}

/// Sine of the angle between a photo's line of sight to its marks and the rim's plane.
fn steepness(state: &JointState, frame: &Frame, marks: &[EdgeSight], photo: usize) -> f64 {
    let view = View::of(state, photo);
    let rays = marks
        .iter()
        .filter(|m| m.photo == photo)
        .map(|m| view.ray(&m.at).dot(&frame.axis).abs());
    rays.fold(f64::INFINITY, f64::min)
}

/// Centre of a circle of given radius through points, below them (positive second coordinate).
fn fixed_radius_centre(points: &[Vec2], radius: f64) -> Option<Vec2> {
    if points.len() < 3 {
        return None;
    }
    let mean = points.iter().sum::<Vec2>() / points.len() as f64;
    let mut centre = mean + Vec2::new(0.0, radius);
    for _ in 0..50 {
        let (mut normal, mut right) = (Matrix2::<f64>::identity() * 1e-9, Vector2::<f64>::zeros());
        for p in points {
            let d = centre - p;
            let away = d.norm().max(1e-9);
            let unit = d / away;
            normal += unit * unit.transpose();
            right += unit * (away - radius);
        }
        let step = normal.try_inverse()? * right;
        let step = step * (0.3 * radius / step.norm().max(0.3 * radius));
        centre -= step;
        if step.norm() < 1e-9 {
            break;
        }
    }
    centre.iter().all(|v| v.is_finite()).then_some(centre)
}

/// The arc that the marks reach over, rad.
fn arc(seek: &Seek, circle: &Circle) -> Option<(f64, f64)> {
    let nearest = |m: &EdgeSight| circle.nearest(seek.state, m.photo, &View::of(seek.state, m.photo), &m.at);
    let angles: Vec<f64> = seek.marks.iter().filter_map(|m| Some(nearest(m)?.0)).collect();
    // Unwrap about the mean direction, so that an arc over the seam stays in one piece.
    let mean = angles
        .iter()
        .map(|a| a.sin())
        .sum::<f64>()
        .atan2(angles.iter().map(|a| a.cos()).sum());
    let turn = std::f64::consts::TAU;
    let unwrapped = angles
        .iter()
        .map(|a| mean + (a - mean + turn / 2.0).rem_euclid(turn) - turn / 2.0);
    let (low, high) = unwrapped.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), a| {
        (l.min(a), h.max(a))
    });
    (high - low > 0.05).then_some((low, high))
}

/// Tilts and depths along the line of sight at which the rim is looked for.
const TILTS: usize = 13;
const DEPTHS: usize = 57;

/// A place that shows less than this share of the best at a glance is not looked at closely: it is neither the rim nor
/// its rival.
const HOPEFUL: f64 = 0.5;

/// Slides the circle along the lines of sight of a marked photo, tilting it, until the others show it as well.
fn across_views(seek: &Seek, circle: Circle) -> Result<Circle, Error> {
    let range = arc(seek, &circle).ok_or_else(lost)?;
    let photo = (0..seek.start.used.len())
        .find(|&k| seek.marked(k))
        .ok_or_else(lost)?;
    let view = View::of(seek.state, photo);
    let curve: Vec<Vec2> = (0..=12)
        .filter_map(|i| view.see(&circle.at(range.0 + (range.1 - range.0) * f64::from(i) / 12.0)))
        .collect();
    let middle = circle.at((range.0 + range.1) / 2.0);
    let sight = (middle - view.place()).normalize();
    let placed = |i: usize| {
        let (tilt, depth) = ((i / DEPTHS) as f64 - 6.0, (i % DEPTHS) as f64 - 28.0);
        let mut guess = circle.moved(seek.frame, &[0.0, 0.0, 0.0, tilt * 0.008, 0.0]);
        guess.centre += sight * (depth * 0.6);
        let guess = back_onto(seek, guess, photo, &curve)?;
        Some((seek.glimpsed(&guess, |k| !seek.marked(k), range), guess))
    };
    let mut tried: Vec<(f64, Circle)> = cores::map(TILTS * DEPTHS, 16, placed)
        .into_iter()
        .flatten()
        .collect();
    // Most places are nothing at a glance; the others are looked at closely.
    let most = tried.iter().map(|(seen, _)| *seen).fold(0.0, f64::max);
    tried.retain(|(seen, _)| *seen > HOPEFUL * most);
    let closely = |i: usize| (seek.seen(&tried[i].1, |k| !seek.marked(k), range), tried[i].1);
    let tried = cores::map(tried.len(), 4, closely);
    let best = *tried.iter().max_by(|a, b| a.0.total_cmp(&b.0)).ok_or_else(lost)?;
    let height =
        |circle: &Circle| (circle.at((range.0 + range.1) / 2.0) - seek.frame.origin).dot(&seek.frame.axis);
    let best_height = height(&best.1);
    let rival = tried.iter().any(|(score, circle)| {
        // The mount's edge lies at height zero.
        let nearer = (best_height - height(circle)) * best_height.signum();
        let faces_mount = nearer > SAME_PLACE && nearer < FLANGES.1;
        let alike = if faces_mount { NEARLY_AS_WELL } else { TOO_ALIKE };
        *score > alike * best.0 && nearer.abs() > SAME_PLACE
    });
    if rival {
        return Err(Error::unmeasurable(
            None,
            say!("the photos without the mark `{RIM_EDGE}` show several edges that could be the rim"),
            say!("mark `{RIM_EDGE}` in a second photo as well"),
        ));
    }
    Ok(best.1)
}

/// Moves a circle until a photo shows it on a curve again; depth along the line of sight is what is being tried, so
/// a weak pull holds it.
fn back_onto(seek: &Seek, mut circle: Circle, photo: usize, curve: &[Vec2]) -> Option<Circle> {
    for _ in 0..4 {
        let (mut normal, mut right) = (Matrix3::identity() * 0.5, Vec3::zeros());
        for gap in seek.gaps(photo, &circle, curve.iter())? {
            let row = Vec3::new(gap.by[0], gap.by[1], gap.by[2]);
            normal += row * row.transpose();
            right += row * gap.away;
        }
        let step = normal.try_inverse()? * right;
        circle = circle.moved(seek.frame, &[step.x, step.y, step.z, 0.0, 0.0]);
    }
    let rest = seek.gaps(photo, &circle, curve.iter())?;
    let rms = (rest.iter().map(|g| g.away * g.away).sum::<f64>() / rest.len() as f64).sqrt();
    (rms < 2.0).then_some(circle)
}

/// Steps over to the edge of the rim that faces the mount, when another one nearer to the mount is seen nearly as
/// well and the marks allow it.
fn facing_mount(seek: &Seek, circle: Circle) -> Result<Circle, Error> {
    let range = arc(seek, &circle).ok_or_else(lost)?;
    let score_at = |circle: &Circle| seek.best(circle, |_| true, range, 6.0, &NEARBY);
    let (mut best, own) = score_at(&circle).ok_or_else(lost)?;
    let toward = (seek.frame.origin - circle.centre).dot(&seek.frame.axis).signum();
    let steps = ((FLANGES.1 - FLANGES.0) / 0.15) as i32;
    let mut found = own * NEARLY_AS_WELL;
    for i in 0..=steps {
        let by = toward * (FLANGES.0 + 0.15 * f64::from(i));
        let moved = circle.moved(seek.frame, &[by, 0.0, 0.0, 0.0, 0.0]);
        // Beyond the mount's edge there is no rim.
        let side = (moved.centre - seek.frame.origin).dot(&seek.frame.axis) * toward;
        if side > 0.3 {
            break;
        }
        if let Some((candidate, score)) = score_at(&moved)
            && score > found
            && seek.farthest_mark(&candidate) < MARK_LIMIT
        {
            (best, found) = (candidate, score);
        }
    }
    Ok(best)
}
