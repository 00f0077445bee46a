//! A sentence that can be said in any language: its English words, the template that they were made from, and the values in it.
//!
//! The English of a sentence stands in one place, where it is said, by the macros of `shimwright-say`. They take what `format!`
//! takes and make a [`Phrase`]. Its code is its [`template`]: the same words with names in the places of values. Whoever speaks another
//! language looks its own sentence up under the code and puts the values in, in its own units. A phrase without a code, such as an
//! operating system's error or a sentence kept by an older program, can only be shown as it is.
//!
//! This crate knows no language but the one that the phrases are written in.
//!
//! ```
//! use shimwright_phrase::{Phrase, Value};
//! let phrase = Phrase::made("the gap is {gap}", "the gap is 1.42 mm".into(), vec![("gap", Value::length(1.4217, None, Some(2)))]);
//! assert_eq!(phrase, "the gap is 1.42 mm");
//! assert_eq!(phrase.code(), Some("the gap is {gap}"));
//! assert_eq!(shimwright_phrase::plainly(|| serde_json::to_string(&phrase).unwrap()), "\"the gap is 1.42 mm\"");
//! ```

mod argument;
mod form;
mod phrase;
pub mod template;
mod value;

pub use argument::{Argument, How, Said, ViaDisplay, ViaSaid};
pub use form::{Coded, Form, plainly};
pub use phrase::Phrase;
pub use value::{Value, Valued};
