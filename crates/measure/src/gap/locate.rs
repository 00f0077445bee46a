//! From rough marks to rough features: which edge each mark means, in every photo, and where it is in space.

use super::grid::Grid;
use super::locate_rim;
use super::movable::Frame;
use super::problem::{MOUNT_EDGE, Problem};
use super::seek::{Seek, mark_points};
use super::start::Start;
use super::view::{View, guesses_along};
use crate::Error;
use crate::observe::Observed;
use nalgebra::Matrix3;
use shimwright_detect::cores;
use shimwright_edge::{Hypothesis, SearchOptions, search};
use shimwright_geom::{Vec2, Vec3};
use shimwright_say::say;
use shimwright_solve::{EdgeSight, FeatureId, JointState, Line, Options};

/// How far a mark may be off, px, in a 12 megapixel photo or smaller.
const REACH: f64 = 14.0;
/// How far a mark is usually off, px.
const USUAL: f64 = 6.0;
/// Hypotheses kept of each marked photo.
const HYPOTHESES: usize = 4;
/// Heights above the card between which an edge is looked for when one photo only is marked, mm.
const HEIGHTS: (f64, f64) = (-30.0, 40.0);

/// How far above or below the card the mount's edge usually lies (standard deviation), mm: the card is stuck on the
/// mount beside it.
const USUAL_HEIGHT: f64 = 15.0;

/// Rough features and over which part of them the marks reach.
pub(crate) struct Rough {
    /// Where everything started.
    pub start: Start,
    /// Poses, lens and features.
    pub state: JointState,
    /// Reach of the mount's edge along the line, mm from its point.
    pub mount_range: (f64, f64),
    /// Reach of the rim, rad.
    pub rim_range: (f64, f64),
}

/// A marked photo: its index among the used ones, and what the search found in it.
struct Marked {
    photo: usize,
    path: Vec<Vec2>,
    found: Vec<Hypothesis>,
}

impl Marked {
    /// The two ends of the edge by a hypothesis, px.
    fn ends(&self, hypothesis: &Hypothesis) -> [Vec2; 2] {
        let guesses = guesses_along(&self.path);
        let (first, last) = (guesses[0], guesses[guesses.len() - 1]);
        [
            first.at + first.side * hypothesis.offset(0.0),
            last.at + last.side * hypothesis.offset(1.0),
        ]
    }
}

/// Finds the mount's edge and the rim from the marks.
pub(crate) fn features(problem: &Problem, photos: &[Observed], start: Start) -> Result<Rough, Error> {
    let views: Vec<View> = (0..start.used.len()).map(|k| View::of(&start.state, k)).collect();
    let marked = search_mount(problem, photos, &start, &views)?;
    let line = best_line(problem, photos, &start, &views, &marked)?;
    let (line, mount_range) = centred(&line, &views, &marked);
    let mut state = start.state.clone();
    let mut rim_range = (0.0, 0.0);
    // Twice: which part of the mount's edge can be seen in a photo is only known once the rim is.
    for _ in 0..2 {
        state.line = Some(line);
        let edges = line_points(problem, photos, &start, &state, mount_range);
        state = solve_rough(
            problem,
            &start,
            &edges,
            JointState {
                circle: None,
                ..state
            },
        )?;
        (state, rim_range) = locate_rim::rim(problem, photos, &start, &edges, state)?;
    }
    Ok(Rough {
        start,
        state,
        mount_range,
        rim_range,
    })
}

/// Solves the joint problem with rough edge points.
pub(crate) fn solve_rough(
    problem: &Problem,
    start: &Start,
    edges: &[EdgeSight],
    state: JointState,
) -> Result<JointState, Error> {
    let options = Options {
        iterations: 30,
        relative_fall: 1e-6,
    };
    start
        .joint(problem, edges, &state)
        .solve(state.clone(), &options)
        .map(|s| s.state)
        .map_err(|error| {
            Error::unmeasurable(
                None,
                say!("the marked edges do not fit together ({error})"),
                say!("check that each mark lies on the same edge in every photo"),
            )
        })
}

fn search_mount(
    problem: &Problem,
    photos: &[Observed],
    start: &Start,
    views: &[View],
) -> Result<Vec<Marked>, Error> {
    let mut all = Vec::new();
    for (k, &i) in start.used.iter().enumerate() {
        let marks = &problem.marks[i].mount;
        if marks.len() < 2 {
            continue;
        }
        let (from, to) = farthest(marks);
        let count = (((to - from).norm() / 12.0) as usize).clamp(8, 80);
        let path = views[k].straight(&from, &to, count);
        let guesses = guesses_along(&path);
        let options = SearchOptions {
            reach: REACH,
            usual: USUAL,
            knots: 2,
            most: HYPOTHESES,
        };
        let found = search(&photos[i].picture, &guesses, &options);
        if found.is_empty() {
            return Err(Error::unmeasurable(
                Some(&photos[i].name),
                say!(
                    "no edge is found within {REACH:.0} px of mark `{MOUNT_EDGE}` in {}",
                    photos[i].name
                ),
                say!("put the mark nearer to the edge, or light the gap better"),
            ));
        }
        all.push(Marked {
            photo: k,
            path,
            found,
        });
    }
    Ok(all)
}

/// The two marks that lie farthest apart.
fn farthest(marks: &[Vec2]) -> (Vec2, Vec2) {
    let mut best = (marks[0], marks[1]);
    for a in marks {
        for b in marks {
            if (b - a).norm() > (best.1 - best.0).norm() {
                best = (*a, *b);
            }
        }
    }
    best
}

/// The plane through the camera that a picture line spans: its normal in the fixed frame.
fn plane_normal(view: &View, ends: &[Vec2; 2]) -> Vec3 {
    view.ray(&ends[0]).cross(&view.ray(&ends[1])).normalize()
}

/// The most convincing line in space over all hypotheses.
fn best_line(
    problem: &Problem,
    photos: &[Observed],
    start: &Start,
    views: &[View],
    marked: &[Marked],
) -> Result<Line, Error> {
    let candidates = match marked {
        [only] => from_one_view(problem, photos, start, views, only),
        several => from_several_views(photos, start, views, several),
    };
    candidates.into_iter().max_by(|a, b| a.1.total_cmp(&b.1)).map(|(line, _)| line).ok_or_else(|| {
        Error::unmeasurable(
            None,
            say!("the mount's edge is seen from nearly the same side in all photos, so its place in space stays open"),
            say!("take another photo from further left or right"),
        )
    })
}

/// Lines that meet the plane of each marked view, scored by the hypotheses and by the photos without marks.
fn from_several_views(
    photos: &[Observed],
    start: &Start,
    views: &[View],
    marked: &[Marked],
) -> Vec<(Line, f64)> {
    let mut candidates = Vec::new();
    let mut choice = vec![0usize; marked.len()];
    loop {
        let picked: Vec<_> = marked
            .iter()
            .zip(&choice)
            .map(|(m, &c)| (m, &m.found[c]))
            .collect();
        if let Some((line, misfit)) = meet(views, &picked) {
            let own: f64 = picked.iter().map(|(_, h)| h.score).sum();
            let others = score_elsewhere(photos, start, views, marked, &line);
            // Marked views that cannot meet in one line pull the score down: misfit is in px.
            candidates.push((line, (own + others) / (1.0 + (misfit / 2.0).powi(2))));
        }
        let Some(k) = (0..choice.len()).find(|&k| choice[k] + 1 < marked[k].found.len().min(3)) else {
            break;
        };
        choice[k] += 1;
        choice[..k].fill(0);
    }
    candidates
}

/// The line nearest to the planes of several views, and the rms distance in px by which they miss it.
fn meet(views: &[View], picked: &[(&Marked, &Hypothesis)]) -> Option<(Line, f64)> {
    let planes: Vec<(Vec3, Vec3)> = picked
        .iter()
        .map(|(m, h)| (plane_normal(&views[m.photo], &m.ends(h)), views[m.photo].place()))
        .collect();
    let scatter: Matrix3<f64> = planes.iter().map(|(n, _)| n * n.transpose()).sum();
    let eigen = scatter.symmetric_eigen();
    let mut order = [0, 1, 2];
    order.sort_by(|&a, &b| eigen.eigenvalues[a].total_cmp(&eigen.eigenvalues[b]));
    // Two views whose planes nearly coincide leave the line free; 0.002 is a squared angle of 2.6 degrees.
    if eigen.eigenvalues[order[1]] < 0.002 {
        return None;
    }
    let direction: Vec3 = eigen.eigenvectors.column(order[0]).into_owned().normalize();
    let right: Vec3 = planes.iter().map(|(n, c)| n * n.dot(c)).sum();
    let system = scatter + direction * direction.transpose();
    let point = system.try_inverse()? * right;
    let (m, h) = picked[0];
    let near = nearest_on(&Line { point, direction }, &views[m.photo], &m.ends(h)[0]);
    let line = Line {
        point: near,
        direction,
    };
    let mut squares = 0.0;
    for (m, h) in picked {
        for end in m.ends(h) {
            let on = nearest_on(&line, &views[m.photo], &end);
            squares += (views[m.photo].see(&on)? - end).norm_squared();
        }
    }
    Some((line, (squares / (2.0 * picked.len() as f64)).sqrt()))
}

/// The point of a line nearest to the ray of a pixel.
fn nearest_on(line: &Line, view: &View, pixel: &Vec2) -> Vec3 {
    let (ray, centre) = (view.ray(pixel), view.place());
    let w = line.point - centre;
    let b = line.direction.dot(&ray);
    let t = (b * ray.dot(&w) - line.direction.dot(&w)) / (1.0 - b * b).max(1e-9);
    line.point + line.direction * t
}

/// Lines in the plane of the one marked view, at every height, scored by the other photos; or at the stated height.
fn from_one_view(
    problem: &Problem,
    photos: &[Observed],
    start: &Start,
    views: &[View],
    marked: &Marked,
) -> Vec<(Line, f64)> {
    let view = &views[marked.photo];
    let at_height = |pixel: &Vec2, height: f64| {
        let (ray, centre) = (view.ray(pixel), view.place());
        let s = (-height - centre.z) / ray.z;
        (s > 0.0).then(|| centre + ray * s)
    };
    let stated = problem.height.as_ref().and_then(|h| h.of(MOUNT_EDGE));
    let heights = match stated.filter(|_| views.len() == 1) {
        Some(height) => vec![(height.value, height.value)],
        None => heights_to_try(),
    };
    let at_heights = |i: usize| {
        let hypothesis = &marked.found[i / heights.len()];
        let (ends, (a, b)) = (marked.ends(hypothesis), heights[i % heights.len()]);
        let (p, q) = (at_height(&ends[0], a)?, at_height(&ends[1], b)?);
        if (q - p).norm() < 1.0 {
            return None;
        }
        let line = Line {
            point: p,
            direction: (q - p).normalize(),
        };
        let others = score_between(photos, start, views, marked.photo, &p, &q);
        let away = (0.5 * (a + b) / USUAL_HEIGHT).powi(2);
        Some((line, (hypothesis.score + others) * (-0.5 * away).exp()))
    };
    let tried = cores::map(marked.found.len() * heights.len(), 32, at_heights);
    tried.into_iter().flatten().collect()
}

/// Heights of a line's two ends above the card that are tried, mm.
fn heights_to_try() -> Vec<(f64, f64)> {
    let steps = ((HEIGHTS.1 - HEIGHTS.0) / 0.4) as i32;
    let tilted = |i: i32| {
        let height = HEIGHTS.0 + 0.4 * f64::from(i);
        let ends = move |tilt: i32| {
            let half = 0.5 * f64::from(tilt);
            (height - half, height + half)
        };
        (-2..=2).map(ends)
    };
    (0..=steps).flat_map(tilted).collect()
}

/// How well the photos without marks show an edge where a line would lie.
fn score_elsewhere(
    photos: &[Observed],
    start: &Start,
    views: &[View],
    marked: &[Marked],
    line: &Line,
) -> f64 {
    let m = &marked[0];
    let ends = m
        .ends(&m.found[0])
        .map(|end| nearest_on(line, &views[m.photo], &end));
    (0..views.len())
        .filter(|k| marked.iter().all(|m| m.photo != *k))
        .map(|k| score_in(photos, start, views, k, &ends[0], &ends[1]))
        .sum()
}

fn score_between(
    photos: &[Observed],
    start: &Start,
    views: &[View],
    but: usize,
    from: &Vec3,
    to: &Vec3,
) -> f64 {
    (0..views.len())
        .filter(|&k| k != but)
        .map(|k| score_in(photos, start, views, k, from, to))
        .sum()
}

/// Edge strength along a segment in space as one photo shows it; 0 when it is not in view.
fn score_in(photos: &[Observed], start: &Start, views: &[View], k: usize, from: &Vec3, to: &Vec3) -> f64 {
    let (Some(a), Some(b)) = (views[k].see(from), views[k].see(to)) else {
        return 0.0;
    };
    let path = views[k].straight(&a, &b, 14);
    let mut guesses = guesses_along(&path);
    for guess in &mut guesses {
        guess.length = guess.length.min(10.0);
    }
    let options = SearchOptions {
        reach: 1.0,
        usual: 2.0,
        knots: 2,
        most: 1,
    };
    search(&photos[start.used[k]].picture, &guesses, &options)
        .first()
        .map_or(0.0, |h| h.score)
}

/// The line with its point in the middle of what was marked, and the marks' reach from it, mm.
fn centred(line: &Line, views: &[View], marked: &[Marked]) -> (Line, (f64, f64)) {
    let along: Vec<f64> = marked
        .iter()
        .flat_map(|m| {
            m.ends(&m.found[0])
                .map(|end| (nearest_on(line, &views[m.photo], &end) - line.point).dot(&line.direction))
        })
        .collect();
    let low = along.iter().copied().fold(f64::INFINITY, f64::min);
    let high = along.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let middle = (low + high) / 2.0;
    let line = Line {
        point: line.point + line.direction * middle,
        direction: line.direction,
    };
    (line, (low - middle, high - middle))
}

/// Looks for the line in all photos at once and gives rough points of it.
fn line_points(
    problem: &Problem,
    photos: &[Observed],
    start: &Start,
    state: &JointState,
    range: (f64, f64),
) -> Vec<EdgeSight> {
    let Some(line) = state.line else { return Vec::new() };
    let frame = Frame::of(&line);
    let marks = mark_points(problem, start, FeatureId::Line);
    let seek = Seek {
        photos,
        start,
        state,
        frame: &frame,
        marks: &marks,
    };
    let (better, left_out) = without_the_worst(&seek, &line, range);
    let best = seek
        .best(&better, |k| Some(k) != left_out, range, 6.0, &FINE)
        .map_or(better, |b| b.0);
    let mut points = seek.points(&best, range);
    points.retain(|p| Some(p.photo) != left_out);
    points
}

/// The best line, and the photo that was left out for it: one from the side of the wheel may show the edge hidden
/// behind the rim, and which one does is not known before the rim is.
fn without_the_worst(seek: &Seek, line: &Line, range: (f64, f64)) -> (Line, Option<usize>) {
    let best = |left_out: Option<usize>| seek.best(line, |k| Some(k) != left_out, range, 16.0, &COARSE);
    let count = seek.start.used.len();
    let mut found = (best(None), None);
    if count >= 3 && seek.state.circle.is_none() {
        for k in 0..count {
            let other = best(Some(k));
            let score = |b: &Option<(Line, f64)>| b.as_ref().map_or(f64::NEG_INFINITY, |b| b.1);
            if score(&other) * LEFT_OUT > score(&found.0) {
                found = (other, Some(k));
            }
        }
    }
    (found.0.map_or(*line, |b| b.0), found.1)
}

/// A line that leaves a photo out must be seen that much better in the others.
const LEFT_OUT: f64 = 0.85;

const NONE: (f64, i32) = (0.0, 0);
const COARSE: Grid = Grid {
    each: [(1.0, 8), NONE, (3.0, 10), (0.06, 5), (0.03, 5)],
    nearness: 1.6,
};
const FINE: Grid = Grid {
    each: [(0.15, 3), NONE, (0.3, 3), (0.012, 3), (0.006, 3)],
    nearness: 0.8,
};
