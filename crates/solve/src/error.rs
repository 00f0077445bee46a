//! What can go wrong in a solve.

/// A solve that gave nothing usable.
#[derive(Clone, Debug, thiserror::Error, shimwright_say::Halves, PartialEq)]
#[non_exhaustive]
pub enum Error {
    /// Fewer observations than unknowns.
    #[error("too few observations: {got}, needed {need}")]
    TooFew {
        /// Needed at least.
        need: usize,
        /// There were.
        got: usize,
    },
    /// The observations leave a combination of unknowns free.
    #[error("the observations leave {what} free")]
    Degenerate {
        /// What is not determined.
        what: &'static str,
    },
    /// The steps ran out before it came to rest.
    #[error("the solve was still moving after {steps} steps, which is the limit")]
    StillMoving {
        /// Steps taken.
        steps: usize,
    },
    /// Numbers became infinite or undefined.
    #[error("the solve did not stay finite")]
    NotFinite,
}
