//! The start: poses, lens and the turning axis from the corners of both targets alone.

use super::problem::{FEWEST_PHOTOS, Problem};
use crate::cameras::{self, Cameras};
use crate::observe::Observed;
use crate::told::list_of;
use crate::{Error, JobInput, asked, target_seen};
use nalgebra::Matrix3;
use shimwright_camera::Camera;
use shimwright_detect::FoundCorner;
use shimwright_geom::{Pose, Vec2, Vec3};
use shimwright_record::Phrase;
use shimwright_say::say;
use shimwright_solve::{
    CornerSight, EdgeSight, Options, PlanePoint, TurnPhoto, TurnPriors, TurnProblem, TurnState, Wobble,
    pose_of_plane,
};

/// Fewest corners of a target that a photo must show.
const FEWEST_CORNERS: usize = 6;
/// The wheel must have been turned so far at least, rad.
const LEAST_TURN: f64 = 0.8;

/// Shares of the chamfer's leg by which each harmonic of the light may move the rim's edge outward and into depth
/// (standard deviations).
const LIGHT: [f64; 2] = [0.2, 0.4];

/// Poses, lens and axis from the corners, and what the later steps need.
pub(crate) struct Start {
    /// Index in the job of each photo that takes part.
    pub used: Vec<usize>,
    /// Corners of the fixed target; `photo` counts in `used`.
    pub fixed: Vec<CornerSight>,
    /// Corners of the turning target.
    pub turning: Vec<CornerSight>,
    /// What is known beforehand.
    pub priors: TurnPriors,
    /// The state solved from the corners.
    pub state: TurnState,
    /// What to tell the user.
    pub warnings: Vec<Phrase>,
}

impl Start {
    /// The joint problem with some points of the rim.
    pub fn joint<'a>(
        &'a self,
        problem: &Problem,
        rim: &'a [EdgeSight],
        state: &TurnState,
    ) -> TurnProblem<'a> {
        TurnProblem {
            fixed: &self.fixed,
            turning: &self.turning,
            rim,
            priors: &self.priors,
            fixed_print: problem.fixed.1,
            turning_print: problem.turning.1,
            photos: self.used.len(),
            has_rim: state.rim.is_some(),
            wobbles: false,
        }
    }
}

/// Solves for poses and axis from the corners.
pub(crate) fn from_corners(problem: &Problem, photos: &[Observed], input: &JobInput) -> Result<Start, Error> {
    solved(problem, placed(problem, photos, input, FEWEST_PHOTOS)?)
}

/// Poses of both targets photo by photo, and a first axis: not solved together yet.
pub(crate) fn placed(
    problem: &Problem,
    photos: &[Observed],
    input: &JobInput,
    fewest: usize,
) -> Result<Start, Error> {
    let shows = |i: usize, name: &str| corners_of(&photos[i], name).is_some();
    let used: Vec<usize> = (0..photos.len())
        .filter(|&i| shows(i, &problem.fixed.0) && shows(i, &problem.turning.0))
        .collect();
    check_enough(problem, photos, &used, fewest)?;
    let Cameras {
        cameras,
        priors,
        of_photo,
        focal_factor_sigma,
        mut warnings,
    } = cameras::choose(photos, input.camera)?;
    for target in [
        asked::target(input, &problem.fixed.0)?,
        asked::turning_target(input, &problem.turning.0)?,
    ] {
        warnings.extend(target_seen::warnings(photos, &used, target));
    }
    let (mut fixed, mut turning, mut places) = (Vec::new(), Vec::new(), Vec::new());
    for (k, &i) in used.iter().enumerate() {
        let camera = of_photo[i];
        let pose_of = |name: &str, sights: &mut Vec<CornerSight>| {
            let found = corners_of(&photos[i], name).unwrap_or_default();
            sights.extend(found.iter().map(|c| CornerSight {
                photo: k,
                place: c.place,
                at: c.at,
                sigma_px: c.sigma_px,
            }));
            target_pose(problem, &cameras[camera], &photos[i], name, found)
        };
        let card = pose_of(&problem.fixed.0, &mut fixed)?;
        let ring = pose_of(&problem.turning.0, &mut turning)?;
        places.push((card, card.inverse() * ring, camera));
    }
    let relative: Vec<Pose> = places.iter().map(|p| p.1).collect();
    let fixed_from_axis = first_axis(&relative);
    let photos_at = places.iter().map(|(card, ring, camera)| TurnPhoto {
        camera_from_fixed: *card,
        focal: 1.0,
        camera: *camera,
        rim_shift: 0.0,
        angle: angle_about(&fixed_from_axis, ring),
        wobble: Wobble::none(),
    });
    let scale = Vec2::new(problem.scale.x, problem.scale.y);
    let state = TurnState {
        photos: photos_at.collect(),
        cameras,
        scale,
        own_scale: Vec2::new(1.0, 1.0),
        bend: Vec2::zeros(),
        turning_bend: Vec2::zeros(),
        fixed_from_axis,
        turning_from_axis: Pose::identity(),
        rim: None,
        light: [0.0; shimwright_solve::LIGHT],
    };
    Ok(Start {
        used,
        fixed,
        turning,
        priors: TurnPriors {
            cameras: priors,
            aspect_sigma: if input.camera.is_some() { 0.001 } else { 0.003 },
            focal_factor_sigma,
            scale,
            scale_sigma: problem.scale.u95 / 1.96,
            // The two axes' scale errors mostly go together.
            axes_sigma: Some((0.5 * problem.scale.u95 / 1.96).max(1e-9)),
            light_sigma: LIGHT.map(|share| share * super::rim::chamfer(problem)),
            ..usual_priors()
        },
        state,
        warnings,
    })
}

/// What is known of prints, rim and light whatever the job.
fn usual_priors() -> TurnPriors {
    TurnPriors {
        cameras: vec![],
        aspect_sigma: 0.001,
        focal_factor_sigma: 0.004,
        scale: Vec2::new(1.0, 1.0),
        scale_sigma: 0.01,
        axes_sigma: Some(0.005),
        // Card and ring come from one page or at least one printer.
        own_scale_sigma: 0.0005,
        bend_sigma: Vec2::new(0.05, 0.02),
        turning_bend_sigma: Vec2::new(0.02, 0.02),
        radius: None,
        rim_shift_sigma: 0.1,
        light_sigma: [0.02, 0.04],
        hold_shared: false,
        hold_axis: false,
        wobble_sigma: [0.5, 0.5, 0.01],
    }
}

fn solved(problem: &Problem, start: Start) -> Result<Start, Error> {
    let state = start
        .joint(problem, &[], &start.state)
        .solve(start.state.clone(), &Options::default())
        .map_err(|error| {
            Error::unmeasurable(
                None,
                say!("card and ring do not fit one turning axis ({error})"),
                say!(
                    "check that the card did not move and the ring is stuck fast, and take the photos again"
                ),
            )
        })?
        .state;
    let turned = turned_by(&state);
    if turned < LEAST_TURN {
        return Err(Error::unmeasurable(
            None,
            say!(
                "the wheel was turned by {:.0} degrees only between the photos",
                turned.to_degrees()
            ),
            say!("turn the wheel a little further for each photo, all the way round"),
        ));
    }
    let priors = &start.priors;
    let mut warnings = start.warnings;
    warnings.extend(target_seen::bent(
        &problem.fixed.0,
        &state.bend,
        &priors.bend_sigma,
    ));
    warnings.extend(target_seen::bent(
        &problem.turning.0,
        &state.turning_bend,
        &priors.turning_bend_sigma,
    ));
    Ok(Start {
        state,
        warnings,
        ..start
    })
}

/// How far round the photos reach, rad: a full turn less the widest part of it without a photo.
pub(crate) fn turned_by(state: &TurnState) -> f64 {
    std::f64::consts::TAU - widest_gap(state)
}

/// The widest part of the turn without a photo, rad.
pub(crate) fn widest_gap(state: &TurnState) -> f64 {
    let turn = std::f64::consts::TAU;
    let mut angles: Vec<f64> = state.photos.iter().map(|p| p.angle.rem_euclid(turn)).collect();
    angles.sort_by(f64::total_cmp);
    let next = angles
        .iter()
        .skip(1)
        .copied()
        .chain(angles.first().map(|a| a + turn));
    angles.iter().zip(next).map(|(a, b)| b - a).fold(0.0, f64::max)
}

/// A target's corners in a photo, when there are enough.
pub(crate) fn corners_of<'a>(photo: &'a Observed, name: &str) -> Option<&'a [FoundCorner]> {
    let found = photo.found.targets.iter().find(|t| t.name == name)?;
    (found.corners.len() >= FEWEST_CORNERS).then_some(&found.corners)
}

fn target_pose(
    problem: &Problem,
    camera: &Camera,
    photo: &Observed,
    name: &str,
    found: &[FoundCorner],
) -> Result<Pose, Error> {
    let scale = Vec2::new(problem.scale.x, problem.scale.y);
    let plane: Vec<_> = found
        .iter()
        .map(|c| PlanePoint {
            place: c.place.component_mul(&scale),
            at: c.at,
            sigma_px: c.sigma_px,
        })
        .collect();
    pose_of_plane(camera, &plane).map_err(|error| {
        Error::unmeasurable(
            Some(&photo.name),
            say!(
                "the pose of the {name} in {} cannot be solved ({error})",
                photo.name
            ),
            say!("take the photo again with the whole {name} in view"),
        )
    })
}

/// A first axis in the fixed frame: along the middle of the turning target's normals, through the middle of its places.
/// Medians, since a small flat target seen face-on may come out leaning the wrong way in single photos.
fn first_axis(fixed_from_turning: &[Pose]) -> Pose {
    let median = |pick: &dyn Fn(&Pose) -> f64| {
        let mut values: Vec<f64> = fixed_from_turning.iter().map(pick).collect();
        values.sort_by(f64::total_cmp);
        values[values.len() / 2]
    };
    let normal = Vec3::from_fn(|k, _| median(&|pose| pose.direction(&Vec3::z())[k]));
    let count = fixed_from_turning.len() as f64;
    let origin: Vec3 = fixed_from_turning.iter().map(Pose::translation).sum::<Vec3>() / count;
    let z = if normal.norm() > 0.1 {
        normal.normalize()
    } else {
        Vec3::z()
    };
    let helper = if z.x.abs() < 0.7 { Vec3::x() } else { Vec3::y() };
    let x = (helper - z * helper.dot(&z)).normalize();
    Pose::from_matrix(&Matrix3::from_columns(&[x, z.cross(&x), z]), origin)
}

fn angle_about(fixed_from_axis: &Pose, fixed_from_turning: &Pose) -> f64 {
    let turn = (fixed_from_axis.inverse() * *fixed_from_turning).rotation();
    turn[(1, 0)].atan2(turn[(0, 0)])
}

fn check_enough(problem: &Problem, photos: &[Observed], used: &[usize], fewest: usize) -> Result<(), Error> {
    for (name, where_to) in [
        (
            &problem.fixed.0,
            say!("stick it on a part that stands still, in view beside the wheel"),
        ),
        (&problem.turning.0, say!("stick it on the wheel around the axle")),
    ] {
        if photos.iter().all(|photo| corners_of(photo, name).is_none()) {
            return Err(Error::unmeasurable(
                None,
                say!("no photo shows the {name} with {FEWEST_CORNERS} or more corners"),
                say!("{where_to}, and have all of it in every photo, sharp and without glare"),
            ));
        }
    }
    if used.len() < fewest {
        let missing = (0..photos.len())
            .filter(|i| !used.contains(i))
            .map(|i| &photos[i]);
        return Err(Error::unmeasurable(
            None,
            say!(
                "{} and {} are both in view in {} of the {fewest} photos that are needed; not in {}",
                problem.fixed.0,
                problem.turning.0,
                used.len(),
                list_of(missing)
            ),
            say!("take the photos again with both targets whole in view, sharp and without glare"),
        ));
    }
    Ok(())
}
