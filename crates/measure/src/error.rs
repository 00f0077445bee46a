//! Why a job was not measured.

use shimwright_photo as photo;
use shimwright_record::Phrase;
use shimwright_say::say;

/// Who has to act.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// What was handed in is wrong.
    BadInput,
    /// The photos do not allow the measurement.
    NotMeasurable,
    /// The user cancelled.
    Cancelled,
}

/// A job that was not measured: what is wrong and how to mend it, one sentence each.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{message}; {hint}")]
pub struct Error {
    /// Who has to act.
    pub kind: Kind,
    /// What is wrong, with numbers; lower case, no full stop.
    pub message: Phrase,
    /// What to do next; lower case, no full stop.
    pub hint: Phrase,
    /// The photo or field concerned.
    pub subject: Option<String>,
}

impl Error {
    /// Something handed in is wrong.
    pub(crate) fn bad(subject: Option<&str>, message: Phrase, hint: Phrase) -> Self {
        Self::new(Kind::BadInput, subject, message, hint)
    }

    /// The photos do not allow the measurement.
    pub(crate) fn unmeasurable(subject: Option<&str>, message: Phrase, hint: Phrase) -> Self {
        Self::new(Kind::NotMeasurable, subject, message, hint)
    }

    /// The user cancelled.
    pub(crate) fn cancelled() -> Self {
        Self::new(
            Kind::Cancelled,
            None,
            say!("the measurement was cancelled"),
            say!("start it again when you are ready"),
        )
    }

    /// A tension check was handed in with photos.
    pub(crate) fn heard() -> Self {
        Self::bad(
            Some("check"),
            say!("a `tension` check is heard, not seen"),
            say!("give it a recording in `sound` and no photos"),
        )
    }

    fn new(kind: Kind, subject: Option<&str>, message: Phrase, hint: Phrase) -> Self {
        Self {
            kind,
            message,
            hint,
            subject: subject.map(str::to_owned),
        }
    }

    /// A photo that could not be decoded: its message holds the way to mend it after the first semicolon.
    pub(crate) fn from_photo(name: &str, error: &photo::Error) -> Self {
        let (message, hint) = error.halves();
        let hint = hint.unwrap_or_else(|| say!("use the original photo"));
        Self::bad(Some(name), say!("{name}: {message}"), hint)
    }
}
