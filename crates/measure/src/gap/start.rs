//! The start: poses and lens from the card's corners alone.

use super::problem::Problem;
use super::view::View;
use crate::cameras::{self, Cameras};
use crate::observe::Observed;
use crate::told::list_of;
use crate::{Error, JobInput, asked, stale, target_seen};
use shimwright_geom::{Vec2, Vec3};
use shimwright_record::Phrase;
use shimwright_say::say;
use shimwright_solve::{
    CornerSight, JointProblem, JointState, Loss, Options, PhotoState, PlanePoint, Priors, SHIFTS,
    pose_of_plane,
};

/// Fewest corners of the card that a photo must show.
const FEWEST_CORNERS: usize = 6;

/// White border of a card beyond its pattern, with a little for how it was cut, mm.
const CARD_MARGIN: f64 = 3.6;

/// Standard deviations of the shifts that light and chamfer may give a whole edge in one photo, px: alike everywhere,
/// slanting, bowed.
const EDGE_SHIFT: [f64; SHIFTS] = [0.1; SHIFTS];

/// Poses, lens and scale from the corners, and what the later steps need.
pub(crate) struct Start {
    /// Index in the job of each photo that takes part.
    pub used: Vec<usize>,
    /// Corners of those photos; `photo` counts in `used`.
    pub corners: Vec<CornerSight>,
    /// What is known beforehand.
    pub priors: Priors,
    /// The state solved from the corners.
    pub state: JointState,
    /// What to tell the user.
    pub warnings: Vec<Phrase>,
    /// Middle and half size of the card's pattern, mm.
    pub card: (Vec2, Vec2),
}

impl Start {
    /// Whether a pixel shows the card: its print and its own border are edges of neither part.
    pub fn on_card(&self, view: &View, pixel: &Vec2) -> bool {
        let (ray, eye) = (view.ray(pixel), view.place());
        let at = eye + ray * (-eye.z / ray.z);
        let (middle, half) = self.card;
        let away = (Vec2::new(at.x, at.y) - middle).abs() - half;
        away.x < CARD_MARGIN && away.y < CARD_MARGIN
    }

    /// How many px a millimetre beside the card shows as.
    pub fn px_per_mm(&self, view: &View) -> f64 {
        view.focal_px() / (view.place() - Vec3::new(self.card.0.x, self.card.0.y, 0.0)).norm()
    }

    /// The joint problem with some edge points.
    pub fn joint<'a>(
        &'a self,
        problem: &Problem,
        edges: &'a [shimwright_solve::EdgeSight],
        state: &JointState,
    ) -> JointProblem<'a> {
        JointProblem {
            corners: &self.corners,
            edges,
            priors: &self.priors,
            middle: problem.middle,
            half: problem.half,
            photos: self.used.len(),
            has_line: state.line.is_some(),
            has_circle: state.circle.is_some(),
            edge_loss: Loss::Squares,
        }
    }
}

/// Solves for the poses from the card's corners.
pub(crate) fn from_corners(problem: &Problem, photos: &[Observed], input: &JobInput) -> Result<Start, Error> {
    let used: Vec<usize> = (0..photos.len())
        .filter(|&i| card_corners(problem, &photos[i]).is_some())
        .collect();
    check_enough(problem, photos, &used)?;
    let Cameras {
        cameras,
        priors,
        of_photo,
        focal_factor_sigma,
        warnings,
    } = cameras::choose(photos, input.camera)?;
    let mut corners = Vec::new();
    let mut states = Vec::new();
    for (k, &i) in used.iter().enumerate() {
        let Some(found) = card_corners(problem, &photos[i]) else {
            continue;
        };
        let plane: Vec<_> = found
            .iter()
            .map(|c| PlanePoint {
                place: c
                    .place
                    .component_mul(&Vec2::new(problem.scale.x, problem.scale.y)),
                at: c.at,
                sigma_px: c.sigma_px,
            })
            .collect();
        let pose = pose_of_plane(&cameras[of_photo[i]], &plane).map_err(|error| {
            Error::unmeasurable(
                Some(&photos[i].name),
                say!(
                    "the pose of the card in {} cannot be solved ({error})",
                    photos[i].name
                ),
                say!("take the photo again with the whole card in view"),
            )
        })?;
        states.push(PhotoState {
            camera_from_fixed: pose,
            focal: 1.0,
            camera: of_photo[i],
            edge_shift: [[0.0; SHIFTS]; 2],
        });
        corners.extend(found.iter().map(|c| CornerSight {
            photo: k,
            place: c.place,
            at: c.at,
            sigma_px: c.sigma_px,
        }));
    }
    let scale = Vec2::new(problem.scale.x, problem.scale.y);
    let start = Start {
        priors: Priors {
            cameras: priors,
            aspect_sigma: if input.camera.is_some() { 0.001 } else { 0.003 },
            focal_factor_sigma,
            scale,
            scale_sigma: problem.scale.u95 / 1.96,
            bend_sigma: Vec2::new(0.05, 0.02),
            radius: problem.radius(),
            square_sigma: 0.8f64.to_radians(),
            lean_sigma: 2f64.to_radians(),
            edge_shift_sigma: EDGE_SHIFT,
            heights: problem.stated_heights(),
        },
        state: JointState {
            cameras,
            photos: states,
            scale,
            bend: Vec2::zeros(),
            line: None,
            circle: None,
        },
        used,
        corners,
        warnings,
        card: (problem.middle, problem.half),
    };
    let solution = start
        .joint(problem, &[], &start.state)
        .solve(start.state.clone(), &Options::default());
    let solution = solution.map_err(|error| {
        Error::unmeasurable(
            None,
            say!("the photos do not fit together ({error})"),
            say!("take the photos again with the whole card in view"),
        )
    })?;
    let mut warnings = start.warnings.clone();
    if input.camera.is_some() {
        warnings.extend(stale::warning(
            &start.joint(problem, &[], &start.state),
            &solution,
        ));
    }
    let card = asked::target(input, &problem.fixed)?;
    warnings.extend(target_seen::warnings(photos, &start.used, card));
    warnings.extend(target_seen::bent(
        &problem.fixed,
        &solution.state.bend,
        &start.priors.bend_sigma,
    ));
    Ok(Start {
        state: solution.state,
        warnings,
        ..start
    })
}

/// The card's corners in a photo, when there are enough.
pub(crate) fn card_corners<'a>(
    problem: &Problem,
    photo: &'a Observed,
) -> Option<&'a [shimwright_detect::FoundCorner]> {
    let found = photo.found.targets.iter().find(|t| t.name == problem.fixed)?;
    (found.corners.len() >= FEWEST_CORNERS).then_some(&found.corners)
}

fn check_enough(problem: &Problem, photos: &[Observed], used: &[usize]) -> Result<(), Error> {
    let card = &problem.fixed;
    let missing = || {
        list_of(
            (0..photos.len())
                .filter(|i| !used.contains(i))
                .map(|i| &photos[i]),
        )
    };
    if used.is_empty() {
        return Err(Error::unmeasurable(
            None,
            say!(
                "no {card} with {FEWEST_CORNERS} or more corners in view in {}",
                missing()
            ),
            say!("stick the card beside the edge, have all of it in the photo, sharp and without glare"),
        ));
    }
    if used.len() == 1 && problem.stated_heights().len() < 2 {
        return Err(Error::unmeasurable(
            None,
            say!("only one photo shows the {card}; it is missing in {}", missing()),
            say!("take another photo with the whole card in view, or state `height` of the edges"),
        ));
    }
    let marked =
        |pick: &dyn Fn(&super::problem::PhotoMarks) -> bool| used.iter().any(|&i| pick(&problem.marks[i]));
    let both = marked(&|m| !m.mount.is_empty()) && marked(&|m| !m.rim.is_empty());
    // Marks are what is looked for when there are none.
    if !problem.unmarked() && !both {
        return Err(Error::unmeasurable(
            None,
            say!(
                "the photos that carry the marks do not show the {card} ({})",
                missing()
            ),
            say!("mark the edges in a photo that shows the whole card"),
        ));
    }
    Ok(())
}
