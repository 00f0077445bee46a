//! What is kept: jobs, results with their uncertainty, boards, stock, advice. Plain data with a stable JSON form.
//!
//! Advice, history, reports and every shell see these types only, so none of them can reach into pixels.
//! Lengths are millimetres and angles degrees in these types, as in the files they are read from.

mod advice;
mod board;
mod caution;
pub mod conformity;
mod job;
mod result;
mod service;

pub use advice::*;
pub use board::*;
pub use caution::*;
pub use job::*;
pub use result::*;
pub use service::*;
