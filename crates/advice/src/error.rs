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
    /// A quantity is not in millimetres.
    #[error("{what} is given in `{unit}`: give it in `mm`")]
    NotMillimetres {
        /// What the quantity is.
        what: String,
        /// The unit it has.
        unit: String,
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
