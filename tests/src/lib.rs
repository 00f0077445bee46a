//! Whole-job tests and outside references; holds no product code.

pub mod house;
pub mod outside;
pub mod rendered;
