//! Made-up scenes and photos of them with exact truth, for tests only: camera with its lens, surfaces with their
//! edges, light, blur, noise, bytes. Seeded: the same seed gives the same picture on every machine.
//!
//! It holds no detector, no estimator and no file format. Light is linear until the last step.
//!
//! ```
//! use shimwright_synth::{GapLimits, GapScene, render};
//! use shimwright_target::TargetSet;
//!
//! let targets = TargetSet::built_in();
//! let limits = GapLimits { width: 320, ..GapLimits::default() };
//! let made = GapScene::random(targets.by_name("mount-card").unwrap(), &limits, 1);
//! let photo = render(&made.scene, &made.shots[0], 1);
//! assert_eq!((photo.width(), photo.height()), (320, 240));
//! assert!(made.truth.gap > 0.2 && made.truth.gap < 3.2);
//! ```

mod alignment;
mod drive;
mod form;
mod gap;
mod lens;
mod light;
mod paint;
mod part;
mod print;
mod render;
mod scene;
mod sensor;
mod shot;
mod turn;

pub use alignment::{AlignmentLimits, AlignmentScene, AlignmentTruth, Pulley};
pub use drive::Sheet;
pub use form::{Bow, Form, Outline};
pub use gap::{GapLimits, GapScene, GapTruth};
pub use light::{Light, Rim, Shadow, Wall};
pub use paint::{Grain, Paint};
pub use part::{PartLimits, PartScene, PartTruth};
pub use print::Print;
pub use render::render;
pub use scene::{Scene, Surface};
pub use shot::{Sensor, Shot, looking_at};
pub use turn::{Play, TurnLimits, TurnPhoto, TurnScene, TurnTruth};

#[cfg(test)]
mod tests;
