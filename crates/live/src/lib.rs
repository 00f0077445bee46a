//! Judges the pictures of a running camera: what is seen in one, what keeps it from being a good photo, and whether it
//! shows anything that the photos taken before do not. [`glimpse`] tells where the targets of a photo lie before it is measured.
//!
//! Nothing is measured here and nothing is remembered but how still the last pictures were: [`look`] is a function of a
//! picture, [`judge`] of what was seen and of the [`View`]s taken. It knows no files, windows or clocks. Directions come
//! from a guessed field of view and are good to a few degrees, which is enough to tell one side from another.
//!
//! ```
//! use shimwright_geom::GreyPicture;
//! use shimwright_live::{Stillness, Trouble, Wish, judge, look};
//! use shimwright_record::CheckKind;
//! use shimwright_target::TargetSet;
//!
//! let wall = GreyPicture::new(320, 240, vec![200; 320 * 240]).expect("as many bytes as pixels");
//! let wish = Wish::of(CheckKind::Turn).expect("a turn is measured from photos");
//! let seen = look(&wall, &TargetSet::built_in(), &wish, 1.0);
//! assert_eq!(seen.troubles, vec![Trouble::NoTarget { wanted: "mount-card".into() }]);
//! let mut stillness = Stillness::default();
//! assert!(!judge(&wish, &seen, stillness.after(&seen), &[]).take);
//! ```

mod glimpse;
mod hidden;
mod judge;
mod light;
mod look;
mod still;
mod tagged;
mod trouble;
mod view;
mod wish;

pub use glimpse::glimpse;
pub use judge::{Judgement, Standing, judge};
pub use look::{Seen, look};
pub use still::Stillness;
pub use trouble::Trouble;
pub use view::{View, Way, wheel_angle};
pub use wish::{News, SECTORS, Wish};
