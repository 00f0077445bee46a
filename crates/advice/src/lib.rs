//! Advice: from stored numbers to work that a person can do at once and safely.
//!
//! It sees `shimwright-record` only: no photos, files, clock or database. A folder for each kind of advice:
//! `spacer`, `recentre`, [`belt`], [`shake`], `torque_table` and `upkeep` (service checks); [`bolt`] and `description` serve
//! several. Every advice carries its cautions, because [`Cautions`](shimwright_record::Cautions) cannot be made without them,
//! and [`Guidance`](shimwright_record::Guidance) gives no text away without its cautions.
//!
//! ```
//! use shimwright_advice::{choose_spacer, default_stock};
//! use shimwright_record::{Corner, CornerGap, Drive, Quantity, SpacerQuestion};
//!
//! let mm = |value, u95| Quantity { value, u95, unit: "mm".to_owned() };
//! let mut stock = default_stock();
//! for ring in &mut stock {
//!     ring.count = 2;
//! }
//! let question = SpacerQuestion {
//!     drive: Drive::default(),
//!     corners: vec![CornerGap {
//!         corner: Corner::Left,
//!         gap: mm(0.35, 0.06),
//!         spacer_thickness: 11.1125,
//!         spacer_label: "7/16 in".to_owned(),
//!         belt_offset: mm(-0.4, 0.2),
//!     }],
//!     stock,
//!     earlier: Vec::new(),
//! };
//! let advice = choose_spacer(&question)?;
//! assert!(advice.fits);
//! assert_eq!(advice.choices[0].rings, ["31/64 in"]);
//! assert!((advice.choices[0].gap_after.value - 1.540625).abs() < 1e-9);
//! assert!(!advice.guidance.cautions().is_empty());
//! # Ok::<(), shimwright_advice::Error>(())
//! ```

mod asked;
pub mod belt;
pub mod bolt;
mod description;
mod drive;
mod error;
mod inch;
mod recentre;
pub mod shake;
mod spacer;
mod stock;
mod torque;
mod torque_table;
mod upkeep;
mod wording;

pub use belt::belt_advice;
pub use description::{FieldHelp, description_help};
pub use drive::{MOST_RINGS, check_drive};
pub use error::Error;
pub use inch::{MM_PER_INCH, Toward, fraction_label, inches, mm_from_fraction};
pub use recentre::recentre;
pub use shake::shake_advice;
pub use spacer::choose_spacer;
pub use stock::{ASSUMED_RING_U95, default_stock};
pub use torque_table::{
    PULLEY_SCREWS, ScrewLimit, check_torque_table, screw_limit, torque_advice, torque_entry, torque_units,
};
pub use upkeep::{ServiceQuestion, check_service_book, due, service_advice};
pub use wording::{Rounded, chance, length, round_to_uncertainty, stack_label};
