//! From circles near the marks to the edges that are meant: where the light steps along them in all photos.

use super::problem::Problem;
use super::start::{facing, nearest};
use crate::Error;
use crate::gap::view::{Piece, View};
use crate::observe::Observed;
use crate::outline::{ChamferLight, Edge, Ridges, around, shows_face};
use crate::scene::Scene;
use shimwright_geom::Vec3;
use shimwright_say::say;
use shimwright_solve::{Circle, Shape};
use std::f64::consts::{PI, TAU};

/// How far from the circle through all its marks an edge may lie, and usually does, px of a picture 2816 px wide: a dozen
/// marks, each some pixels off, leave their circle that far off.
const REACH: f64 = 12.0;
const USUAL: f64 = 3.5;
/// Places looked at along an arc.
const PLACES: usize = 48;
/// Least arc that all photos' marks of an edge share, rad.
const LEAST_ARC: f64 = 0.4;
/// Least cosine between a rim's outward direction and the way to the camera: nearer to its end an arc is seen too slanted.
const LEAST_FACING: f64 = 0.15;
/// Step in which the ends of an arc are looked at, rad.
const ARC_STEP: f64 = 0.02;
/// How far a chamfer's light is from that of the rim beside it, as a share: the same metal, turned by 45 degrees.
const CHAMFER_LIGHT: f64 = 0.3;
/// A photo that shows nothing must not decide alone.
const UNSEEN: f64 = 0.01;
/// Steps of the last search, px.
const FIRST_STEP: f64 = 1.0;
const LAST_STEP: f64 = 0.1;

/// Curves near their places, and how they show.
pub(super) struct Found {
    pub shapes: Vec<Shape>,
    pub edges: Vec<Edge>,
}

/// Finds the edges.
pub(super) fn edges(
    problem: &Problem,
    scene: &Scene,
    photos: &[Observed],
    marked: &[Circle],
) -> Result<Found, Error> {
    let mut found = Found {
        shapes: vec![],
        edges: vec![],
    };
    for (curve, circle) in marked.iter().enumerate() {
        let edge = Edge {
            range: arc(problem, scene, curve, circle)?,
            across: (Vec3::zeros(), Vec3::zeros()),
            chamfer: (0.0, 0.0),
            aside: true,
            only_in: None,
            light: ChamferLight::OfRim(CHAMFER_LIGHT),
        };
        let shape = Shape::Circle(*circle);
        let sought = Sought::new(scene, photos, shape, edge);
        found.shapes.push(sought.brightest());
        found.edges.push(edge);
    }
    Ok(found)
}

/// The arc between the marks' ends that all marked photos share: circle angles.
fn arc(problem: &Problem, scene: &Scene, curve: usize, circle: &Circle) -> Result<(f64, f64), Error> {
    let mut shared: Option<(f64, f64)> = None;
    let mut about = None;
    for (k, &i) in scene.used.iter().enumerate() {
        let view = View::of(&scene.state, k);
        let angles: Vec<f64> = problem.marks[i][curve]
            .iter()
            .filter_map(|mark| nearest(&view, circle, mark))
            .map(|(t, _)| t)
            .collect();
        let Some(first) = angles.first() else { continue };
        let about = *about.get_or_insert(*first);
        // As near to the first angle as may be, so that no arc jumps by a turn.
        let turned = angles
            .iter()
            .map(|t| about + (t - about + PI).rem_euclid(TAU) - PI);
        let ends = turned.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), t| {
            (low.min(t), high.max(t))
        });
        let before = shared.unwrap_or(ends);
        shared = Some((before.0.max(ends.0), before.1.min(ends.1)));
    }
    match shared.map(|shared| in_view(scene, circle, shared)) {
        Some((from, to)) if to - from > LEAST_ARC => Ok((from, to)),
        _ => Err(Error::unmeasurable(
            None,
            say!(
                "the marks of the edge `{}` share less than {:.0} degrees of its circle in all photos",
                problem.names[curve],
                LEAST_ARC.to_degrees()
            ),
            say!(
                "spread the points along all of the edge that is in view, and over the same stretch in every photo"
            ),
        )),
    }
}

/// An arc without those of its ends that turn away from the camera in any photo.
fn in_view(scene: &Scene, circle: &Circle, (mut from, mut to): (f64, f64)) -> (f64, f64) {
    let turned_away =
        |t: f64| (0..scene.used.len()).any(|k| facing(&View::of(&scene.state, k), circle, t) < LEAST_FACING);
    while from < to && turned_away(from) {
        from += ARC_STEP;
    }
    while from < to && turned_away(to) {
        to -= ARC_STEP;
    }
    (from, to)
}

/// What the photos show about one curve.
struct Sought {
    shape: Shape,
    photos: Vec<Vec<Placed>>,
    px_per_mm: f64,
    /// How many pixels one of a picture 2816 px wide is here.
    size: f64,
}

/// A piece: how light steps across it, and how far the curve moves across it with each of its parameters.
struct Placed {
    ridges: Option<Ridges>,
    by_step: Vec<f64>,
}

impl Sought {
    fn new(scene: &Scene, photos: &[Observed], shape: Shape, edge: Edge) -> Self {
        let mut px_per_mm: f64 = 1.0;
        let width = scene.state.cameras.first().map_or(2816, |camera| camera.width);
        let size = f64::from(width) / 2816.0;
        let mut placed = Vec::new();
        for (k, &i) in scene.used.iter().enumerate() {
            let view = View::of(&scene.state, k);
            let depth = (shape.point(edge.range.0) - view.place()).norm();
            px_per_mm = px_per_mm.max(scene.state.camera_of(k).intrinsics[0] / depth);
            let pieces = around(&view, &shape, &edge, PLACES).unwrap_or_default();
            let one = |piece: &Piece| Placed {
                ridges: Ridges::measure(&photos[i].picture, piece, REACH * size),
                by_step: by_step(&view, &shape, piece),
            };
            let turned_away = pieces.iter().filter(|piece| !shows_face(&view, &shape, piece.t));
            placed.push(turned_away.map(one).collect());
        }
        Self {
            shape,
            photos: placed,
            px_per_mm,
            size,
        }
    }

    /// How well the photos show the curve after a step: logarithms of the mean heights of the ridges, less what lies far from
    /// the marks.
    fn score(&self, step: &[f64]) -> f64 {
        let usual = USUAL * self.size;
        let of_photo = |pieces: &Vec<Placed>| {
            if pieces.is_empty() {
                return 0.0;
            }
            let (mut height, mut away) = (0.0, 0.0);
            for piece in pieces {
                let offset: f64 = piece.by_step.iter().zip(step).map(|(by, step)| by * step).sum();
                away += offset * offset;
                height += piece.ridges.as_ref().map_or(0.0, |ridges| ridges.at(offset));
            }
            let count = pieces.len() as f64;
            (height / count).max(UNSEEN).ln() - 0.5 * away / count / (usual * usual)
        };
        self.photos.iter().map(of_photo).sum()
    }

    /// The curve moved to where it shows best: all shifts within reach first, then turns, too.
    fn brightest(&self) -> Shape {
        let pixel = 1.0 / self.px_per_mm;
        let reach = (REACH * self.size) as i32;
        let mut best = (f64::NEG_INFINITY, [0.0; 6]);
        for x in -reach..=reach {
            for y in -reach..=reach {
                for z in -reach..=reach {
                    let [x, y, z] = [x, y, z].map(|n| f64::from(n) * pixel);
                    let step = [x, y, z, 0.0, 0.0, 0.0];
                    let score = self.score(&step);
                    if score > best.0 {
                        best = (score, step);
                    }
                }
            }
        }
        self.shape.moved(&self.climbed(best).1)
    }

    fn climbed(&self, (mut here, mut step): (f64, [f64; 6])) -> (f64, [f64; 6]) {
        let Shape::Circle(circle) = self.shape else {
            return (here, step);
        };
        let turn = 1.0 / circle.radius;
        // The radius is known and does not take part.
        let scales = [1.0, 1.0, 1.0, turn, turn].map(|scale| scale / self.px_per_mm);
        let mut size = FIRST_STEP;
        while size > LAST_STEP {
            let mut moved = false;
            for (k, scale) in scales.iter().enumerate() {
                for sign in [1.0, -1.0] {
                    let before = step[k];
                    step[k] += sign * size * scale;
                    let there = self.score(&step);
                    if there > here {
                        here = there;
                        moved = true;
                        break;
                    }
                    step[k] = before;
                }
            }
            if !moved {
                size /= 2.0;
            }
        }
        (here, step)
    }
}

/// How far the curve moves across a piece with each of its parameters, px per mm or rad.
fn by_step(view: &View, shape: &Shape, piece: &Piece) -> Vec<f64> {
    const STEP: f64 = 1e-3;
    (0..shape.parameters())
        .map(|k| {
            let mut step = vec![0.0; shape.parameters()];
            step[k] = STEP;
            view.see(&shape.moved(&step).point(piece.t)).map_or(0.0, |moved| {
                (moved - piece.guess.at).dot(&piece.guess.side) / STEP
            })
        })
        .collect()
}
