//! Why advice could not be given.

use shimwright_record::Corner;

/// Why a question cannot be answered. All of these are faults of the question, never of the drive.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// No corner was measured.
    #[error("no corner has been measured: measure the gap of one or both corners first")]
    NoCorner,
    /// A corner is there twice.
    #[error("the {} corner is given twice: keep its newest measurement only", .corner.name())]
    CornerTwice {
        /// The corner.
        corner: Corner,
    },
    /// A number is not one that a drive can have.
    #[error("{what} is {value}: give {wanted}")]
    BadNumber {
        /// What the number is.
        what: String,
        /// The number.
        value: f64,
        /// What would be accepted.
        wanted: &'static str,
    },
    /// A quantity is not in the unit that is wanted.
    #[error("{what} is given in `{unit}`: give it in `{wanted}`")]
    WrongUnit {
        /// What the quantity is.
        what: String,
        /// The unit it has.
        unit: String,
        /// The unit that is wanted.
        wanted: &'static str,
    },
    /// Two measured spacers rule out what the drive's description says.
    #[error(
        "the drive's description says that the gap on the {} corner changes by {described:+} mm for each mm of spacer, and two measured spacers say {measured}: {instead}", .corner.name()
    )]
    Contradicted {
        /// The corner.
        corner: Corner,
        /// Change of the gap for each mm of spacer by the description.
        described: f64,
        /// The same as measured, with its uncertainty at 95 %.
        measured: String,
        /// How to mend it.
        instead: String,
    },
    /// Nobody said where screw 1 is.
    #[error(
        "where screw 1 sits is not known: mark it in the turn check, or give its direction in the hub ring's frame in the drive's description"
    )]
    NoScrew1,
    /// The teeth, belt, screws and masses of the drive were never described.
    #[error(
        "the belt drive has not been described: count its teeth, measure belt and wheel, and write them into the drive's description"
    )]
    NotDescribed,
    /// A data file of the workshop's own does not hold together.
    #[error("{what}: {mend}")]
    BadData {
        /// What is wrong.
        what: String,
        /// How to mend it.
        mend: String,
    },
    /// Two sizes of ring carry the same label.
    #[error("two sizes in the stock are labelled `{label}`: give each size a label of its own, or join them")]
    LabelTwice {
        /// The label.
        label: String,
    },
    /// A size of ring has no label.
    #[error("the ring of {thickness} mm has no label: write on it what its drawer says")]
    NoLabel {
        /// Its thickness, mm.
        thickness: f64,
    },
    /// The drive description contradicts itself.
    #[error("the drive description does not hold together: {}", .contradictions.join("; "))]
    Drive {
        /// Each contradiction, with how to mend it.
        contradictions: Vec<String>,
    },
    /// So many sizes that their stacks cannot all be looked at.
    #[error(
        "{sizes} sizes in stacks of up to {stack_limit} are more than the {most} combinations that are searched: leave out sizes that cannot serve"
    )]
    TooManyStacks {
        /// Sizes in stock.
        sizes: usize,
        /// Rings in a stack.
        stack_limit: u32,
        /// Most combinations searched.
        most: usize,
    },
}
