//! The scene of a job before its edges are looked at: which photos show the fixed target, and where each was taken
//! from, by the target's corners alone.

use crate::cameras::{self, Cameras};
use crate::observe::Observed;
use crate::stale;
use crate::told::{drawn_target, list_of};
use crate::{Error, JobInput, asked};
use shimwright_detect::FoundCorner;
use shimwright_geom::Vec2;
use shimwright_record::{PhotoUse, Phrase, PrintScale};
use shimwright_say::say;
use shimwright_solve::{
    CornerSight, JointProblem, JointState, Options, PhotoState, PlanePoint, Priors, SHIFTS, pose_of_plane,
};

/// Fewest corners of the target that a photo must show.
const FEWEST_CORNERS: usize = 6;
/// Blur taken when no corner tells, px.
const USUAL_BLUR: f64 = 0.9;

/// The fixed target as the job describes it.
pub(crate) struct Setting {
    /// Its name.
    pub fixed: String,
    /// Middle of its printed pattern, mm.
    pub middle: Vec2,
    /// Half the size of its pattern, mm.
    pub half: Vec2,
    /// Print scale.
    pub scale: PrintScale,
    /// Whether the user measured the print scale.
    pub scale_checked: bool,
    /// Standard deviation of the target's sagitta along x and y, mm.
    pub bend_sigma: Vec2,
}

impl Setting {
    /// Reads target and print scale from a job.
    pub fn of(input: &JobInput, default_target: &str, bend_sigma: Vec2) -> Result<Self, Error> {
        let named = input.job.targets.as_ref().and_then(|t| t.fixed.clone());
        let fixed = named.unwrap_or_else(|| default_target.into());
        let (low, high) = asked::target(input, &fixed)?.pattern_box();
        let (scale, scale_checked) = asked::print_scale(input.job)?;
        Ok(Self {
            fixed,
            middle: (low + high) / 2.0,
            half: (high - low) / 2.0,
            scale,
            scale_checked,
            bend_sigma,
        })
    }

    /// The target's corners in a photo, when there are enough.
    pub fn corners<'a>(&self, photo: &'a Observed) -> Option<&'a [FoundCorner]> {
        let found = photo.found.targets.iter().find(|t| t.name == self.fixed)?;
        (found.corners.len() >= FEWEST_CORNERS).then_some(&found.corners)
    }

    /// Blur of the target's corners in a photo, px.
    pub fn blur(&self, photo: &Observed) -> f64 {
        let target = photo.found.targets.iter().find(|t| t.name == self.fixed);
        target.and_then(|t| t.blur_px()).unwrap_or(USUAL_BLUR)
    }
}

/// The solved scene.
pub(crate) struct Scene {
    /// The target.
    pub setting: Setting,
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
}

impl Scene {
    /// Solves for the photos' places.
    pub fn solve(setting: Setting, photos: &[Observed], input: &JobInput) -> Result<Self, Error> {
        let used: Vec<usize> = (0..photos.len())
            .filter(|&i| setting.corners(&photos[i]).is_some())
            .collect();
        if used.is_empty() {
            return Err(Error::unmeasurable(
                None,
                say!(
                    "no {} with {FEWEST_CORNERS} or more corners in view in {}",
                    setting.fixed,
                    list_of(photos.iter())
                ),
                say!("have all of the printed target in the photo, sharp and without glare"),
            ));
        }
        let cameras = cameras::choose(photos, input.camera)?;
        let mut scene = Self::started(setting, photos, used, cameras, input.camera.is_some())?;
        let solved = scene
            .joint()
            .solve(scene.state.clone(), &Options::default())
            .and_then(|solution| solution.at_rest(&Options::default()))
            .map_err(|error| {
                Error::unmeasurable(
                    None,
                    say!("the photos do not fit together ({error})"),
                    say!("take the photos again with the whole target in view"),
                )
            })?;
        scene.state = solved.state.clone();
        if input.camera.is_some() {
            scene.warnings.extend(stale::warning(&scene.joint(), &solved));
        }
        if !scene.setting.scale_checked {
            scene.warnings.push(
                say!("the print scale was never checked: an error of 1 % of the printer is allowed for; measure both bars \
                 on the sheet with callipers and enter their lengths"),
            );
        }
        Ok(scene)
    }

    fn started(
        setting: Setting,
        photos: &[Observed],
        used: Vec<usize>,
        cameras: Cameras,
        with_profile: bool,
    ) -> Result<Self, Error> {
        let scale = Vec2::new(setting.scale.x, setting.scale.y);
        let mut corners = Vec::new();
        let mut states = Vec::new();
        for (k, &i) in used.iter().enumerate() {
            let camera = cameras.of_photo[i];
            let found = setting.corners(&photos[i]).unwrap_or_default();
            let plane: Vec<_> = found
                .iter()
                .map(|c| PlanePoint {
                    place: c.place.component_mul(&scale),
                    at: c.at,
                    sigma_px: c.sigma_px,
                })
                .collect();
            let pose = pose_of_plane(&cameras.cameras[camera], &plane)
                .map_err(|error| no_pose(&setting, &photos[i], error.halves().0))?;
            states.push(PhotoState {
                camera_from_fixed: pose,
                focal: 1.0,
                camera,
                edge_shift: [[0.0; SHIFTS]; 2],
            });
            corners.extend(found.iter().map(|c| CornerSight {
                photo: k,
                place: c.place,
                at: c.at,
                sigma_px: c.sigma_px,
            }));
        }
        Ok(Self {
            priors: Priors {
                cameras: cameras.priors,
                aspect_sigma: if with_profile { 0.001 } else { 0.003 },
                focal_factor_sigma: cameras.focal_factor_sigma,
                scale,
                scale_sigma: setting.scale.u95 / 1.96,
                bend_sigma: setting.bend_sigma,
                radius: None,
                square_sigma: 1.0,
                lean_sigma: 1.0,
                edge_shift_sigma: [1.0; SHIFTS],
                heights: vec![],
            },
            state: JointState {
                cameras: cameras.cameras,
                photos: states,
                scale,
                bend: Vec2::zeros(),
                line: None,
                circle: None,
            },
            setting,
            used,
            corners,
            warnings: cameras.warnings,
        })
    }

    /// The joint problem of the corners.
    pub fn joint(&self) -> JointProblem<'_> {
        JointProblem {
            corners: &self.corners,
            edges: &[],
            priors: &self.priors,
            middle: self.setting.middle,
            half: self.setting.half,
            photos: self.used.len(),
            has_line: false,
            has_circle: false,
            edge_loss: shimwright_solve::Loss::Cauchy(3.0),
        }
    }

    /// What each photo of the job gave; `draw` adds what was found in a used photo, by its index among those.
    pub fn photo_lines(
        &self,
        photos: &[Observed],
        state: &JointState,
        draw: impl Fn(usize) -> Vec<shimwright_record::Drawn>,
    ) -> Vec<PhotoUse> {
        let line = |(i, photo): (usize, &Observed)| {
            let mut drawn: Vec<_> = photo.found.targets.iter().map(drawn_target).collect();
            match self.used.iter().position(|&used| used == i) {
                Some(k) => {
                    drawn.extend(draw(k));
                    PhotoUse {
                        file: photo.name.clone(),
                        corners: self.setting.corners(photo).map_or(0, <[_]>::len),
                        rms_px: self.rms_px(state, k),
                        used: true,
                        note: None,
                        drawn,
                    }
                }
                None => PhotoUse {
                    file: photo.name.clone(),
                    corners: 0,
                    rms_px: 0.0,
                    used: false,
                    note: Some(say!("no {} with enough corners in view", self.setting.fixed)),
                    drawn,
                },
            }
        };
        photos.iter().enumerate().map(line).collect()
    }

    /// Root mean square residual of a photo's corners along each axis, px.
    fn rms_px(&self, state: &JointState, photo: usize) -> f64 {
        let joint = self.joint();
        let camera = state.camera_of(photo);
        let pose = state.photos[photo].camera_from_fixed;
        let (mut squares, mut count) = (0.0, 0usize);
        for sight in self.corners.iter().filter(|sight| sight.photo == photo) {
            let place = joint.corner_place(state, &sight.place).0;
            if let Some(seen) = camera.project(&pose.point(&place)) {
                squares += (seen - sight.at).norm_squared();
                count += 2;
            }
        }
        (squares / count.max(1) as f64).sqrt()
    }
}

fn no_pose(setting: &Setting, photo: &Observed, why: Phrase) -> Error {
    Error::unmeasurable(
        Some(&photo.name),
        say!(
            "the pose of the {} in {} cannot be solved ({why})",
            setting.fixed,
            photo.name
        ),
        say!("take the photo again with the whole target in view"),
    )
}
