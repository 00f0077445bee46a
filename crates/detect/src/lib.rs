//! Finds printed targets in grey pictures: tags first, then every corner of a known target, each with its sigma.
//!
//! It knows no files, cameras or photo formats. All places are pixels of the picture given, with (0, 0) the
//! centre of the top-left pixel; places are fitted in linear light.
//!
//! - [`find_tags`] looks for dark regions with four straight sides in the picture and in reduced ones and reads
//!   them as tags of the family 36h11.
//! - [`find_target`] foretells the target's corners from the tags, by maps that fit best nearby, and fits each:
//!   a board's saddles as two crossing blurred edges, a lone tag as printed, with its data cells. Ink that has
//!   grown or shrunk evenly moves neither.
//!
//! ```
//! use shimwright_detect::{TagParams, TargetParams, find_tags, find_target};
//! use shimwright_geom::GreyPicture;
//! use shimwright_target::TargetSet;
//!
//! let paper = GreyPicture::new(320, 240, vec![200; 320 * 240]).expect("as many bytes as pixels");
//! let tags = find_tags(&paper, &TagParams::default());
//! let targets = TargetSet::built_in();
//! let card = targets.by_name("mount-card").expect("the mount card is built in");
//! assert_eq!(find_target(&paper, &tags, card, &TargetParams::default()), None);
//! ```

mod board;
pub mod cores;
mod crossing;
mod decode;
#[cfg(test)]
mod drawn;
mod fit;
mod found;
mod homography;
mod hull;
mod ink;
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
pub use params::{MOST_TAGS, TagParams, TargetParams};
pub use tags::{Tag, find_tags};
pub use target::find_target;
pub use threshold::halved;
