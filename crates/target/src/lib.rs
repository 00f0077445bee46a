//! The printed targets: what is on the paper and where, in millimetres.
//!
//! Definitions are data (`calibration/targets.json`, and files of the same format that users add); this crate
//! reads and checks them, holds the codes of the tag family, and gives each target as shapes to draw. It does
//! not know pictures, cameras or paper sizes.
//!
//! All coordinates are in the target's frame seen from its printed side: x right, y down, z into the paper,
//! millimetres. A board's origin is the top-left corner of its pattern, a ring's its centre.
//!
//! ```
//! use shimwright_target::{TargetSet, tag36h11};
//!
//! let targets = TargetSet::built_in();
//! let card = targets.by_name("mount-card").expect("the mount card is built in");
//! assert_eq!(card.tags()[0].id, 100);
//! assert_eq!(card.saddles().len(), 14);
//! let found = tag36h11::decode(tag36h11::bits(100).expect("an id of the family"), 2);
//! assert_eq!(found.map(|f| f.id), Some(100));
//! ```

mod check;
mod error;
mod file;
mod layout;
mod set;
mod shapes;
pub mod tag36h11;
mod target;

pub use error::Error;
pub use set::TargetSet;
pub use shapes::Shape;
pub use shimwright_geom::Vec2;
pub use target::{Kind, Page, SaddlePlace, TagPlace, Target};
