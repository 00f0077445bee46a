//! Why a bundle could not be made or read at all. What is wrong inside a bundle that can be read is a finding.

use shimwright_phrase::Phrase;

/// Why a bundle could not be made or read at all.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error, shimwright_say::Halves)]
#[non_exhaustive]
pub enum Error {
    /// The file is no zip archive, or its index was changed or cut off.
    #[error("the archive's index cannot be read ({what}); ask for the file again as it was handed out")]
    Index {
        /// What is wrong with it.
        what: Phrase,
    },
    /// A limit was passed.
    #[error("{what} is {is} and the limit is {limit}; a bundle of this program never comes near it")]
    Limit {
        /// What is too large.
        what: Phrase,
        /// How large it is.
        is: u64,
        /// The limit.
        limit: u64,
    },
    /// A name that leads out of the bundle or means different things on different systems.
    #[error(
        "the archive holds a file named {name:?}, which {why}; do not unpack it, and ask for the file as it was handed out"
    )]
    Name {
        /// The name.
        name: String,
        /// What is wrong with it.
        why: Phrase,
    },
    /// Two entries with one name.
    #[error(
        "the archive holds {name:?} twice, so it would show different things to different programs; ask for the file as \
         it was handed out"
    )]
    Twice {
        /// The name.
        name: String,
    },
    /// An entry that is no plain file, or packed in a way that bundles are not.
    #[error("{name} is {what}, which no bundle holds; ask for the file as it was handed out")]
    Kind {
        /// The entry.
        name: String,
        /// What it is.
        what: Phrase,
    },
    /// A file that every bundle has.
    #[error(
        "the archive has no {name}, so it is no evidence bundle, or one that was changed; name the right file"
    )]
    Missing {
        /// The file.
        name: &'static str,
    },
    /// A file of the bundle cannot be read.
    #[error(
        "{name} cannot be read ({what}): it was changed, or a newer program wrote it; ask for the file again"
    )]
    Unreadable {
        /// The file.
        name: String,
        /// What the reader said.
        what: Phrase,
    },
    /// A bundle of a newer form.
    #[error("{name} has the form {form:?} and this program knows {known:?}; update the program")]
    Newer {
        /// The file.
        name: &'static str,
        /// Its form.
        form: String,
        /// The form that is known.
        known: &'static str,
    },
    /// A key that is none.
    #[error("{what} is no Ed25519 key; it has 64 hexadecimal digits")]
    Key {
        /// Which one.
        what: Phrase,
    },
    /// A moment that cannot be read.
    #[error("`{0}` is no moment; write it like 2026-03-08T10:00:00+01:00")]
    Moment(String),
}
