//! From rough marks on the rim to a rough circle in space.

use super::locate::solve_rough;
use super::problem::{Problem, RIM_EDGE};
use super::start::Start;
use super::view::View;
use crate::Error;
use crate::observe::Observed;
use nalgebra::{Matrix2, Vector2};
use shimwright_edge::{SearchOptions, search};
use shimwright_geom::{Vec2, Vec3};
use shimwright_solve::{Circle, EdgeSight, FeatureId, JointState, Line};

/// Radius to start from when the job names no rim diameter, mm.
const UNKNOWN_RADIUS: f64 = 45.0;
/// How far marks may be off, px, and how far they usually are.
const REACH: f64 = 14.0;
const USUAL: f64 = 6.0;
/// Standard deviation of a mark as a point of the rim, px.
const MARK_SIGMA: f64 = 4.0;
/// Pieces into which the marked arc is cut for the search.
const PIECES: usize = 24;

/// Finds the rim. Gives the state with its circle, and the arc that the marks reach over, rad.
pub(crate) fn rim(
    problem: &Problem,
    photos: &[Observed],
    start: &Start,
    line_points: &[EdgeSight],
    mut state: JointState,
) -> Result<(JointState, (f64, f64)), Error> {
    let Some(line) = state.line else { return Err(lost()) };
    let mut marks = mark_points(problem, start);
    let circle = first_circle(problem, start, &state, &line, &marks).ok_or_else(lost)?;
    state.circle = Some(circle);
    let angles = mark_angles(&state, &circle, &marks);
    for (mark, angle) in marks.iter_mut().zip(&angles) {
        mark.t = *angle;
    }
    let with = |more: &[EdgeSight]| -> Vec<EdgeSight> { line_points.iter().chain(more).copied().collect() };
    state = solve_rough(problem, start, &with(&marks), state)?;
    let range = arc(&state, &marks).ok_or_else(lost)?;
    let marked: Vec<usize> = marks.iter().map(|m| m.photo).collect();
    // First in the marked photos, then in all: a circle from marks alone is off by too much elsewhere.
    let found = search_in(photos, start, &state, range, |k| marked.contains(&k), REACH)?;
    state = solve_rough(problem, start, &with(&found), state)?;
    let found = search_in(photos, start, &state, range, |_| true, 9.0)?;
    state = solve_rough(problem, start, &with(&found), state)?;
    Ok((state, range))
}

fn lost() -> Error {
    Error::unmeasurable(
        None,
        format!("no rim fits the marks `{RIM_EDGE}`"),
        "mark three places of the rim, well apart, and check the rim diameter",
    )
}

/// The marks as edge points with a wide sigma.
fn mark_points(problem: &Problem, start: &Start) -> Vec<EdgeSight> {
    let mut points = Vec::new();
    for (k, &i) in start.used.iter().enumerate() {
        points.extend(problem.marks[i].rim.iter().map(|at| EdgeSight {
            photo: k,
            feature: FeatureId::Circle,
            at: *at,
            side: Vec2::new(0.0, 1.0),
            t: 0.0,
            sigma_px: MARK_SIGMA,
        }));
    }
    points
}

/// A circle square to the mount's edge and to the card, in the plane through the mount's edge, through the marks as
/// well as that plane allows; its centre on the far side from the cameras.
fn first_circle(
    problem: &Problem,
    start: &Start,
    state: &JointState,
    line: &Line,
    marks: &[EdgeSight],
) -> Option<Circle> {
    let normal = line.direction.cross(&Vec3::z()).normalize();
    let down = normal.cross(&line.direction);
    let down = if down.z < 0.0 { -down } else { down };
    let radius = problem.radius().map_or(UNKNOWN_RADIUS, |r| r.0);
    // Only the photo with the most marks: a plane that is off by a gap puts the others' elsewhere.
    let photo = (0..start.used.len()).max_by_key(|&k| marks.iter().filter(|m| m.photo == k).count())?;
    let view = View::of(state, photo);
    let flat: Vec<Vec2> = marks
        .iter()
        .filter(|m| m.photo == photo)
        .filter_map(|m| {
            let (ray, centre) = (view.ray(&m.at), view.place());
            let s = (line.point - centre).dot(&normal) / ray.dot(&normal);
            let d = centre + ray * s - line.point;
            (s > 0.0).then(|| Vec2::new(d.dot(&line.direction), d.dot(&down)))
        })
        .collect();
    let centre = fixed_radius_centre(&flat, radius)?;
    Some(Circle { centre: line.point + line.direction * centre.x + down * centre.y, normal, radius })
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

/// The angle on the rim at which each mark's line of sight meets the rim's plane, rad.
fn mark_angles(state: &JointState, circle: &Circle, marks: &[EdgeSight]) -> Vec<f64> {
    let angle = |mark: &EdgeSight| {
        let view = View::of(state, mark.photo);
        let (ray, centre) = (view.ray(&mark.at), view.place());
        let s = (circle.centre - centre).dot(&circle.normal) / ray.dot(&circle.normal);
        circle.angle_of(&(centre + ray * s))
    };
    marks.iter().map(angle).collect()
}

/// The arc that the marks reach over, rad.
fn arc(state: &JointState, marks: &[EdgeSight]) -> Option<(f64, f64)> {
    let angles = mark_angles(state, &state.circle?, marks);
    // Unwrap about the mean direction, so that an arc over the seam stays in one piece.
    let mean = angles.iter().map(|a| a.sin()).sum::<f64>().atan2(angles.iter().map(|a| a.cos()).sum());
    let turn = std::f64::consts::TAU;
    let unwrapped = angles.iter().map(|a| mean + (a - mean + turn / 2.0).rem_euclid(turn) - turn / 2.0);
    let (low, high) =
        unwrapped.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), a| (l.min(a), h.max(a)));
    (high - low > 0.05).then_some((low, high))
}

/// Searches the rim's edge beside the projected circle.
fn search_in(
    photos: &[Observed],
    start: &Start,
    state: &JointState,
    range: (f64, f64),
    take: impl Fn(usize) -> bool,
    reach: f64,
) -> Result<Vec<EdgeSight>, Error> {
    let Some(circle) = state.circle else { return Err(lost()) };
    let at = |t: f64| circle.centre + circle.radial(t) * circle.radius;
    // The axis shows well in a view that shows the gap; the radius may point at the camera.
    let toward = |t: f64| at(t) + circle.normal;
    let mut points = Vec::new();
    for (k, &i) in start.used.iter().enumerate().filter(|(k, _)| take(*k)) {
        let view = View::of(state, k);
        let Some(pieces) = view.pieces(range, PIECES, at, toward) else { continue };
        let guesses: Vec<_> = pieces.iter().map(|p| p.guess).collect();
        let options = SearchOptions { reach, usual: USUAL, knots: 3, most: 1, step_sign: 0 };
        let Some(best) = search(&photos[i].picture, &guesses, &options).into_iter().next() else { continue };
        let last = (PIECES - 1) as f64;
        points.extend(pieces.iter().enumerate().map(|(n, piece)| EdgeSight {
            photo: k,
            feature: FeatureId::Circle,
            at: piece.guess.at + piece.guess.side * best.offset(n as f64 / last),
            side: piece.guess.side,
            t: piece.t,
            sigma_px: 1.5,
        }));
    }
    if points.is_empty() {
        return Err(Error::unmeasurable(
            None,
            format!("no edge is found within {reach:.0} px of the marks `{RIM_EDGE}`"),
            "put the marks nearer to the rim's edge, or light it better",
        ));
    }
    Ok(points)
}
