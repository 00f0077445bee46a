//! What is kept: jobs, results with their uncertainty, boards, stock, advice. Plain data with a stable JSON form.
//!
//! Advice, history, reports and every shell see these types only, so none of them can reach into pixels.
//! Lengths are millimetres and angles degrees in these types, as in the files they are read from.

mod advice;
mod belt;
mod board;
mod caution;
pub mod conformity;
mod day;
mod description;
mod drawing;
mod guidance;
mod job;
mod job_belt;
mod proposal;
mod recentre;
mod result;
mod service;
mod shake;
mod torque;
mod upkeep;

pub use advice::*;
pub use belt::*;
pub use board::*;
pub use caution::*;
pub use day::*;
pub use description::*;
pub use drawing::*;
pub use guidance::*;
pub use job::*;
pub use job_belt::*;
pub use proposal::*;
pub use recentre::*;
pub use result::*;
pub use service::*;
pub use shake::*;
pub use shimwright_phrase::{Phrase, Valued, plainly};
pub use torque::*;
pub use upkeep::*;
