//! Least squares with robust weights and covariance, and the geometric problems built on it: pose of a flat
//! target, camera calibration, and the joint solve of poses, camera, print scale, straight edges and rims over all photos of a job.
//!
//! Knows nothing of pixels beyond their coordinates: observations come in with a standard deviation each.

mod calibrate;
mod error;
mod features;
mod homography;
mod joint;
mod least_squares;
mod lens_field;
mod plane_pose;
mod trials;
mod turn;

pub use calibrate::{Calibration, CalibrationPriors, CalibrationProblem, IntrinsicsCovariance};
pub use error::Error;
pub use features::{Circle, CurvePoint, Line};
pub use homography::Homography;
pub use joint::{
    CornerSight, CurveSight, CurvesProblem, CurvesSolution, CurvesState, EdgeSight, FeatureId, Group,
    JointProblem, JointSolution, JointState, Known, PhotoState, Priors, SHIFTS, Shape,
};
pub use least_squares::{Loss, Model, Options, Residuals, Solution, solve};
pub use lens_field::{WorstPlace, field_difference};
pub use plane_pose::{PlanePoint, pose_of_plane};
pub use trials::{Trials, solve_again};
pub use turn::{
    LIGHT, Loose, Print, Slip, Standing, Steadiness, TurnPhoto, TurnPriors, TurnProblem, TurnSolution,
    TurnState, Wobble, steadiness,
};
