//! Why a job was not measured.

use shimwright_photo as photo;

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
    pub message: String,
    /// What to do next; lower case, no full stop.
    pub hint: String,
    /// The photo or field concerned.
    pub subject: Option<String>,
}

impl Error {
    /// Something handed in is wrong.
    pub(crate) fn bad(subject: Option<&str>, message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::new(Kind::BadInput, subject, message, hint)
    }

    /// The photos do not allow the measurement.
    pub(crate) fn unmeasurable(
        subject: Option<&str>,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self::new(Kind::NotMeasurable, subject, message, hint)
    }

    /// The user cancelled.
    pub(crate) fn cancelled() -> Self {
        Self::new(
            Kind::Cancelled,
            None,
            "the measurement was cancelled",
            "start it again when you are ready",
        )
    }

    /// A tension check was handed in with photos.
    pub(crate) fn heard() -> Self {
        Self::bad(
            Some("check"),
            "a `tension` check is heard, not seen",
            "give it a recording in `sound` and no photos",
        )
    }

    fn new(kind: Kind, subject: Option<&str>, message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self {
            kind,
            message: message.into(),
            hint: hint.into(),
            subject: subject.map(str::to_owned),
        }
    }

    /// A photo that could not be decoded: its message holds the way to mend it after the first semicolon.
    pub(crate) fn from_photo(name: &str, error: &photo::Error) -> Self {
        let text = error.to_string();
        let (message, hint) = text.split_once("; ").unwrap_or((&text, "use the original photo"));
        Self::bad(Some(name), format!("{name}: {message}"), hint)
    }
}
