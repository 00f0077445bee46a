//! Every entrance of the program for bytes that somebody else wrote, as functions that must come back whatever they are
//! given, and a way to spoil good input. The tests here run them over spoiled seeds on the stable compiler; `tests/fuzz`
//! hands the same functions to libFuzzer.

mod entrances;
mod keeping;
mod memory;
mod seeds;
mod spoiling;

pub use entrances::{ALL, Entrance, take_in};
pub use memory::peak_bytes;
pub use seeds::{found, jpegs, seeds};
pub use spoiling::Spoiler;
