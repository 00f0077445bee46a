//! Calibration of a camera from several views of a flat target.
//!
//! The start is Zhang's closed form (PAMI 22(11), 2000) with the principal point in the middle; then poses and
//! intrinsics are solved jointly, with weak priors that only hold what the views leave open.

use crate::joint::CORNER_LOSS;
use crate::{
    CornerSight, Error, Homography, JointProblem, JointSolution, JointState, Options, PhotoState, PlanePoint,
    Priors, SHIFTS, pose_of_plane,
};
use nalgebra::{DMatrix, SMatrix};
use shimwright_camera::{Camera, INTRINSICS};
use shimwright_geom::{Pose, Vec2, Vec3};

/// Covariance of the intrinsics, in their order.
pub type IntrinsicsCovariance = SMatrix<f64, INTRINSICS, INTRINSICS>;

/// Fewest views: two leave the principal point to the priors.
const FEWEST_VIEWS: usize = 2;
/// How often the corners' standard deviations are raised to the scatter that is seen.
const MOST_RAISES: usize = 4;
/// Scatter that is near enough to the stated one.
const ENOUGH: f64 = 1.02;

/// As long as the standard deviations are raised the solve need not come to rest: costs are compared to a hundredth.
const UNDERWAY: Options = Options {
    iterations: 60,
    relative_fall: 1e-7,
};

/// What is known before a calibration, as standard deviations.
#[derive(Clone, Debug)]
pub struct CalibrationPriors {
    /// Focal length, relative (1).
    pub focal: f64,
    /// fx against fy, relative (1): pixels are nearly square.
    pub aspect: f64,
    /// Principal point from the middle, as a share of the picture's longer side (1).
    pub centre: f64,
    /// k1 and k2.
    pub distortion: f64,
    /// p1 and p2.
    pub tangential: f64,
    /// Logarithm of a photo's focal factor: zero when all were taken at one focus.
    pub focal_factor: f64,
    /// Print scale of the target along x and y, and its standard deviation. A part common to both axes leaves the
    /// intrinsics alone; a difference between the axes does not.
    pub scale: Vec2,
    /// Standard deviation of the print scale (1).
    pub scale_sigma: f64,
    /// Sagitta of the target along x and y, mm.
    pub bend: Vec2,
}

impl Default for CalibrationPriors {
    fn default() -> Self {
        Self {
            focal: 0.3,
            aspect: 0.01,
            centre: 0.05,
            distortion: 0.5,
            tangential: 0.01,
            focal_factor: 0.0,
            scale: Vec2::new(1.0, 1.0),
            scale_sigma: 0.0,
            bend: Vec2::zeros(),
        }
    }
}

/// Views of one flat target by one camera.
#[derive(Clone, Debug)]
pub struct CalibrationProblem<'a> {
    /// Picture width, px.
    pub width: u32,
    /// Picture height, px.
    pub height: u32,
    /// The corners of each view.
    pub views: &'a [Vec<PlanePoint>],
    /// Focal length that is known beforehand, px.
    pub focal_px: Option<f64>,
    /// What else is known.
    pub priors: CalibrationPriors,
}

/// A calibrated camera.
#[derive(Clone, Debug)]
pub struct Calibration {
    /// The camera.
    pub camera: Camera,
    /// Covariance of its intrinsics.
    pub covariance: IntrinsicsCovariance,
    /// The covariance split by source, in the order of [`crate::Group::ALL`]; the parts add up to the whole.
    pub parts: Vec<IntrinsicsCovariance>,
    /// `camera_from_target` of each view.
    pub poses: Vec<Pose>,
    /// Focal factor of each view.
    pub focal_factors: Vec<f64>,
    /// Sagitta of the target along x and y, mm, and the standard deviations of the two.
    pub bend: (Vec2, Vec2),
    /// Sum of squared distances between seen and projected corners, px², of each view.
    pub squares: Vec<f64>,
    /// Factor by which the corners scatter more than stated; the covariance allows for it. At least 1.
    pub dispersion: f64,
    /// Robust cost of the corners as stated, for comparing models.
    pub cost: f64,
}

impl Calibration {
    /// Standard deviations of the intrinsics.
    pub fn sigma(&self) -> [f64; INTRINSICS] {
        std::array::from_fn(|k| self.covariance[(k, k)].max(0.0).sqrt())
    }

    /// Root mean square distance between seen and projected corners over all views, px.
    pub fn rms_px(&self, problem: &CalibrationProblem) -> f64 {
        let corners: usize = problem.views.iter().map(Vec::len).sum();
        (self.squares.iter().sum::<f64>() / corners.max(1) as f64).sqrt()
    }
}

impl CalibrationProblem<'_> {
    /// Calibrates.
    ///
    /// # Errors
    /// [`Error::TooFew`] below two views, [`Error::Degenerate`] when a view shows no plane or the views leave
    /// something free, [`Error::NotFinite`] when no start is possible.
    pub fn solve(&self) -> Result<Calibration, Error> {
        if self.views.len() < FEWEST_VIEWS {
            return Err(Error::TooFew {
                need: FEWEST_VIEWS,
                got: self.views.len(),
            });
        }
        let (camera, poses) = self.start()?;
        let mut state = JointState {
            cameras: vec![camera],
            photos: poses.into_iter().map(photo_state).collect(),
            scale: self.priors.scale,
            bend: Vec2::zeros(),
            line: None,
            circle: None,
        };
        let priors = self.joint_priors(&camera);
        let (middle, half) = self.target_box();
        let mut raised = 1.0;
        let mut first_cost = None;
        for round in 0.. {
            let corners = self.sights(raised);
            let joint = JointProblem {
                corners: &corners,
                edges: &[],
                priors: &priors,
                middle,
                half,
                photos: self.views.len(),
                has_line: false,
                has_circle: false,
                edge_loss: crate::Loss::Squares,
            };
            let solution = joint.solve(state, &UNDERWAY)?;
            first_cost.get_or_insert(solution.cost);
            let scatter = self.scatter(&joint, &solution.state, raised);
            if scatter < ENOUGH || round == MOST_RAISES {
                // Before this corners claim to be known too well: a fall of the cost then says little, and the next round
                // goes on from here.
                let options = Options::default();
                let solution = joint.solve(solution.state, &options)?.at_rest(&options)?;
                let cost = first_cost.unwrap_or(solution.cost);
                return self.finish(&joint, &solution, raised, cost);
            }
            raised *= scatter;
            state = solution.state;
        }
        Err(Error::NotFinite)
    }

    /// The better of the possible starts: camera and poses.
    fn start(&self) -> Result<(Camera, Vec<Pose>), Error> {
        let side = f64::from(self.width.max(self.height));
        let guesses = [self.closed_form(), self.focal_px, Some(0.9 * side)];
        let mut best: Option<(f64, Camera, Vec<Pose>)> = None;
        let mut trouble = Error::NotFinite;
        for focal in guesses.into_iter().flatten() {
            let camera = Camera::ideal(self.width, self.height, focal);
            match self.poses(&camera) {
                Ok((cost, poses)) if best.as_ref().is_none_or(|b| cost < b.0) => {
                    best = Some((cost, camera, poses));
                }
                Ok(_) => {}
                Err(error) => trouble = error,
            }
        }
        best.map(|(_, camera, poses)| (camera, poses)).ok_or(trouble)
    }

    /// Focal length by Zhang's closed form, with square pixels and the principal point in the middle; `None` when
    /// the views are too alike to tell.
    fn closed_form(&self) -> Option<f64> {
        let side = f64::from(self.width.max(self.height));
        let middle = Vec2::new(f64::from(self.width) - 1.0, f64::from(self.height) - 1.0) / 2.0;
        let (mut above, mut below) = (0.0, 0.0);
        for view in self.views {
            let pairs: Vec<_> = view.iter().map(|p| (p.place, (p.at - middle) / side)).collect();
            let h = Homography::fit(&pairs)?.0;
            let (a, b) = (h.column(0), h.column(1));
            let weight = 1.0 / (a.norm() * b.norm());
            // The picture of the absolute conic, diag(s, s, 1), sees the two axes square and of one length.
            for (u, v) in [
                (a.x * b.x + a.y * b.y, a.z * b.z),
                (
                    (a.x * a.x + a.y * a.y - b.x * b.x - b.y * b.y) / 2.0,
                    (a.z * a.z - b.z * b.z) / 2.0,
                ),
            ] {
                above -= weight * weight * u * v;
                below += weight * weight * u * u;
            }
        }
        let focal = (below / above).sqrt();
        (0.2..20.0).contains(&focal).then_some(focal * side)
    }

    fn poses(&self, camera: &Camera) -> Result<(f64, Vec<Pose>), Error> {
        let mut cost = 0.0;
        let mut poses = Vec::with_capacity(self.views.len());
        for view in self.views {
            let scaled: Vec<PlanePoint> = view.iter().map(|p| self.scaled(p)).collect();
            let pose = pose_of_plane(camera, &scaled)?;
            for point in &scaled {
                let place = Vec3::new(point.place.x, point.place.y, 0.0);
                let seen = camera.project(&pose.point(&place)).ok_or(Error::NotFinite)?;
                cost += (seen - point.at).norm_squared();
            }
            poses.push(pose);
        }
        Ok((cost, poses))
    }

    fn scaled(&self, point: &PlanePoint) -> PlanePoint {
        PlanePoint {
            place: point.place.component_mul(&self.priors.scale),
            ..*point
        }
    }

    fn sights(&self, raised: f64) -> Vec<CornerSight> {
        self.views
            .iter()
            .enumerate()
            .flat_map(|(photo, view)| {
                view.iter().map(move |p| CornerSight {
                    photo,
                    place: p.place,
                    at: p.at,
                    sigma_px: p.sigma_px * raised,
                })
            })
            .collect()
    }

    /// Middle and half size of the part of the target that was seen, mm.
    fn target_box(&self) -> (Vec2, Vec2) {
        let places = || self.views.iter().flatten().map(|p| p.place);
        let far = Vec2::repeat(f64::INFINITY);
        let low = places().fold(far, |low, p| low.inf(&p));
        let high = places().fold(-far, |high, p| high.sup(&p));
        ((low + high) / 2.0, ((high - low) / 2.0).map(|v| v.max(1e-9)))
    }

    fn joint_priors(&self, start: &Camera) -> Priors {
        let known = &self.priors;
        let mut expected = *start;
        if let Some(focal) = self.focal_px {
            expected = Camera::ideal(self.width, self.height, focal);
        }
        let focal = known.focal * expected.intrinsics[0];
        let centre = known.centre * f64::from(self.width.max(self.height));
        let (radial, tangential) = (known.distortion, known.tangential);
        let sigma = [
            focal, focal, centre, centre, radial, radial, tangential, tangential, 0.0,
        ];
        Priors {
            cameras: vec![(expected.intrinsics, sigma)],
            aspect_sigma: known.aspect,
            focal_factor_sigma: known.focal_factor,
            scale: known.scale,
            scale_sigma: known.scale_sigma,
            bend_sigma: known.bend,
            radius: None,
            square_sigma: 1.0,
            lean_sigma: 1.0,
            edge_shift_sigma: [1.0; SHIFTS],
            heights: vec![],
        }
    }

    /// Scatter of the residuals in standard deviations, with outliers weighed down as the solve does.
    fn scatter(&self, joint: &JointProblem, state: &JointState, raised: f64) -> f64 {
        let (mut squares, mut weights, mut count) = (0.0, 0.0, 0.0);
        for (_, point, miss) in self.misses(joint, state) {
            let sigma = point.sigma_px * raised;
            for axis in 0..2 {
                let r2 = (miss[axis] / sigma).powi(2);
                let weight = CORNER_LOSS.cost_and_weight(r2).1;
                squares += weight * r2;
                weights += weight;
                count += 1.0;
            }
        }
        let unknown = (6 * self.views.len() + INTRINSICS - 1) as f64;
        let free: f64 = (count - unknown).max(1.0);
        (squares / weights * count / free).sqrt()
    }

    /// Index of the view, corner, and how far the projected corner lies from the seen one, px.
    fn misses<'s>(
        &'s self,
        joint: &'s JointProblem,
        state: &'s JointState,
    ) -> impl Iterator<Item = (usize, &'s PlanePoint, Vec2)> {
        self.views.iter().enumerate().flat_map(move |(photo, view)| {
            let camera = state.camera_of(photo);
            let pose = state.photos[photo].camera_from_fixed;
            view.iter().filter_map(move |point| {
                let (place, _) = joint.corner_place(state, &point.place);
                Some((photo, point, camera.project(&pose.point(&place))? - point.at))
            })
        })
    }

    fn finish(
        &self,
        joint: &JointProblem,
        solution: &JointSolution,
        dispersion: f64,
        cost: f64,
    ) -> Result<Calibration, Error> {
        let state = &solution.state;
        let whole = solution.covariance()?;
        let at = joint.cameras_at();
        let bend = joint.bend_at();
        let rows = whole.rows(at, INTRINSICS);
        let part = |normal: &DMatrix<f64>| {
            let part = rows * normal * rows.transpose();
            part.fixed_view::<INTRINSICS, INTRINSICS>(0, 0).into_owned()
        };
        let mut squares = vec![0.0; self.views.len()];
        for (photo, _, miss) in self.misses(joint, state) {
            squares[photo] += miss.norm_squared();
        }
        Ok(Calibration {
            camera: state.cameras[0],
            covariance: whole.fixed_view::<INTRINSICS, INTRINSICS>(at, at).into_owned(),
            parts: solution.normal_by_group.iter().map(part).collect(),
            poses: state.photos.iter().map(|p| p.camera_from_fixed).collect(),
            focal_factors: state.photos.iter().map(|p| p.focal).collect(),
            bend: (
                state.bend,
                Vec2::new(whole[(bend, bend)].sqrt(), whole[(bend + 1, bend + 1)].sqrt()),
            ),
            squares,
            dispersion,
            cost,
        })
    }
}

fn photo_state(camera_from_fixed: Pose) -> PhotoState {
    PhotoState {
        camera_from_fixed,
        focal: 1.0,
        camera: 0,
        edge_shift: [[0.0; SHIFTS]; 2],
    }
}
