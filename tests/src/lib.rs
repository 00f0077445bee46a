//! Whole-job tests and outside references; holds no product code.

pub mod coverage;
pub mod house;
pub mod made;
pub mod measured;
pub mod outside;
pub mod parts;
pub mod plays;
pub mod pulleys;
pub mod rendered;
pub mod stand;
