//! Run-out without a hub ring: the phone on a stand, the wheel turned by equal steps from photo to photo.
//!
//! Nothing in the photos measures the angles; they are taken to be equal steps of one whole turn. The rim of each photo is a
//! circle of its own in the card's frame, and the first harmonic of their centres and normals over the assumed angles is the
//! eccentricity and the lean of the rim. Largest less smallest of so few photos would fall short.

use super::problem::{Problem, RIM_EDGE};
use super::result::verdict;
use super::vector::{Polar, polar};
use crate::gap::view::View;
use crate::observe::{Observed, observe_all};
use crate::outline::{Edge, Rounds, Settled, Sought, flat_curve, rim_near};
use crate::scene::{Scene, Setting};
use crate::told::{deg, mm};
use crate::{Error, JobInput, Watch, refuse_trials};
use nalgebra::{DMatrix, Matrix2, Vector2};
use shimwright_geom::{Vec2, Vec3};
use shimwright_record::{BudgetLine, CheckKind, CheckResult, Drawn, Phrase, StatedLength, TurnedWay, Value};
use shimwright_say::say;
use shimwright_solve::{CurvesState, Group, Known, Shape};
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// Fewest photos: two harmonics' worth of numbers, and some left to see by that the steps were none.
const FEWEST_PHOTOS: usize = 6;
/// Standard deviation of the card's sagitta along x and y, mm.
const BEND: Vec2 = Vec2::new(0.05, 0.02);
/// How far the rim may fail to lie along the card, rad.
const ALONG_CARD: f64 = 0.1;
/// How far the rims of two photos may fail to be parallel, rad, one component: twice a bad wobble.
const WOBBLE: f64 = 0.02;
/// How far their centres may differ in height, mm: a turning rim's centre stays in its plane.
const SAME_HEIGHT: f64 = 0.03;
/// Standard deviation of a stated diameter's half, and of the rim's between photos, mm.
const RADIUS: f64 = 0.05;
/// Chamfer leg when the job states none, mm: machined edges are usually broken by 0.1 to 0.2 mm (common practice, no source).
const USUAL_CHAMFER: f64 = 0.12;
/// Standard uncertainty of an assumed angle, rad: a mark on the tyre held to a mark behind it.
const STEP_SIGMA: f64 = 0.035;
/// Share of a rim's pieces that its photo must show.
const LEAST_SHARE: f64 = 0.3;
/// Scatter about the harmonic beyond which the photos are no equal steps of one turn, mm and share of the eccentricity.
const MOST_SCATTER: f64 = 0.05;
const MOST_SHARE: f64 = 0.35;
/// Coverage factor of a normally distributed quantity at 95 %.
const COVERAGE: f64 = 1.96;

/// The rims of all photos, solved for.
struct Solved {
    settled: Settled,
    edges: Vec<Edge>,
    known: Vec<Known>,
}

/// Measures a turn job that names the way in which the wheel was turned by equal steps.
pub(super) fn measure(input: &JobInput, watch: &dyn Watch, way: TurnedWay) -> Result<CheckResult, Error> {
    refuse_trials(input.job)?;
    let problem = Problem::of(
        input,
        FEWEST_PHOTOS,
        say!(
            "take 8 to 12 photos from a stand, turning the wheel by the same part of a turn for each, once round"
        ),
    )?;
    let height = asked(&problem, input)?;
    let setting = Setting::of(input, "mount-card", BEND)?;
    watch.step(say!("reading the photos"), 0.0);
    let photos = observe_all(input, watch)?;
    problem.check_photos(&photos)?;
    let scene = Scene::solve(setting, &photos, input)?;
    all_used(&scene, &photos)?;
    watch.step(say!("measuring the rim"), 0.7);
    if watch.cancelled() {
        return Err(Error::cancelled());
    }
    let solved = solve(&problem, &scene, &photos, height)?;
    let result = tell(&problem, &scene, &photos, &solved, way)?;
    watch.step(say!("done"), 1.0);
    Ok(result)
}

/// What a job by equal steps must say; gives the rim's height.
fn asked(problem: &Problem, input: &JobInput) -> Result<StatedLength, Error> {
    if problem.marks.iter().all(Vec::is_empty) {
        return Err(Error::bad(
            Some("photos.marks"),
            say!("no photo has the mark `{RIM_EDGE}`"),
            say!("mark `{RIM_EDGE}` roughly in one photo, three or more points around it"),
        ));
    }
    let height = input.job.height.as_ref().and_then(|height| height.of(RIM_EDGE));
    match height {
        Some(height) if height.value.abs() <= 100.0 && (0.0..=100.0).contains(&height.u95) => Ok(height),
        Some(height) => Err(Error::bad(
            Some("height"),
            say!(
                "the height of `{RIM_EDGE}` is {} +- {} mm, which is not within 100 mm",
                height.value,
                height.u95
            ),
            say!("give how far the rim stands in front of the card, in millimetres"),
        )),
        None => Err(Error::bad(
            Some("height"),
            say!("from a stand nothing tells how far the rim stands in front of the card"),
            say!(
                "state `height` of `{RIM_EDGE}` above the card with its u95; behind the card it is negative"
            ),
        )),
    }
}

/// A missing photo leaves a hole in the steps.
fn all_used(scene: &Scene, photos: &[Observed]) -> Result<(), Error> {
    match (0..photos.len()).find(|i| !scene.used.contains(i)) {
        None => Ok(()),
        Some(i) => Err(Error::unmeasurable(
            Some(&photos[i].name),
            say!(
                "{} does not show the {}, and a step of the turn is missing",
                photos[i].name,
                scene.setting.fixed
            ),
            say!("take the photos again with the whole card in every one"),
        )),
    }
}

fn solve(
    problem: &Problem,
    scene: &Scene,
    photos: &[Observed],
    height: StatedLength,
) -> Result<Solved, Error> {
    let reach = height.u95.max(0.5);
    let sought = Sought {
        name: RIM_EDGE,
        straight: false,
        marks: scene.used.iter().map(|&i| problem.marks[i].as_slice()).collect(),
        heights: (height.value - reach, height.value + reach),
        wall: None,
    };
    let (first, edge) = flat_curve(scene, photos, &sought)?;
    let leg = problem.drive.rim_chamfer.unwrap_or(USUAL_CHAMFER);
    let mut curves = Vec::new();
    let mut edges = Vec::new();
    for (k, &i) in scene.used.iter().enumerate() {
        let view = View::of(&scene.state, k);
        let shape = rim_near(&view, &photos[i].picture, &first, height.value).ok_or_else(|| {
            Error::unmeasurable(
                Some(&photos[i].name),
                say!("no rim lies near the mark `{RIM_EDGE}` in {}", photos[i].name),
                say!("leave the phone on its stand for all photos, and mark the rim within some pixels"),
            )
        })?;
        curves.push(shape);
        edges.push(Edge {
            chamfer: (-leg, leg),
            only_in: Some(k),
            ..edge
        });
    }
    let known = known(problem, curves.len(), height);
    let names = vec![RIM_EDGE; curves.len()];
    let rounds = Rounds {
        scene,
        photos,
        known: &known,
        edges: &edges,
        names: &names,
    };
    let shifts = vec![0.0; scene.used.len() * curves.len()];
    let settled = rounds.settle(CurvesState {
        base: scene.state.clone(),
        curves,
        shifts,
    })?;
    for (k, &i) in scene.used.iter().enumerate() {
        let share = settled.shares[k * edges.len() + k];
        if share.is_none_or(|share| share < LEAST_SHARE) {
            return Err(Error::unmeasurable(
                Some(&photos[i].name),
                say!("{} shows too little of the rim", photos[i].name),
                say!("light the rim evenly, put something behind it that it stands out from, and avoid blur"),
            ));
        }
    }
    Ok(Solved {
        settled,
        edges,
        known,
    })
}

fn known(problem: &Problem, curves: usize, height: StatedLength) -> Vec<Known> {
    let mut known = vec![Known::Height {
        curve: 0,
        height: height.value,
        sigma: (height.u95 / COVERAGE).max(1e-3),
    }];
    for curve in 0..curves {
        known.push(Known::Flat {
            curve,
            sigma: ALONG_CARD,
        });
        if let Some(radius) = problem.stated_radius() {
            known.push(Known::Radius {
                curve,
                radius,
                sigma: RADIUS,
            });
        }
        if curve > 0 {
            known.push(Known::Level {
                curves: [0, curve],
                sigma: SAME_HEIGHT,
            });
            known.push(Known::Parallel {
                curves: [0, curve],
                sigma: WOBBLE,
            });
        }
    }
    known
}

/// Amplitude of the first harmonic of one vector a photo, in the card's plane, at the first photo's angle; and the part of each component that no harmonic explains (root mean square a photo).
fn harmonic(state: &CurvesState, way: TurnedWay, of: impl Fn(&Shape) -> Vec3) -> (Vector2<f64>, f64) {
    let count = state.curves.len();
    // Seen from the printed side, y points down: a clockwise turn goes from x to y.
    let sign = match way {
        TurnedWay::Clockwise => 1.0,
        TurnedWay::CounterClockwise => -1.0,
    };
    let across: Vec<Vector2<f64>> = state.curves.iter().map(|curve| of(curve).xy()).collect();
    let mean = across.iter().sum::<Vector2<f64>>() / count as f64;
    let turned = |k: usize| nalgebra::Rotation2::new(sign * TAU * k as f64 / count as f64);
    let amplitude: Vector2<f64> = (0..count)
        .map(|k| turned(k).inverse() * (across[k] - mean))
        .sum::<Vector2<f64>>()
        / count as f64;
    let left: f64 = (0..count)
        .map(|k| (across[k] - mean - turned(k) * amplitude).norm_squared())
        .sum();
    let freedom = 2 * count - 4;
    (amplitude, (left / freedom as f64).sqrt())
}

/// A harmonic with its covariance and the parts of its variance along it.
struct Amplitude {
    value: Vector2<f64>,
    covariance: Matrix2<f64>,
    parts: Vec<f64>,
    steps: f64,
    scatter: f64,
}

impl Amplitude {
    fn polar(&self) -> Polar {
        let own = polar(&self.value, &self.covariance);
        Polar {
            // Counter-clockwise as seen from the printed side.
            direction: (-self.value.y).atan2(self.value.x),
            ..own
        }
    }
}

fn tell(
    problem: &Problem,
    scene: &Scene,
    photos: &[Observed],
    solved: &Solved,
    way: TurnedWay,
) -> Result<CheckResult, Error> {
    let state = &solved.settled.solution.state;
    let covariance = solved.settled.solution.covariance().map_err(|error| {
        Error::unmeasurable(
            None,
            say!("the photos leave the run-out open ({error})"),
            say!("state the rim's diameter, or take more photos"),
        )
    })?;
    let names = vec![RIM_EDGE; state.curves.len()];
    let rounds = Rounds {
        scene,
        photos,
        known: &solved.known,
        edges: &solved.edges,
        names: &names,
    };
    let amplitude = |factor: f64, of: &dyn Fn(&Shape) -> Vec3| {
        amplitude(&rounds, solved, &covariance, way, &|shape| of(shape) * factor)
    };
    let radius = mean_radius(state);
    let centre = amplitude(1.0, &Shape::middle);
    // A normal that leans away from the cameras stands for a rim that comes towards them on that side.
    let lean = amplitude(2.0 * radius, &|shape| -shape.direction());
    check_scatter(&centre)?;
    let (off, high) = (centre.polar(), lean.polar());
    let values = BTreeMap::from([
        ("eccentricity", Value::One(mm(off.size, off.size_u95))),
        (
            "eccentricity_direction",
            Value::One(deg(off.direction.to_degrees(), off.direction_u95.to_degrees())),
        ),
        (
            "radial_runout",
            Value::One(mm(2.0 * off.size, 2.0 * off.size_u95)),
        ),
        ("axial_runout", Value::One(mm(high.size, high.size_u95))),
        (
            "axial_high_direction",
            Value::One(deg(high.direction.to_degrees(), high.direction_u95.to_degrees())),
        ),
        ("angles", Value::Many(assumed_angles(state.curves.len()))),
    ]);
    Ok(CheckResult {
        check: CheckKind::Turn,
        values: values
            .into_iter()
            .map(|(name, value)| (name.to_owned(), value))
            .collect(),
        verdict: verdict(problem, &off),
        budget: budget(&centre),
        photos: scene.photo_lines(photos, &state.base, |k| drawn(solved, k)),
        warnings: warnings(problem, scene, &off),
    })
}

fn mean_radius(state: &CurvesState) -> f64 {
    let radius = |shape: &Shape| match shape {
        Shape::Circle(circle) => circle.radius,
        Shape::Line(_) => 0.0,
    };
    state.curves.iter().map(radius).sum::<f64>() / state.curves.len() as f64
}

fn amplitude(
    rounds: &Rounds,
    solved: &Solved,
    covariance: &DMatrix<f64>,
    way: TurnedWay,
    of: &dyn Fn(&Shape) -> Vec3,
) -> Amplitude {
    let solution = &solved.settled.solution;
    let state = &solution.state;
    let (value, scatter) = harmonic(state, way, of);
    let problem = rounds.problem(&solved.settled.sights, state);
    let gradients = [0, 1].map(|k| problem.gradient_of(state, |state| harmonic(state, way, of).0[k]));
    let total = |gradient: &nalgebra::DVector<f64>| (gradient.transpose() * covariance * gradient)[(0, 0)];
    let (xx, yy) = (total(&gradients[0]), total(&gradients[1]));
    let xy = (total(&(&gradients[0] + &gradients[1])) - xx - yy) / 2.0;
    let along = value.try_normalize(0.0).unwrap_or_else(Vector2::x);
    let parts = solution.variance_by_group(covariance, &(&gradients[0] * along.x + &gradients[1] * along.y));
    let count = state.curves.len() as f64;
    // Angles that are off at random turn each photo's share of the harmonic a little.
    let steps = value.norm_squared() * STEP_SIGMA * STEP_SIGMA / count;
    let scattered = scatter * scatter / count;
    let more = steps + scattered;
    Amplitude {
        value,
        covariance: Matrix2::new(xx + more, xy, xy, yy + more),
        parts,
        steps,
        scatter: scattered,
    }
}

fn check_scatter(centre: &Amplitude) -> Result<(), Error> {
    let photos_scatter = centre.scatter.sqrt();
    let size = centre.value.norm();
    if photos_scatter > MOST_SCATTER && photos_scatter > MOST_SHARE * size {
        return Err(Error::unmeasurable(
            None,
            say!(
                "the rim does not move as equal steps of one turn would move it: what does not fit is {photos_scatter:.2} mm \
                 against {size:.2} mm of eccentricity"
            ),
            say!(
                "turn the wheel by the same angle each time, once round, always the same way, and leave card and phone where \
             they are; or stick a hub ring on the wheel, which measures the angles"
            ),
        ));
    }
    Ok(())
}

fn assumed_angles(count: usize) -> Vec<shimwright_record::Quantity> {
    let u95 = COVERAGE * STEP_SIGMA.to_degrees();
    (0..count)
        .map(|k| deg(360.0 * k as f64 / count as f64, if k == 0 { 0.0 } else { u95 }))
        .collect()
}

/// The budget of the radial run-out.
fn budget(centre: &Amplitude) -> Vec<BudgetLine> {
    let part = |group: Group| centre.parts[group as usize].max(0.0);
    let known = part(Group::Features) + centre.parts.get(Group::COUNT).copied().unwrap_or(0.0).max(0.0);
    let mut lines: Vec<BudgetLine> = [
        (
            say!("corner noise"),
            part(Group::Corners),
            say!("how well the card's corners were located"),
        ),
        (
            say!("edge noise"),
            part(Group::Edges) + part(Group::EdgeShift),
            say!("how well the rim was located, and what light may do to it"),
        ),
        (
            say!("camera"),
            part(Group::Camera),
            say!("what is known of the lens beforehand"),
        ),
        (
            say!("print scale"),
            part(Group::Scale),
            say!("how well the print's size is known"),
        ),
        (
            say!("target flatness"),
            part(Group::Flatness),
            say!("how flat the card is taken to be"),
        ),
        (
            say!("rim"),
            known,
            say!("how well the rim's height and size are known"),
        ),
        (
            say!("assumed angles"),
            centre.steps,
            say!("the steps of the turn were assumed to be equal and not measured"),
        ),
        (
            say!("scatter"),
            centre.scatter,
            say!("what no equal steps of one turn explain"),
        ),
    ]
    .into_iter()
    .map(|(name, variance, note)| BudgetLine {
        part: name,
        u: 2.0 * variance.sqrt(),
        note,
    })
    .collect();
    lines.sort_by(|a, b| b.u.total_cmp(&a.u));
    lines
}

fn warnings(problem: &Problem, scene: &Scene, off: &Polar) -> Vec<Phrase> {
    let mut warnings = scene.warnings.clone();
    warnings.push(say!(
        "the wheel's angles were assumed and not measured: {} equal steps of one turn; directions are those of the wheel as it \
         stands in the first photo, counter-clockwise from the card's x axis",
        scene.used.len()
    ));
    if off.direction_u95 > 1.6 {
        warnings.push(say!("the eccentricity is too small to tell its direction"));
    }
    if problem.drive.runout_limit.is_none() {
        warnings.push(say!(
            "no run-out limit was given; the verdict is against {:.2} mm, which is ours",
            problem.runout_limit
        ));
    }
    warnings
}

fn drawn(solved: &Solved, photo: usize) -> Vec<Drawn> {
    let state = &solved.settled.solution.state;
    let view = View::of(&state.base, photo);
    let rim = (0..=72).filter_map(|i| {
        let point = state.curves[photo].point(TAU * f64::from(i) / 72.0);
        view.see(&point).map(|p| [p.x, p.y])
    });
    let sights = solved.settled.sights.iter();
    vec![
        Drawn {
            what: RIM_EDGE.into(),
            points: rim.collect(),
        },
        Drawn {
            what: "edge_point".into(),
            points: sights
                .filter(|sight| sight.photo == photo && sight.curve == photo)
                .map(|sight| [sight.at.x, sight.at.y])
                .collect(),
        },
    ]
}
