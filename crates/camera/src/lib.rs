//! The camera: pinhole with Brown-Conrady distortion, its derivatives, and its profile file.
//!
//! Pixel (0, 0) is the centre of the top-left pixel of the upright photo; camera frame x right, y down, z forward.
//! Knows nothing of files: a profile is parsed from text.

mod error;
mod exif_prior;
mod model;
mod profile;

pub use error::Error;
pub use exif_prior::{FILM_DIAGONAL_MM, FocalPrior, focal_prior};
pub use model::{Camera, INTRINSICS, Projected};
pub use profile::CameraProfile;
