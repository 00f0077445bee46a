//! Conventions, vectors, rigid poses, grey pictures and seeded random numbers: the words that every measuring crate shares.
//!
//! It depends on no image format, file, clock or database.
//!
//! # Conventions
//! - Lengths are millimetres, angles radians inside the program and degrees in files and on screen.
//! - A pixel coordinate (0, 0) is the *centre* of the top-left pixel, after the EXIF orientation was applied.
//! - A camera frame has x right, y down, z forward (the OpenCV convention).
//! - A printed target's frame seen from its printed side has x right, y down, z into the paper.
//! - A pose named `a_from_b` maps coordinates in frame b to coordinates in frame a.
//! - The four corners of a tag are top-left, top-right, bottom-right, bottom-left of the upright tag.

mod picture;
mod pose;
mod random;

pub use picture::{GreyPicture, linear_light};
pub use pose::Pose;
pub use random::{Random, mixed};

/// A point or offset in a picture, in pixels.
pub type Vec2 = nalgebra::Vector2<f64>;
/// A point or direction in space, in millimetres unless it is a unit direction.
pub type Vec3 = nalgebra::Vector3<f64>;
/// A symmetric 2 x 2 covariance, in square pixels.
pub type Cov2 = nalgebra::Matrix2<f64>;
