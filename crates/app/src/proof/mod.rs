//! Records that prove: from the history to evidence, record and bundle, and back from a bundle to what still holds.
//!
//! The record is drawn from the evidence and its files alone, whether they come from the history or out of a bundle: so
//! who verifies a bundle can draw the record again and compare.

mod key_file;
mod measured_again;
mod package;
mod page;
mod pictures;
mod series;
mod taken_in;
mod verify;
mod words;

pub(crate) use key_file::{make_key, read_key};
pub(crate) use package::{Package, Told, gather};
pub(crate) use page::{Issue, draw_record};
pub(crate) use taken_in::{is_bundle, visit_of_bundle};
pub use verify::{
    Chain, ChainState, FindingTold, NumberState, NumberTold, RecordState, SignatureState, SignatureTold,
    Verification,
};
pub(crate) use verify::{ChainKnown, verify_bundle};
