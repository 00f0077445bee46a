//! The description of a belt drive: what contradicts itself, and what each field means.

mod check;
mod help;

pub(crate) use check::check_description;
pub use help::{FieldHelp, description_help};
