//! From rough marks to circles in space: each circle of known radius that passes nearest to its marks in all photos.

use super::problem::Problem;
use crate::Error;
use crate::gap::view::View;
use crate::scene::Scene;
use nalgebra::DVector;
use shimwright_geom::{Vec2, Vec3};
use shimwright_say::say;
use shimwright_solve::{Circle, CurveSight, CurvesState, Loss, Model, Options, Residuals, Shape, solve};
use std::f64::consts::TAU;

/// How far a mark is usually off, px of a picture 2816 px wide.
const MARK_SIGMA: f64 = 4.0;
/// Standard deviation of a diameter's half, mm: callipers over a flange.
pub(super) const RADIUS_SIGMA: f64 = 0.05;
/// How far the axes may be from parallel, rad, one component.
pub(super) const NEARLY_PARALLEL: f64 = 0.05;
/// Directions of an axis that are tried.
const DIRECTIONS: usize = 40;
/// The angle between neighbours of a sunflower's seeds, rad.
const GOLDEN_ANGLE: f64 = 2.399_963_229_728_653;
/// Cost for each mark below which no other direction is tried.
const SURELY: f64 = 4.0;
/// Places of a circle looked at to find the one nearest to a mark.
const PLACES: usize = 60;
/// Root mean square distance of marks from the circle beyond which they do not lie on one, px of a picture 2816 px wide.
const MOST_OFF: f64 = 20.0;
/// Residual of a mark when no part of the circle is in view, standard deviations.
const LOST: f64 = 200.0;
/// Step of a parameter for differences, mm and rad.
const STEP: f64 = 1e-4;

/// Circles through the marks, one for each curve, their normals out of the pulley's face.
pub(super) fn from_marks(problem: &Problem, scene: &Scene) -> Result<Vec<Circle>, Error> {
    let first = (0..problem.names.len()).max_by(|&a, &b| problem.radius(a).total_cmp(&problem.radius(b)));
    let first = first.unwrap_or(0);
    let axis = Marked::of(problem, scene, first)?.anyhow()?.normal;
    let mut circles = Vec::new();
    for curve in 0..problem.names.len() {
        circles.push(Marked::of(problem, scene, curve)?.along(axis)?);
    }
    let outboard = outboard(problem, &circles, axis);
    for (circle, role) in circles.iter_mut().zip(&problem.roles) {
        let out = if role.outer { outboard } else { -outboard };
        if circle.normal.dot(&out) < 0.0 {
            circle.normal = -circle.normal;
        }
    }
    Ok(circles)
}

/// The direction along the axis from the mount outward, by the pulleys that have both edges.
fn outboard(problem: &Problem, circles: &[Circle], axis: Vec3) -> Vec3 {
    let across: f64 = super::problem::Pulley::BOTH
        .into_iter()
        .filter_map(|pulley| {
            let (inner, outer) = (problem.curve(pulley, false)?, problem.curve(pulley, true)?);
            Some((circles[outer].centre - circles[inner].centre).dot(&axis))
        })
        .sum();
    if across < 0.0 { -axis } else { axis }
}

/// The marks of one edge.
struct Marked<'a> {
    scene: &'a Scene,
    name: &'static str,
    /// Photo (among those used), mark, direction across the edge there.
    sights: Vec<CurveSight>,
    radius: f64,
    sigma_px: f64,
    /// The axis that the circle's is nearly parallel to.
    axis: Option<Vec3>,
}

impl<'a> Marked<'a> {
    fn of(problem: &Problem, scene: &'a Scene, curve: usize) -> Result<Self, Error> {
        let width = scene.state.cameras.first().map_or(2816, |camera| camera.width);
        let mut marked = Self {
            scene,
            name: problem.names[curve],
            sights: vec![],
            radius: problem.radius(curve),
            sigma_px: MARK_SIGMA * f64::from(width) / 2816.0,
            axis: None,
        };
        let mut photos = 0;
        for (k, &i) in scene.used.iter().enumerate() {
            let marks = &problem.marks[i][curve];
            photos += usize::from(!marks.is_empty());
            for (j, at) in marks.iter().enumerate() {
                let (before, after) = (marks[j.saturating_sub(1)], marks[(j + 1).min(marks.len() - 1)]);
                let along = (after - before).try_normalize(1e-9).unwrap_or_else(Vec2::x);
                marked.sights.push(CurveSight {
                    photo: k,
                    curve: 0,
                    at: *at,
                    side: Vec2::new(-along.y, along.x),
                    t: 0.0,
                    sigma_px: marked.sigma_px,
                });
            }
        }
        if photos < 2 {
            return Err(Error::unmeasurable(
                None,
                say!(
                    "the edge `{}` is marked in {photos} of the photos that show the {}, and two are needed",
                    marked.name,
                    scene.setting.fixed
                ),
                say!("mark it in every photo that shows it together with the whole card"),
            ));
        }
        Ok(marked)
    }

    /// The best circle, whatever its direction.
    fn anyhow(&self) -> Result<Circle, Error> {
        let mut best: Option<(f64, Circle)> = None;
        for i in 0..DIRECTIONS {
            // Points spread evenly over half a sphere.
            let z = (i as f64 + 0.5) / DIRECTIONS as f64;
            let turn = i as f64 * GOLDEN_ANGLE;
            let flat = (1.0 - z * z).sqrt();
            let found = self.best(Vec3::new(flat * turn.cos(), flat * turn.sin(), z));
            best = found.into_iter().chain(best).min_by(|a, b| a.0.total_cmp(&b.0));
            if best.is_some_and(|(cost, _)| cost < SURELY * self.sights.len() as f64) {
                break;
            }
        }
        self.accepted(best)
    }

    /// The best circle whose axis is nearly parallel to another.
    fn along(mut self, axis: Vec3) -> Result<Circle, Error> {
        self.axis = Some(axis);
        let best = self.best(axis);
        self.accepted(best)
    }

    fn accepted(&self, best: Option<(f64, Circle)>) -> Result<Circle, Error> {
        let off = |cost: f64| (cost / self.sights.len() as f64).sqrt() * MARK_SIGMA;
        match best {
            Some((cost, circle)) if off(cost) < MOST_OFF => Ok(circle),
            best => {
                let told = best.map_or(say!("there is none"), |(cost, _)| {
                    say!("the nearest passes {:.0} px from them", off(cost))
                });
                Err(Error::unmeasurable(
                    None,
                    say!(
                        "the marks `{}` lie on no circle of {:.1} mm diameter: {told}",
                        self.name,
                        2.0 * self.radius
                    ),
                    say!("check that the marks lie on the same edge in every photo, and the diameter"),
                ))
            }
        }
    }

    /// The best circle near a direction of its axis, and its cost.
    fn best(&self, normal: Vec3) -> Option<(f64, Circle)> {
        let start = Circle {
            centre: self.centre(normal)?,
            normal,
            radius: self.radius,
        };
        let options = Options {
            iterations: 40,
            relative_fall: 1e-6,
        };
        let solved = solve(self, start, &options).ok()?;
        Some((solved.cost, solved.state))
    }

    /// Where the centre of a circle with that normal may be: below the point that all marks' rays pass nearest to, which lies
    /// on the side of the cameras.
    fn centre(&self, normal: Vec3) -> Option<Vec3> {
        let mut matrix = nalgebra::Matrix3::zeros();
        let mut right = Vec3::zeros();
        let mut eyes = Vec3::zeros();
        for sight in &self.sights {
            let view = View::of(&self.scene.state, sight.photo);
            let (eye, ray) = (view.place(), view.ray(&sight.at).normalize());
            let across = nalgebra::Matrix3::identity() - ray * ray.transpose();
            matrix += across;
            right += across * eye;
            eyes += eye / self.sights.len() as f64;
        }
        let point = matrix.lu().solve(&right)?;
        let towards = eyes - point;
        let out = (towards - normal * towards.dot(&normal)).try_normalize(1e-9)?;
        Some(point - out * self.radius)
    }

    fn residuals_of(&self, circle: &Circle) -> Vec<f64> {
        let state = CurvesState {
            base: self.scene.state.clone(),
            curves: vec![Shape::Circle(*circle)],
            shifts: vec![],
        };
        let mut residuals: Vec<f64> = self
            .sights
            .iter()
            .map(|sight| {
                let view = View::of(&self.scene.state, sight.photo);
                let Some((t, away)) = nearest(&view, circle, &sight.at) else {
                    return LOST;
                };
                // At the ends of what is in view nothing of the curve lies square to the mark.
                let miss = state.miss_px(&CurveSight { t, ..*sight }).unwrap_or(away);
                miss / self.sigma_px
            })
            .collect();
        residuals.push((circle.radius - self.radius) / RADIUS_SIGMA);
        if let Some(axis) = self.axis {
            let off = circle.normal.cross(&axis);
            residuals.extend(off.iter().map(|off| off / NEARLY_PARALLEL));
        }
        residuals
    }
}

impl Model for Marked<'_> {
    type State = Circle;

    fn parameters(&self) -> usize {
        Shape::Circle(Circle {
            centre: Vec3::zeros(),
            normal: Vec3::z(),
            radius: self.radius,
        })
        .parameters()
    }

    fn groups(&self) -> usize {
        1
    }

    fn moved(&self, circle: &Circle, step: &DVector<f64>) -> Circle {
        moved(circle, step.as_slice())
    }

    fn residuals(&self, circle: &Circle, out: &mut Residuals) -> bool {
        let here = self.residuals_of(circle);
        let mut slopes = Vec::new();
        if out.wants_derivatives() {
            for k in 0..self.parameters() {
                let mut step = vec![0.0; self.parameters()];
                step[k] = STEP;
                slopes.push(self.residuals_of(&moved(circle, &step)));
            }
        }
        for (i, residual) in here.iter().enumerate() {
            let row: Vec<_> = slopes
                .iter()
                .enumerate()
                .map(|(k, there)| (k, (there[i] - residual) / STEP))
                .collect();
            out.push(0, Loss::Squares, *residual, &row);
        }
        true
    }
}

fn moved(circle: &Circle, step: &[f64]) -> Circle {
    match Shape::Circle(*circle).moved(step) {
        Shape::Circle(moved) => moved,
        Shape::Line(_) => *circle,
    }
}

/// The angle of the point of a circle that is seen nearest to a pixel, and its distance from it, px. On the side towards the
/// camera only: seen along its plane, the far side passes behind the near one.
pub(super) fn nearest(view: &View, circle: &Circle, pixel: &Vec2) -> Option<(f64, f64)> {
    (0..PLACES)
        .map(|i| TAU * i as f64 / PLACES as f64)
        .filter(|t| facing(view, circle, *t) > 0.0)
        .filter_map(|t| {
            let point = circle.centre + circle.radial(t) * circle.radius;
            Some((t, (view.see(&point)? - pixel).norm()))
        })
        .min_by(|a, b| a.1.total_cmp(&b.1))
}

/// How much a place of a circle's rim faces the camera: the cosine between outward and the way to the camera.
pub(super) fn facing(view: &View, circle: &Circle, t: f64) -> f64 {
    let radial = circle.radial(t);
    let towards = view.place() - circle.centre - radial * circle.radius;
    radial.dot(&towards.normalize())
}
