//! From the errors of the crates below to the one that every shell sees.

use crate::bridge::{Failure, FailureCode};
use shimwright_measure::Kind;
use shimwright_record::Phrase;
use shimwright_say::say;
use std::fmt;

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.message, self.hint)
    }
}

impl std::error::Error for Failure {}

impl Failure {
    /// Bad input: what is wrong and how to mend it.
    pub fn bad_input(message: Phrase, hint: Phrase) -> Self {
        Self::new(FailureCode::BadInput, message, hint)
    }

    /// Something asked for is not there.
    pub fn not_found(message: Phrase, hint: Phrase) -> Self {
        Self::new(FailureCode::NotFound, message, hint)
    }

    /// The history or a file beside it cannot be read or written.
    pub(crate) fn storage(message: Phrase, hint: Phrase) -> Self {
        Self::new(FailureCode::Storage, message, hint)
    }

    /// A fault of the program.
    pub fn internal(message: Phrase) -> Self {
        Self::new(
            FailureCode::Internal,
            message,
            say!("report it with the steps that led to it"),
        )
    }

    fn new(code: FailureCode, message: Phrase, hint: Phrase) -> Self {
        Self {
            code,
            message,
            hint,
            subject: None,
        }
    }

    /// What is wrong and what to do next in one sentence.
    pub(crate) fn words(&self) -> Phrase {
        Phrase::joined([self.message.clone(), self.hint.clone()], "; ")
    }

    /// The same with the file or field concerned.
    #[must_use]
    pub fn about(mut self, subject: impl Into<String>) -> Self {
        self.subject = Some(subject.into());
        self
    }

    /// A photo that cannot be read.
    pub(crate) fn of_photo(name: &str, error: &shimwright_photo::Error) -> Self {
        let (message, hint) = parts(error.halves());
        Self::bad_input(say!("{name}: {message}"), hint).about(name)
    }
}

/// What is wrong and what to do, as an error's own crate tells them.
fn parts((message, hint): (Phrase, Option<Phrase>)) -> (Phrase, Phrase) {
    (message, hint.unwrap_or_else(|| say!("try again")))
}

impl From<shimwright_measure::Error> for Failure {
    fn from(error: shimwright_measure::Error) -> Self {
        let code = match error.kind {
            Kind::BadInput => FailureCode::BadInput,
            Kind::NotMeasurable => FailureCode::NotMeasurable,
            Kind::Cancelled => FailureCode::Cancelled,
        };
        Self {
            code,
            message: error.message,
            hint: error.hint,
            subject: error.subject,
        }
    }
}

impl From<shimwright_history::Error> for Failure {
    fn from(error: shimwright_history::Error) -> Self {
        use shimwright_history::Error;
        let (message, hint) = parts(error.halves());
        match error {
            Error::NotFound { id, .. } => {
                Self::not_found(message, say!("look at the list of what there is")).about(id)
            }
            Error::SameLabel(label) => Self::bad_input(message, hint).about(label),
            Error::ChangedMeanwhile(_)
            | Error::HasId(_)
            | Error::InUse
            | Error::NoCopy
            | Error::NoSuchDatabase(_)
            | Error::NoPhotoPlace { .. }
            | Error::PlaceStays(_)
            | Error::NotEmpty { .. } => Self::bad_input(message, hint),
            Error::Exists(path)
            | Error::NoHistory(path)
            | Error::NoBackup { path, .. }
            | Error::BadExport { path, .. } => {
                Self::bad_input(message, hint).about(path.display().to_string())
            }
            _ => Self::new(FailureCode::Storage, message, hint),
        }
    }
}

impl From<shimwright_advice::Error> for Failure {
    fn from(error: shimwright_advice::Error) -> Self {
        let (message, hint) = error.halves();
        Self::bad_input(message, hint)
    }
}

impl From<shimwright_camera::Error> for Failure {
    fn from(error: shimwright_camera::Error) -> Self {
        let (message, hint) = parts(error.halves());
        Self::bad_input(message, hint).about("camera")
    }
}

impl From<shimwright_evidence::Error> for Failure {
    fn from(error: shimwright_evidence::Error) -> Self {
        let (message, hint) = parts(error.halves());
        Self::bad_input(message, hint)
    }
}

impl From<shimwright_receive::Error> for Failure {
    fn from(error: shimwright_receive::Error) -> Self {
        let (message, hint) = parts(error.halves());
        Self::bad_input(message, hint)
    }
}

impl From<shimwright_report::Error> for Failure {
    fn from(error: shimwright_report::Error) -> Self {
        let (message, hint) = parts(error.halves());
        Self::bad_input(message, hint)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_photos_error_keeps_its_way_out() {
        let failure = Failure::of_photo("a.jpg", &shimwright_photo::Error::Empty);
        assert_eq!(failure.message, "a.jpg: the file is empty (0 bytes)");
        assert_eq!(failure.hint, "copy the photo from the camera again");
        assert_eq!(failure.subject.as_deref(), Some("a.jpg"));
        assert_eq!(failure.code, FailureCode::BadInput);
    }

    #[test]
    fn a_history_that_cannot_be_written_is_a_matter_of_storage() {
        let failure = Failure::from(shimwright_history::Error::DiskFull);
        assert_eq!(failure.code, FailureCode::Storage);
        assert!(failure.hint.starts_with("free some space"), "{}", failure.hint);
    }
}
