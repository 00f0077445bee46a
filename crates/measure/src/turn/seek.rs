//! Which edge is the rim: a circle about the axis that all photos show, near the marks or of the stated size.
//!
//! The axis is known from the targets, so a circle about it has few numbers: its height along the axis, its radius, and
//! a little eccentricity. Edges are looked for along the circle in every photo at once. Photos from slightly different
//! sides tell its height apart from its radius; rings of other sizes at other heights do not fit them all.

use super::problem::{Problem, RIM_EDGE};
use super::start::Start;
use crate::Error;
use crate::gap::view::{View, guess_between};
use crate::observe::Observed;
use shimwright_edge::{Ridge, StepProfile};
use shimwright_geom::{Vec2, Vec3};
use shimwright_say::say;
use shimwright_solve::Circle;

/// Places around the circle that are looked at.
const PLACES: usize = 36;
/// Length along the edge that is looked at, px.
const LENGTH: f64 = 12.0;
/// Heights against the turning target between which the rim is looked for, and their distance, mm.
const HEIGHTS: (f64, f64) = (-24.0, 24.0);
const HEIGHT_STEP: f64 = 1.0;
/// How far the height of a rim usually lies from that of the target (standard deviation), mm.
const USUAL_HEIGHT: f64 = 15.0;
/// How far marks may be off, and usually are (standard deviation), px.
const MARK_REACH: f64 = 14.0;
const MARK_USUAL: f64 = 6.0;
/// How far a stated diameter may be off, as a share of the radius: another drawing, a worn rim.
const STATED_REACH: f64 = 0.006;
/// A step of encoded brightness this high above its neighbourhood is as good as any (0 to 1).
const CLEAR_STEP: f64 = 0.10;
/// Share of the circle that must be seen as an edge.
const LEAST_SEEN: f64 = 0.25;
/// Without marks, a second circle that is seen nearly as well (share of the best) leaves the choice open.
const TOO_ALIKE: f64 = 0.9;
/// Circles whose radii or heights differ by more than these are different ones, mm.
const OTHER_RADIUS: f64 = 0.5;
const OTHER_HEIGHT: f64 = 4.0;

/// Shift across the axis (2), growth of the radius and shift along the axis, mm.
type Move = [f64; 4];

/// A circle about the axis.
#[derive(Clone, Copy, Debug)]
struct Ring {
    /// Its height along the axis from the turning target, into the paper, mm.
    height: f64,
    radius: f64,
    /// Its centre off the axis, in the axis frame of the wheel, mm.
    off: Vec2,
}

impl Ring {
    fn moved(&self, by: &Move) -> Self {
        Self {
            height: self.height + by[3],
            radius: self.radius + by[2],
            off: self.off + Vec2::new(by[0], by[1]),
        }
    }

    /// The point at an angle, axis frame of the wheel.
    fn at(&self, angle: f64) -> Vec3 {
        let (sin, cos) = angle.sin_cos();
        Vec3::new(
            self.off.x + self.radius * cos,
            self.off.y + self.radius * sin,
            self.height,
        )
    }
}

/// A place on the projected circle: the edges across it, and how each number moves it across, px.
struct Place {
    edges: Vec<Ridge>,
    by: Move,
}

/// Finds the rim, roughly: to a pixel or two.
pub(crate) fn rim(problem: &Problem, photos: &[Observed], start: &Start) -> Result<Circle, Error> {
    let seek = Seek::new(problem, photos, start);
    let first = seek.best_height().ok_or_else(|| seek.lost())?;
    let mut found = first;
    for grid in [&MIDDLE, &FINE] {
        found = seek.best(&found, grid, 5.0).ok_or_else(|| seek.lost())?.0;
    }
    let seen = seek.seen(&found);
    if seen < LEAST_SEEN {
        return Err(seek.lost());
    }
    let axis = start.state.turning_from_axis;
    Ok(Circle {
        centre: axis.point(&Vec3::new(found.off.x, found.off.y, found.height)),
        normal: axis.direction(&Vec3::z()),
        radius: found.radius,
    })
}

/// How finely the four numbers are tried: largest value and steps to each side; how near the circle must come to an edge
/// to count it, px.
struct Grid {
    each: [(f64, i32); 4],
    nearness: f64,
}

const MIDDLE: Grid = Grid {
    each: [(0.4, 4), (0.4, 4), (0.6, 6), (1.0, 2)],
    nearness: 1.5,
};
const FINE: Grid = Grid {
    each: [(0.08, 2), (0.08, 2), (0.12, 3), (0.6, 2)],
    nearness: 0.8,
};

struct Seek<'a> {
    photos: &'a [Observed],
    start: &'a Start,
    /// Marks with the photo that carries them, counted in `used`.
    marks: Vec<(usize, Vec2)>,
    stated: Option<f64>,
    /// Views onto the axis frame of the wheel.
    views: Vec<View>,
}

impl<'a> Seek<'a> {
    fn new(problem: &Problem, photos: &'a [Observed], start: &'a Start) -> Self {
        let state = &start.state;
        let of_photo = |(k, &i): (usize, &usize)| problem.marks[i].iter().map(move |at| (k, *at));
        Self {
            photos,
            start,
            marks: start.used.iter().enumerate().flat_map(of_photo).collect(),
            stated: problem.stated_radius(),
            views: (0..start.used.len())
                .map(|k| {
                    View::new(
                        state.camera_of(k),
                        state.camera_from_turning(k) * state.turning_from_axis,
                    )
                })
                .collect(),
        }
    }

    fn lost(&self) -> Error {
        if self.marks.is_empty() {
            let radius = self.stated.unwrap_or_default();
            return Error::unmeasurable(
                Some("drive.rim_diameter"),
                say!("no rim of {:.1} mm diameter is seen about the axis", 2.0 * radius),
                say!("mark `{RIM_EDGE}` in one photo, check the diameter, and light the rim from the side"),
            );
        }
        Error::unmeasurable(
            None,
            say!("no rim about the axis fits the marks `{RIM_EDGE}`"),
            say!("mark three places of the rim, well apart, and check the rim diameter"),
        )
    }

    /// The best circle over all heights.
    fn best_height(&self) -> Option<Ring> {
        let steps = ((HEIGHTS.1 - HEIGHTS.0) / HEIGHT_STEP) as i32;
        let heights: Vec<f64> = (0..=steps)
            .map(|i| HEIGHTS.0 + HEIGHT_STEP * f64::from(i))
            .collect();
        let half = heights.len().div_ceil(2);
        let judge = |heights: &[f64]| -> Vec<(Ring, f64)> {
            heights.iter().filter_map(|h| self.at_height(*h)).collect()
        };
        let found: Vec<(Ring, f64)> = std::thread::scope(|scope| {
            let threads: Vec<_> = heights
                .chunks(half)
                .map(|part| scope.spawn(move || judge(part)))
                .collect();
            threads
                .into_iter()
                // Half of the heights must not be missed in silence.
                .flat_map(|t| t.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
                .collect()
        });
        let best = found.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        let other = |ring: &Ring| {
            (ring.radius - best.0.radius).abs() > OTHER_RADIUS
                || (ring.height - best.0.height).abs() > OTHER_HEIGHT
        };
        let rival = found
            .iter()
            .filter(|(ring, _)| other(ring))
            .map(|f| f.1)
            .fold(0.0, f64::max);
        (!self.marks.is_empty() || rival < TOO_ALIKE * best.1).then_some(best.0)
    }

    /// The best circle at one height, with its score.
    fn at_height(&self, height: f64) -> Option<(Ring, f64)> {
        let marked = self.radius_by_marks(height);
        let per_mm = self.pixels_per_mm(height)?;
        let (radius, reach) = match (marked, self.stated) {
            (Some(radius), _) => (radius, MARK_REACH / per_mm),
            (None, Some(radius)) => (radius, (STATED_REACH * radius).max(1.5 / per_mm)),
            (None, None) => return None,
        };
        let ring = Ring {
            height,
            radius,
            off: Vec2::zeros(),
        };
        let steps = (reach * per_mm).ceil();
        let grid = Grid {
            each: [(0.0, 0), (0.0, 0), (reach, steps as i32), (0.0, 0)],
            nearness: 2.5,
        };
        let (found, seen) = self.best(&ring, &grid, reach * per_mm)?;
        let mark = marked.map_or(0.0, |radius| (found.radius - radius) * per_mm / MARK_USUAL);
        let stated = self
            .stated
            .map_or(0.0, |stated| (found.radius - stated) / (0.01 * stated));
        let away = height / USUAL_HEIGHT;
        Some((
            found,
            seen * (-0.5 * away * away - 0.25 * mark * mark - 0.5 * stated * stated).exp(),
        ))
    }

    /// Median radius at which the marks lie when they are taken to be at a height.
    fn radius_by_marks(&self, height: f64) -> Option<f64> {
        let mut radii: Vec<f64> = self
            .marks
            .iter()
            .filter_map(|(k, at)| {
                let (ray, eye) = (self.views[*k].ray(at), self.views[*k].place());
                let s = (height - eye.z) / ray.z;
                (s > 0.0).then(|| (eye + ray * s).xy().norm())
            })
            .collect();
        radii.sort_by(f64::total_cmp);
        radii.get(radii.len() / 2).copied()
    }

    /// Scale of the photos at the axis, px a mm.
    fn pixels_per_mm(&self, height: f64) -> Option<f64> {
        let centre = Vec3::z() * height;
        let view = self.views.first()?;
        Some((view.see(&(centre + Vec3::x()))? - view.see(&centre)?).norm())
    }

    /// The best circle on a grid about a start, with the share of it that is seen.
    fn best(&self, ring: &Ring, grid: &Grid, reach: f64) -> Option<(Ring, f64)> {
        let places = self.places(ring, reach + 2.0);
        if places.iter().map(Vec::len).sum::<usize>() < PLACES / 2 * self.views.len() {
            return None;
        }
        let mut best = ([0.0; 4], f64::NEG_INFINITY);
        each_move(grid, &mut |by| {
            let seen = score(&places, by, grid.nearness);
            if seen > best.1 {
                best = (*by, seen);
            }
        });
        Some((ring.moved(&best.0), best.1))
    }

    fn seen(&self, ring: &Ring) -> f64 {
        score(&self.places(ring, 4.0), &[0.0; 4], 1.5)
    }

    fn places(&self, ring: &Ring, reach: f64) -> Vec<Vec<Place>> {
        (0..self.views.len())
            .map(|k| self.places_in(k, ring, reach))
            .collect()
    }

    fn places_in(&self, k: usize, ring: &Ring, reach: f64) -> Vec<Place> {
        let picture = &self.photos[self.start.used[k]].picture;
        let see = |ring: &Ring, angle: f64| self.views[k].see(&ring.at(angle));
        let step = std::f64::consts::TAU / PLACES as f64;
        (0..PLACES)
            .filter_map(|i| {
                let angle = step * i as f64;
                let at = see(ring, angle)?;
                let outward = see(&ring.moved(&[0.0, 0.0, 0.5, 0.0]), angle)? - at;
                let mut guess = guess_between(
                    &see(ring, angle - 0.02)?,
                    &at,
                    &see(ring, angle + 0.02)?,
                    &outward,
                );
                guess.length = LENGTH;
                let mut by = [0.0; 4];
                for (n, slope) in by.iter_mut().enumerate() {
                    let mut move_by = [0.0; 4];
                    move_by[n] = 0.1;
                    *slope = (see(&ring.moved(&move_by), angle)? - at).dot(&guess.side) / 0.1;
                }
                let edges = StepProfile::measure(picture, &guess, reach)?.ridges();
                Some(Place { edges, by })
            })
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
            by[k] = if steps == 0 {
                0.0
            } else {
                most * f64::from(i) / f64::from(steps)
            };
            fill(grid, k + 1, by, visit);
        }
    }
    fill(grid, 0, &mut [0.0; 4], visit);
}

/// How much of the moved circle is seen as an edge: mean over photos and places, 0 to 1.
fn score(places: &[Vec<Place>], by: &Move, nearness: f64) -> f64 {
    let of_place = |place: &Place| {
        let offset: f64 = place.by.iter().zip(by).map(|(a, b)| a * b).sum();
        let credit = |edge: &Ridge| {
            let away = (edge.offset - offset) / nearness;
            let near = (1.0 - away * away / 4.0).max(0.0);
            (edge.height / CLEAR_STEP).min(1.0) * near * near
        };
        place.edges.iter().map(credit).fold(0.0, f64::max)
    };
    let of_photo =
        |places: &Vec<Place>| places.iter().map(of_place).sum::<f64>() / places.len().max(1) as f64;
    places.iter().map(of_photo).sum::<f64>() / places.len().max(1) as f64
}
