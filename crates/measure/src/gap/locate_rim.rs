//! From rough marks on the rim to a rough circle in space.
//!
//! All photos are searched at once for one circle: an edge that is wrong in one photo fits no circle in the others.
//! The circle is moved by five numbers: along the axis, along the mount's edge, down, and two tilts.

use super::locate::solve_rough;
use super::problem::{Problem, RIM_EDGE};
use super::start::Start;
use super::view::View;
use crate::Error;
use crate::observe::Observed;
use nalgebra::{Matrix2, Vector2};
use shimwright_edge::{Ridge, StepProfile};
use shimwright_geom::{Vec2, Vec3};
use shimwright_solve::{Circle, CurvePoint, EdgeSight, FeatureId, JointState, Line};

/// Radius to start from when the job names no rim diameter, mm.
const UNKNOWN_RADIUS: f64 = 45.0;
/// How far marks may be off, px.
const REACH: f64 = 18.0;
/// Standard deviation of a mark as a point of the rim, px.
const MARK_SIGMA: f64 = 5.0;
/// Pieces into which the marked arc is cut for the search.
const PIECES: usize = 24;
/// A step of encoded brightness that is an edge beyond doubt; stronger ones count no more.
const CLEAR_STEP: f64 = 0.03;
/// Other edges within this of the mount's edge are taken for it, px.
const MOUNT_WIDTH: f64 = 2.5;
/// Weight of the marks against the edges seen: a mark 5 px off costs as much as a tenth of the edge unseen.
const MARK_WEIGHT: f64 = 0.2;

/// Step of the circle: axis (mm), along the mount's edge (mm), down (mm), tilt about the mount's edge and about
/// down (rad).
type Move = [f64; 5];

/// Finds the rim. Gives the state with its circle, and the arc that the marks reach over, rad.
pub(crate) fn rim(
    problem: &Problem,
    photos: &[Observed],
    start: &Start,
    line_points: &[EdgeSight],
    mut state: JointState,
) -> Result<(JointState, (f64, f64)), Error> {
    let Some(line) = state.line else { return Err(lost()) };
    let marks = mark_points(problem, start);
    let frame = Frame::of(&line);
    let mut circle = first_circle(problem, start, &state, &frame, &marks).ok_or_else(lost)?;
    let search = Search { photos, start, state: &state, frame: &frame, marks: &marks };
    let marked = |k: usize| marks.iter().any(|m| m.photo == k);
    let all_marked = (0..start.used.len()).all(marked);
    for grid in [COARSE, MIDDLE] {
        circle = search.best(circle, marked, REACH, &grid)?;
    }
    if !all_marked {
        circle = search.across_views(circle, marked)?;
    }
    circle = search.best(circle, |_| true, 9.0, &TILTED)?;
    circle = search.best(circle, |_| true, 9.0, &FINE)?;
    let range = search.arc(&circle).ok_or_else(lost)?;
    let found = search.points(&circle, range);
    state.circle = Some(circle);
    let edges: Vec<EdgeSight> = line_points.iter().chain(&found).copied().collect();
    state = solve_rough(problem, start, &edges, state)?;
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

/// Directions at the mount's edge: the axis as square to the edge and along the card, the edge, and down.
struct Frame {
    origin: Vec3,
    axis: Vec3,
    along: Vec3,
    down: Vec3,
}

impl Frame {
    fn of(line: &Line) -> Self {
        let axis = line.direction.cross(&Vec3::z()).normalize();
        let down = axis.cross(&line.direction);
        let down = if down.z < 0.0 { -down } else { down };
        Self { origin: line.point, axis, along: line.direction, down }
    }

    fn moved(&self, circle: &Circle, by: &Move) -> Circle {
        let turn = self.along * by[3] + self.down * by[4];
        Circle {
            centre: circle.centre + self.axis * by[0] + self.along * by[1] + self.down * by[2],
            normal: (circle.normal + turn.cross(&circle.normal)).normalize(),
            radius: circle.radius,
        }
    }
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
    // Only the photo with the most marks: a plane that is off by a gap puts the others' elsewhere.
    let photo = (0..start.used.len()).max_by_key(|&k| marks.iter().filter(|m| m.photo == k).count())?;
    let view = View::of(state, photo);
    let flat: Vec<Vec2> = marks
        .iter()
        .filter(|m| m.photo == photo)
        .filter_map(|m| {
            let (ray, centre) = (view.ray(&m.at), view.place());
            let s = (frame.origin - centre).dot(&frame.axis) / ray.dot(&frame.axis);
            let d = centre + ray * s - frame.origin;
            (s > 0.0).then(|| Vec2::new(d.dot(&frame.along), d.dot(&frame.down)))
        })
        .collect();
    let centre = fixed_radius_centre(&flat, radius)?;
    let centre = frame.origin + frame.along * centre.x + frame.down * centre.y;
    Some(Circle { centre, normal: frame.axis, radius })
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

/// How finely the five numbers are tried: largest value and number of steps to each side.
struct Grid {
    each: [(f64, i32); 5],
    /// How near the circle must come to an edge to count it, px (standard deviation).
    nearness: f64,
}

const NONE: (f64, i32) = (0.0, 0);
const COARSE: Grid = Grid { each: [(2.0, 14), (3.0, 10), (3.0, 10), NONE, NONE], nearness: 1.8 };
const MIDDLE: Grid = Grid { each: [(0.6, 6), (1.0, 5), (1.0, 5), NONE, NONE], nearness: 1.2 };
const TILTED: Grid =
    Grid { each: [(0.9, 9), (0.9, 3), (0.9, 3), (0.03, 4), (0.012, 2)], nearness: 1.5 };
const FINE: Grid =
    Grid { each: [(0.15, 3), (0.3, 2), (0.3, 2), (0.006, 2), (0.004, 2)], nearness: 0.8 };

/// A place on the projected circle: the edges across it, and how each of the five numbers moves it across, px.
struct Place {
    edges: Vec<Ridge>,
    by: Move,
}

/// Where a mark lies from the projected circle, px across, and how the numbers move the circle there.
struct MarkGap {
    away: f64,
    by: Move,
}

struct Search<'a> {
    photos: &'a [Observed],
    start: &'a Start,
    state: &'a JointState,
    frame: &'a Frame,
    marks: &'a [EdgeSight],
}

impl Search<'_> {
    /// The best circle on a grid about a start, judged by the photos taken.
    fn best(
        &self,
        circle: Circle,
        take: impl Fn(usize) -> bool,
        reach: f64,
        grid: &Grid,
    ) -> Result<Circle, Error> {
        let range = self.arc(&circle).ok_or_else(lost)?;
        let places: Vec<Vec<Place>> = (0..self.start.used.len())
            .filter(|&k| take(k))
            .map(|k| self.places(k, &circle, range, reach))
            .filter(|places| places.len() >= PIECES / 2)
            .collect();
        if places.is_empty() {
            return Err(lost());
        }
        let marks = self.mark_gaps(&circle);
        let mut best = (f64::NEG_INFINITY, [0.0; 5]);
        each_move(grid, &mut |by| {
            let score = score(&places, by, grid.nearness) - mark_cost(&marks, by);
            if score > best.0 {
                best = (score, *by);
            }
        });
        Ok(self.frame.moved(&circle, &best.1))
    }

    /// Slides the circle along the lines of sight of a marked photo, tilting it, until the others show it as well.
    fn across_views(&self, circle: Circle, marked: impl Fn(usize) -> bool) -> Result<Circle, Error> {
        let range = self.arc(&circle).ok_or_else(lost)?;
        let Some(photo) = (0..self.start.used.len()).find(|&k| marked(k)) else { return Err(lost()) };
        let view = View::of(self.state, photo);
        let curve: Vec<Vec2> = (0..=12)
            .filter_map(|i| {
                let t = range.0 + (range.1 - range.0) * f64::from(i) / 12.0;
                view.see(&(circle.centre + circle.radial(t) * circle.radius))
            })
            .collect();
        let middle = circle.centre + circle.radial((range.0 + range.1) / 2.0) * circle.radius;
        let sight = (middle - view.place()).normalize();
        let mut best: Option<(f64, Circle)> = None;
        for tilt in -6..=6 {
            for depth in -24..=24 {
                let mut guess = self.frame.moved(&circle, &[0.0, 0.0, 0.0, f64::from(tilt) * 0.008, 0.0]);
                guess.centre += sight * (f64::from(depth) * 0.5);
                let Some(guess) = self.back_onto(guess, photo, &curve) else { continue };
                let score: f64 = (0..self.start.used.len())
                    .filter(|&k| !marked(k))
                    .map(|k| self.places(k, &guess, range, 4.0))
                    .map(|places| if places.len() < PIECES / 2 { 0.0 } else { score(&[places], &[0.0; 5], 1.5) })
                    .sum();
                if best.is_none_or(|b| score > b.0) {
                    best = Some((score, guess));
                }
            }
        }
        best.map(|b| b.1).ok_or_else(lost)
    }

    /// Moves a circle along the edge and down, and a little along the axis, until a photo shows it on a curve again.
    fn back_onto(&self, mut circle: Circle, photo: usize, curve: &[Vec2]) -> Option<Circle> {
        for _ in 0..4 {
            let gaps = self.gaps(photo, &circle, curve.iter())?;
            let (mut normal, mut right) = (nalgebra::Matrix3::identity() * 1e-6, Vec3::zeros());
            for gap in &gaps {
                let row = Vec3::new(gap.by[0], gap.by[1], gap.by[2]);
                normal += row * row.transpose();
                right += row * gap.away;
            }
            // Depth along the line of sight is what is being tried: it is held by a weak pull to stay.
            normal += nalgebra::Matrix3::identity() * 0.5;
            let step = normal.try_inverse()? * right;
            circle = self.frame.moved(&circle, &[step.x, step.y, step.z, 0.0, 0.0]);
        }
        let rest = self.gaps(photo, &circle, curve.iter())?;
        let rms = (rest.iter().map(|g| g.away * g.away).sum::<f64>() / rest.len() as f64).sqrt();
        (rms < 2.0).then_some(circle)
    }

    fn places(&self, k: usize, circle: &Circle, range: (f64, f64), reach: f64) -> Vec<Place> {
        let view = View::of(self.state, k);
        let at = |t: f64| circle.centre + circle.radial(t) * circle.radius;
        // The axis shows well in a view that shows the gap; the radius may point at the camera.
        let Some(pieces) = view.pieces(range, PIECES, at, |t| at(t) + circle.normal) else { return Vec::new() };
        let picture = &self.photos[self.start.used[k]].picture;
        pieces
            .iter()
            .filter_map(|piece| {
                let mut guess = piece.guess;
                guess.length = guess.length.min(16.0);
                let mut edges = StepProfile::measure(picture, &guess, reach)?.ridges();
                if let Some(offset) = self.mount_offset(&view, &guess.at, &guess.side) {
                    edges.retain(|edge| (edge.offset - offset).abs() > MOUNT_WIDTH);
                }
                Some(Place { edges, by: self.moves_across(&view, circle, piece.t, &guess.side)? })
            })
            .collect()
    }

    /// Where the mount's edge crosses the normal of a place, px.
    fn mount_offset(&self, view: &View, at: &Vec2, side: &Vec2) -> Option<f64> {
        let line = self.state.line.as_ref()?;
        let (a, b) = (view.see(&(line.point - line.direction * 20.0))?, view.see(&(line.point + line.direction * 20.0))?);
        let along = (b - a).normalize();
        let across = Vec2::new(-along.y, along.x);
        let slope = side.dot(&across);
        (slope.abs() > 0.3).then(|| (a - at).dot(&across) / slope)
    }

    fn moves_across(&self, view: &View, circle: &Circle, t: f64, side: &Vec2) -> Option<Move> {
        let here = view.see(&(circle.centre + circle.radial(t) * circle.radius))?;
        let mut by = [0.0; 5];
        for (k, value) in by.iter_mut().enumerate() {
            let h = if k < 3 { 0.1 } else { 0.001 };
            let mut step = [0.0; 5];
            step[k] = h;
            let moved = self.frame.moved(circle, &step);
            let point = circle.centre + circle.radial(t) * circle.radius;
            let on = moved.centre + moved.radial(moved.angle_of(&point)) * moved.radius;
            *value = (view.see(&on)? - here).dot(side) / h;
        }
        Some(by)
    }

    fn mark_gaps(&self, circle: &Circle) -> Vec<MarkGap> {
        (0..self.start.used.len())
            .filter_map(|k| self.gaps(k, circle, self.marks.iter().filter(|m| m.photo == k).map(|m| &m.at)))
            .flatten()
            .collect()
    }

    fn gaps<'b>(
        &self,
        k: usize,
        circle: &Circle,
        pixels: impl Iterator<Item = &'b Vec2>,
    ) -> Option<Vec<MarkGap>> {
        let view = View::of(self.state, k);
        pixels
            .map(|pixel| {
                let (near, side) = self.nearest(k, circle, pixel)?;
                let away = (pixel - view.see(&near.point)?).dot(&side);
                Some(MarkGap { away, by: self.moves_across(&view, circle, near.t, &side)? })
            })
            .collect()
    }

    fn nearest(&self, k: usize, circle: &Circle, pixel: &Vec2) -> Option<(CurvePoint, Vec2)> {
        let view = View::of(self.state, k);
        let (ray, centre) = (view.ray(pixel), view.place());
        let s = (circle.centre - centre).dot(&circle.normal) / ray.dot(&circle.normal);
        let t = circle.angle_of(&(centre + ray * s));
        let camera = self.state.camera_of(k);
        let pose = &self.state.photos[k].camera_from_fixed;
        let near = CurvePoint::nearest(circle, &camera, pose, pixel, &Vec2::new(1.0, 0.0), t)?;
        let normal = near.normal;
        Some((near, normal))
    }

    /// The arc that the marks reach over, rad.
    fn arc(&self, circle: &Circle) -> Option<(f64, f64)> {
        let angles: Vec<f64> =
            self.marks.iter().filter_map(|m| Some(self.nearest(m.photo, circle, &m.at)?.0.t)).collect();
        // Unwrap about the mean direction, so that an arc over the seam stays in one piece.
        let mean =
            angles.iter().map(|a| a.sin()).sum::<f64>().atan2(angles.iter().map(|a| a.cos()).sum());
        let turn = std::f64::consts::TAU;
        let unwrapped = angles.iter().map(|a| mean + (a - mean + turn / 2.0).rem_euclid(turn) - turn / 2.0);
        let (low, high) =
            unwrapped.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), a| (l.min(a), h.max(a)));
        (high - low > 0.05).then_some((low, high))
    }

    /// Points of the circle in every photo, for the rough solve.
    fn points(&self, circle: &Circle, range: (f64, f64)) -> Vec<EdgeSight> {
        let at = |t: f64| circle.centre + circle.radial(t) * circle.radius;
        (0..self.start.used.len())
            .filter_map(|k| {
                let view = View::of(self.state, k);
                let pieces = view.pieces(range, PIECES, at, |t| at(t) + circle.normal)?;
                Some(pieces.into_iter().map(move |piece| EdgeSight {
                    photo: k,
                    feature: FeatureId::Circle,
                    at: piece.guess.at,
                    side: piece.guess.side,
                    t: piece.t,
                    sigma_px: 2.0,
                }))
            })
            .flatten()
            .collect()
    }
}

fn each_move(grid: &Grid, visit: &mut impl FnMut(&Move)) {
    fn fill(grid: &Grid, k: usize, by: &mut Move, visit: &mut impl FnMut(&Move)) {
        if k == by.len() {
            visit(by);
            return;
        }
        let (most, steps) = grid.each[k];
        for i in -steps..=steps {
            by[k] = if steps == 0 { 0.0 } else { most * f64::from(i) / f64::from(steps) };
            fill(grid, k + 1, by, visit);
        }
    }
    fill(grid, 0, &mut [0.0; 5], visit);
}

/// How much of the moved circle is seen as an edge: mean over photos and places, 0 to 1. The step may change its
/// sign along the rim as the light does.
fn score(places: &[Vec<Place>], by: &Move, nearness: f64) -> f64 {
    let of_photo = |places: &Vec<Place>| {
        let seen: f64 = places
            .iter()
            .map(|place| {
                let offset: f64 = place.by.iter().zip(by).map(|(a, b)| a * b).sum();
                let credit = |edge: &Ridge| {
                    let away = (edge.offset - offset) / nearness;
                    let near = (1.0 - away * away / 4.0).max(0.0);
                    (edge.height / CLEAR_STEP).min(1.0) * near * near
                };
                place.edges.iter().map(credit).fold(0.0, f64::max)
            })
            .sum();
        seen / places.len().max(1) as f64
    };
    places.iter().map(of_photo).sum::<f64>() / places.len().max(1) as f64
}

fn mark_cost(marks: &[MarkGap], by: &Move) -> f64 {
    let cost: f64 = marks
        .iter()
        .map(|mark| {
            let moved: f64 = mark.by.iter().zip(by).map(|(a, b)| a * b).sum();
            ((mark.away - moved) / MARK_SIGMA).powi(2)
        })
        .sum();
    0.5 * MARK_WEIGHT * cost / marks.len().max(1) as f64
}
