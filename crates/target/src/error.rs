//! What can be wrong with a file of target definitions.

/// Why a file of target definitions was refused. Every variant is bad input that its author can mend.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// Not JSON, an unknown key, or a value of the wrong type.
    #[error("the target definitions do not read: {message}")]
    Unreadable {
        /// What the reader met, with line and column.
        message: String,
    },
    /// A tag family that this program does not know.
    #[error("the tag family is \"{found}\"; only tag36h11 is known")]
    Family {
        /// The family named in the file.
        found: String,
    },
    /// Lengths in another unit.
    #[error("the unit is \"{found}\"; give all lengths in \"mm\"")]
    Units {
        /// The unit named in the file.
        found: String,
    },
    /// More or fewer things than allowed.
    #[error("{what}: {got} given, between {min} and {max} allowed")]
    Count {
        /// What was counted, with the target's name.
        what: String,
        /// How many there are.
        got: usize,
        /// Fewest allowed.
        min: usize,
        /// Most allowed.
        max: usize,
    },
    /// A name that cannot name a target.
    #[error("\"{name}\" cannot name a target; use 1 to 40 of a-z, 0-9 and \"-\"")]
    Name {
        /// The name.
        name: String,
    },
    /// Two targets of one name.
    #[error("two targets are named \"{name}\"; rename one")]
    DuplicateName {
        /// The name.
        name: String,
    },
    /// The target's `name` differs from its key.
    #[error("target \"{key}\" calls itself \"{name}\"; make them equal or leave \"name\" out")]
    NameDiffers {
        /// The key in `targets`.
        key: String,
        /// The target's own `name`.
        name: String,
    },
    /// A key that this kind of target needs.
    #[error("target \"{target}\" needs \"{key}\"")]
    Missing {
        /// The target.
        target: String,
        /// The key.
        key: &'static str,
    },
    /// A key that this kind of target does not know.
    #[error("target \"{target}\" is of kind \"{kind}\", which has no \"{key}\"; remove it")]
    Unexpected {
        /// The target.
        target: String,
        /// Its kind.
        kind: &'static str,
        /// The key.
        key: &'static str,
    },
    /// A length outside what can be printed and seen.
    #[error("\"{key}\" of target \"{target}\" is {value} mm; give {min} to {max} mm")]
    Length {
        /// The target.
        target: String,
        /// The key.
        key: &'static str,
        /// The length given, mm.
        value: f64,
        /// Least allowed, mm.
        min: f64,
        /// Most allowed, mm.
        max: f64,
    },
    /// The older chequer pattern of OpenCV.
    #[error(
        "target \"{target}\" asks for the legacy chequer pattern, which is not drawn here; set \"legacy\" to false"
    )]
    Legacy {
        /// The target.
        target: String,
    },
    /// A key in `tags` or `saddles` that is no number.
    #[error("\"{key}\" in target \"{target}\" is no number; ids are whole numbers from 0")]
    BadId {
        /// The target.
        target: String,
        /// The key.
        key: String,
    },
    /// An id that the family does not have.
    #[error("tag {id} of target \"{target}\" is beyond tag36h11, whose ids are 0 to 586")]
    IdBeyondFamily {
        /// The target.
        target: String,
        /// The id.
        id: u32,
    },
    /// An id used twice, so that a photo could not tell which tag it shows.
    #[error("tag {id} is used by \"{first}\" and again by \"{second}\"; give every tag its own id")]
    DuplicateId {
        /// The id.
        id: u32,
        /// Where it was seen first.
        first: String,
        /// Where it was seen again.
        second: String,
    },
    /// Four corners that are no square.
    #[error(
        "tag {id} of target \"{target}\" is not square: {off_mm:.3} mm off; give four corners of a square"
    )]
    TagNotSquare {
        /// The target.
        target: String,
        /// The tag.
        id: u32,
        /// Largest distance of a corner from the square that the first two corners make, mm.
        off_mm: f64,
    },
    /// Corners listed the wrong way round.
    #[error(
        "the corners of tag {id} of target \"{target}\" run anticlockwise; list top-left, top-right, bottom-right, bottom-left"
    )]
    TagMirrored {
        /// The target.
        target: String,
        /// The tag.
        id: u32,
    },
    /// A listed place contradicts the target's own measures.
    #[error(
        "{what} {id} of target \"{target}\" lies {off_mm:.3} mm from where the target's own measures put it; mend it or leave the list out"
    )]
    OffLayout {
        /// The target.
        target: String,
        /// `tag` or `saddle`.
        what: &'static str,
        /// Its id.
        id: u32,
        /// How far, mm.
        off_mm: f64,
    },
    /// Not enough white around a tag.
    #[error(
        "tag {id} of target \"{target}\" has {gap_mm:.2} mm of white to {other}; it needs {need_mm:.2} mm, one module"
    )]
    TooTight {
        /// The target.
        target: String,
        /// The tag.
        id: u32,
        /// What comes too near.
        other: String,
        /// White that there is, mm; negative when they overlap.
        gap_mm: f64,
        /// White that there must be, mm.
        need_mm: f64,
    },
}
