//! What can be wrong with a camera profile.

/// A camera profile that cannot be used.
#[derive(Debug, thiserror::Error, shimwright_say::Halves, PartialEq)]
#[non_exhaustive]
pub enum Error {
    /// The text is not a profile.
    #[error("the camera profile cannot be read: {0}; make it again with `shimwright calibrate`")]
    NotAProfile(String),
    /// A number in it is impossible.
    #[error(
        "the camera profile has {what} = {value}, which no camera has; make it again with `shimwright calibrate`"
    )]
    Impossible {
        /// Name of the number.
        what: &'static str,
        /// Its value.
        value: f64,
    },
}
