//! Documents as PDF: the sheets of printed targets, and service records.
//!
//! It decides nothing and measures nothing: it draws what it is given, and the same input gives the same bytes.
//!
//! ```
//! use shimwright_report::{Paper, Sheet, target_sheets};
//! use shimwright_target::TargetSet;
//!
//! let sheets = target_sheets(Sheet::MountCard, Paper::A4, &TargetSet::built_in())?;
//! assert_eq!(sheets[0].file_name, "mount-card-a4.pdf");
//! assert!(sheets[0].bytes.starts_with(b"%PDF"));
//! # Ok::<(), shimwright_report::Error>(())
//! ```

mod canvas;
mod error;
mod font;
mod paper;
mod record;
mod sheets;

pub use error::Error;
pub use paper::Paper;
pub use record::*;
pub use sheets::{Axis, SCALE_BAR_MM, ScaleBar, Sheet, SheetPdf, SheetPlan, target_sheet, target_sheets};
