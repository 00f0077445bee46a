//! Why a document could not be made.

/// Why a document could not be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error, shimwright_say::Halves)]
#[non_exhaustive]
pub enum Error {
    /// A sheet of a target that the definitions do not have.
    #[error("there is no target \"{name}\" in the definitions; they have {known}")]
    NoSuchTarget {
        /// The name asked for.
        name: String,
        /// The names that there are.
        known: String,
    },
    /// A target larger than the paper, with its scale bars.
    #[error(
        "target \"{target}\" is {width_mm:.1} x {height_mm:.1} mm; {paper} holds {room_width_mm:.1} x {room_height_mm:.1} mm beside the scale bars"
    )]
    TooLarge {
        /// The target.
        target: String,
        /// Its width, mm.
        width_mm: f64,
        /// Its height, mm.
        height_mm: f64,
        /// The paper.
        paper: &'static str,
        /// Width that the paper has for it, mm.
        room_width_mm: f64,
        /// Height that the paper has for it, mm.
        room_height_mm: f64,
    },
    /// A picture that cannot be put into a document.
    #[error("the picture of {name} cannot be put into the document ({message})")]
    Picture {
        /// Whose picture.
        name: String,
        /// What the writer said.
        message: String,
    },
    /// The PDF could not be written: a fault of the program.
    #[error("the PDF could not be written: {message}")]
    Pdf {
        /// What the writer said.
        message: String,
    },
}
