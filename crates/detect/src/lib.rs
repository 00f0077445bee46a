//! Finds printed targets in grey pictures: tags, board corners and tag borders, each corner with its sigma.
//!
//! It knows no files, cameras or photo formats. All places are pixels of the picture given, with (0, 0) the
//! centre of the top-left pixel; all light is linear where places are fitted.

mod board;
mod decode;
#[cfg(test)]
mod drawn;
mod fit;
mod found;
mod homography;
mod noise;
mod params;
mod places;
mod print;
mod quad;
mod region;
mod ring;
mod saddle;
mod step;
mod tags;
mod target;
mod threshold;

pub use found::{CornerKind, FoundCorner, FoundTarget};
pub use params::{TagParams, TargetParams};
pub use tags::{Tag, find_tags};
pub use target::find_target;
