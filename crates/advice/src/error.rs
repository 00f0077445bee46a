//! Why advice could not be given.

use shimwright_record::{Corner, Phrase};
use shimwright_say::say;
use std::fmt;

/// Why a question cannot be answered. All of these are faults of the question, never of the drive.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Error {
    /// No corner was measured.
    NoCorner,
    /// A corner is there twice.
    CornerTwice {
        /// The corner.
        corner: Corner,
    },
    /// A number is not one that a drive can have.
    BadNumber {
        /// What the number is.
        what: Phrase,
        /// The number.
        value: f64,
        /// What would be accepted.
        wanted: Phrase,
    },
    /// A quantity is not in the unit that is wanted.
    WrongUnit {
        /// What the quantity is.
        what: Phrase,
        /// The unit it has.
        unit: String,
        /// The unit that is wanted.
        wanted: &'static str,
    },
    /// Two measured spacers rule out what the drive's description says.
    Contradicted {
        /// The corner.
        corner: Corner,
        /// Change of the gap for each mm of spacer by the description.
        described: f64,
        /// The same as measured, with its uncertainty at 95 %.
        measured: Phrase,
        /// How to mend it.
        instead: Phrase,
    },
    /// Nobody said where screw 1 is.
    NoScrew1,
    /// The teeth, belt, screws and masses of the drive were never described.
    NotDescribed,
    /// A data file of the workshop's own does not hold together.
    BadData {
        /// What is wrong.
        what: Phrase,
        /// How to mend it.
        mend: Phrase,
    },
    /// Two sizes of ring carry the same label.
    LabelTwice {
        /// The label.
        label: String,
    },
    /// A size of ring has no label.
    NoLabel {
        /// Its thickness, mm.
        thickness: f64,
    },
    /// The drive description contradicts itself.
    Drive {
        /// Each contradiction, with how to mend it.
        contradictions: Vec<Phrase>,
    },
    /// So many sizes that their stacks cannot all be looked at.
    TooManyStacks {
        /// Sizes in stock.
        sizes: usize,
        /// Rings in a stack.
        stack_limit: u32,
        /// Most combinations searched.
        most: usize,
    },
}

impl Error {
    /// What is wrong, and how to mend it.
    pub fn halves(&self) -> (Phrase, Phrase) {
        match self {
            Self::NoCorner => (
                say!("no corner has been measured"),
                say!("measure the gap of one or both corners first"),
            ),
            Self::CornerTwice { corner } => (
                say!("the {} corner is given twice", corner.words()),
                say!("keep its newest measurement only"),
            ),
            Self::BadNumber { what, value, wanted } => (say!("{what} is {value}"), say!("give {wanted}")),
            Self::WrongUnit { what, unit, wanted } => {
                (say!("{what} is given in `{unit}`"), say!("give it in `{wanted}`"))
            }
            Self::Contradicted {
                corner,
                described,
                measured,
                instead,
            } => (
                say!(
                    "the drive's description says that the gap on the {} corner changes by {described:+} mm for each mm of spacer, \
                     and two measured spacers say {measured}",
                    corner.words()
                ),
                instead.clone(),
            ),
            Self::NoScrew1 => (
                say!("where screw 1 sits is not known"),
                say!(
                    "mark it in the turn check, or give its direction in the hub ring's frame in the drive's description"
                ),
            ),
            Self::NotDescribed => (
                say!("the belt drive has not been described"),
                say!("count its teeth, measure belt and wheel, and write them into the drive's description"),
            ),
            Self::BadData { what, mend } => (what.clone(), mend.clone()),
            Self::LabelTwice { label } => (
                say!("two sizes in the stock are labelled `{label}`"),
                say!("give each size a label of its own, or join them"),
            ),
            Self::NoLabel { thickness } => (
                say!("the ring of {thickness} mm has no label"),
                say!("write on it what its drawer says"),
            ),
            Self::Drive { contradictions } => (
                say!("the drive description does not hold together"),
                Phrase::joined(contradictions.iter().cloned(), "; "),
            ),
            Self::TooManyStacks {
                sizes,
                stack_limit,
                most,
            } => (
                say!(
                    "{sizes} sizes in stacks of up to {stack_limit} are more than the {most} combinations that are searched"
                ),
                say!("leave out sizes that cannot serve"),
            ),
        }
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (wrong, mend) = self.halves();
        write!(f, "{wrong}: {mend}")
    }
}

impl std::error::Error for Error {}
