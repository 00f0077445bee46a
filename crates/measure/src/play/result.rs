//! How play is told.

use super::Measured;
use crate::Error;
use crate::observe::Observed;
use crate::told::{deg, mm};
use crate::turn::{Problem, SeenInPhotos, photo_lines, polar};
use nalgebra::{DMatrix, DVector, Matrix2, Vector2};
use shimwright_geom::{Vec2, Vec3};
use shimwright_record::{BudgetLine, CheckKind, CheckResult, Conformity, Phrase, Value, Verdict, conformity};
use shimwright_say::say;
use shimwright_solve::{Group, TurnState};
use std::collections::BTreeMap;

/// Largest radial play when the job names none, mm (ours; a bearing maker's or board maker's value goes first).
const DEFAULT_PLAY_LIMIT: f64 = 0.10;
/// How far a ring usually sits off the axis (standard deviation of each component), mm: when the wheel turns between the
/// photos, such a ring moves without any play.
const USUAL_OFF: f64 = 1.0;
/// Turns of the wheel from here on are told, rad.
const TURNED: f64 = 0.03;

/// The movement between two photos.
struct Movement {
    from: usize,
    to: usize,
    shift: Vec3,
    lean: Vec2,
    turned: f64,
}

impl Movement {
    fn between(state: &TurnState, from: usize, to: usize) -> Self {
        let (a, b) = (&state.photos[from], &state.photos[to]);
        Self {
            from,
            to,
            shift: b.wobble.shift() - a.wobble.shift(),
            lean: b.wobble.lean() - a.wobble.lean(),
            turned: (b.angle - a.angle).sin().atan2((b.angle - a.angle).cos()),
        }
    }
}

/// Tells the result.
pub(super) fn tell(
    problem: &Problem,
    photos: &[Observed],
    measured: &Measured,
) -> Result<CheckResult, Error> {
    let covariance = measured.solution.covariance().map_err(|error| {
        Error::unmeasurable(
            None,
            say!("the photos leave the wheel's movement open ({error})"),
            say!("take them again from nearer, with both targets whole in view"),
        )
    })?;
    let state = &measured.solution.state;
    let count = state.photos.len();
    let pairs = (0..count).flat_map(|i| (i + 1..count).map(move |j| (i, j)));
    let movement = pairs
        .map(|(i, j)| Movement::between(state, i, j))
        .max_by(|a, b| a.shift.norm().total_cmp(&b.shift.norm()))
        .ok_or_else(|| {
            Error::unmeasurable(
                None,
                say!("only one photo shows both targets"),
                say!("take another"),
            )
        })?;
    let told = Told {
        measured,
        covariance: &covariance,
        movement: &movement,
    };
    // A ring off the axis by e moves by 2 e sin(turn / 2).
    let by_turn = 2.0 * USUAL_OFF * (movement.turned / 2.0).sin().abs();
    let (across, parts) = told.vector([0, 1], by_turn);
    let across = polar(&Vector2::new(movement.shift.x, movement.shift.y), &across);
    let along_u = told.sigma(2);
    let (lean, _) = told.vector([3, 4], 0.0);
    let lean = polar(&movement.lean, &lean);
    let values = BTreeMap::from([
        (
            "radial_play".to_owned(),
            Value::One(mm(across.size, across.size_u95)),
        ),
        (
            "axial_play".to_owned(),
            Value::One(mm(movement.shift.z.abs(), 1.96 * along_u)),
        ),
        (
            "tilt_play".to_owned(),
            Value::One(deg(lean.size.to_degrees(), lean.size_u95.to_degrees())),
        ),
    ]);
    Ok(CheckResult {
        check: CheckKind::Play,
        values,
        verdict: verdict(problem, across.size, across.size_u95),
        budget: budget(&parts, by_turn),
        photos: photo_lines(
            problem,
            photos,
            &SeenInPhotos {
                used: &measured.start.used,
                state,
                joint: &measured.joint,
                located: &[],
            },
        ),
        warnings: warnings(problem, photos, measured, &movement),
    })
}

/// A movement with its covariance.
struct Told<'a> {
    measured: &'a Measured<'a>,
    covariance: &'a DMatrix<f64>,
    movement: &'a Movement,
}

impl Told<'_> {
    /// Derivatives of the difference of a wobble parameter between the two photos.
    fn gradient(&self, k: usize) -> DVector<f64> {
        let joint = &self.measured.joint;
        let mut gradient = DVector::zeros(self.covariance.nrows());
        gradient[joint.wobble_at(self.movement.to) + k] += 1.0;
        gradient[joint.wobble_at(self.movement.from) + k] -= 1.0;
        gradient
    }

    fn variance(&self, gradient: &DVector<f64>) -> f64 {
        (gradient.transpose() * self.covariance * gradient)[(0, 0)].max(0.0)
    }

    fn sigma(&self, k: usize) -> f64 {
        self.variance(&self.gradient(k)).sqrt()
    }

    /// Covariance of two components with an even standard deviation added, and the variance of the larger by source.
    fn vector(&self, of: [usize; 2], added: f64) -> (Matrix2<f64>, Vec<f64>) {
        let [a, b] = of.map(|k| self.gradient(k));
        let (xx, yy) = (self.variance(&a), self.variance(&b));
        let xy = (self.variance(&(&a + &b)) - xx - yy) / 2.0;
        let larger = if xx > yy { &a } else { &b };
        let parts = self.measured.solution.variance_by_group(self.covariance, larger);
        let added = added * added;
        (Matrix2::new(xx + added, xy, xy, yy + added), parts)
    }
}

/// The budget of the radial play.
fn budget(parts: &[f64], by_turn: f64) -> Vec<BudgetLine> {
    let part = |group: Group| parts[group as usize].max(0.0);
    let mut lines: Vec<BudgetLine> = [
        (
            say!("corner noise"),
            part(Group::Corners),
            say!("how well the corners of card and ring were located"),
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
            say!("how flat card and ring are taken to be"),
        ),
        (
            say!("model choice"),
            part(Group::Features) + by_turn * by_turn,
            say!("a ring off the axis moves when the wheel turns between the photos"),
        ),
    ]
    .into_iter()
    .map(|(name, variance, note)| BudgetLine {
        part: name,
        u: variance.sqrt(),
        note,
    })
    .collect();
    lines.sort_by(|a, b| b.u.total_cmp(&a.u));
    lines
}

fn verdict(problem: &Problem, play: f64, u95: f64) -> Verdict {
    let limit = problem.drive.play_limit.unwrap_or(DEFAULT_PLAY_LIMIT);
    let (state, probability) = conformity::at_most(play, u95, limit);
    let text = match state {
        Conformity::Within => say!("the radial play keeps the limit of {limit:.2} mm"),
        Conformity::Outside => say!("the radial play is above the limit of {limit:.2} mm"),
        Conformity::Undecided => say!(
            "the radial play is too near to the limit of {limit:.2} mm to say; photos from nearer, the phone on a stand, \
             would help most"
        ),
    };
    Verdict {
        state,
        text,
        limit,
        probability,
    }
}

fn warnings(problem: &Problem, photos: &[Observed], measured: &Measured, movement: &Movement) -> Vec<Phrase> {
    let mut warnings = measured.start.warnings.clone();
    warnings.push(
        say!("the axis is taken to stand square to the hub ring, through its middle; a ring askew mixes axial and radial play"),
    );
    if problem.drive.play_limit.is_none() {
        warnings.push(say!(
            "no play limit was given; the verdict is against {DEFAULT_PLAY_LIMIT:.2} mm, which is ours"
        ));
    }
    if !problem.scale_checked {
        warnings.push(say!(
            "the print scale was never checked: an error of 1 % of the printer is allowed for"
        ));
    }
    let used = &measured.start.used;
    if used.len() > 2 {
        warnings.push(say!(
            "the farthest movement is told, between {} and {}",
            photos[used[movement.from]].name,
            photos[used[movement.to]].name
        ));
    }
    if movement.turned.abs() > TURNED {
        warnings.push(say!(
            "the wheel turned by {:.0} degrees between the photos, which widens the uncertainty: a ring off the axis moves \
             then; hold the wheel's angle",
            movement.turned.to_degrees().abs()
        ));
    }
    warnings
}
