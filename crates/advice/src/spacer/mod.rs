//! Which spacer: from the gaps of the corners to the rings to fit.
//!
//! The story in order: [`case`] checks the question and recognises what is fitted; [`learn`] sees whether earlier gaps with
//! other spacers bear out what the drive's description says; [`options`] lists every stack the
//! stock makes and [`predict`] says what each would do at each corner; [`search`] finds the best that keeps every
//! minimum, [`order`] saying what is better; [`served`] or, when nothing serves, [`unserved`] put it in words, with
//! [`ideal`], [`rejected`], [`notes`], [`steps`], [`cautions`] and [`basis`] a part each.
//!
//! To add a rule: what must hold goes into [`predict::Fit::keeps_minimum`] and gets its reason in [`rejected`]; what is
//! merely better goes into [`order`]; what a person should know goes into [`notes`]. Each has a line in [`basis`].

mod basis;
mod case;
mod cautions;
mod describe;
mod ideal;
mod learn;
mod notes;
mod options;
mod order;
mod predict;
mod rejected;
mod search;
mod served;
mod steps;
mod unserved;

use crate::Error;
use shimwright_record::{SpacerAdvice, SpacerQuestion};

/// Chooses spacers for the measured corners from the stock.
///
/// An exact search over single rings and stacks, per side or one size for all as the drive says: of everything that
/// keeps every minimum (gap and other described clearances) at every measured corner with 95 % confidence, it takes what leaves the smallest
/// largest belt offset (after sliding the motor pulley as far as that helps and the drive allows), then the fewest
/// changes, then the smallest change of thickness. Rings available are those in stock and those fitted on the measured
/// corners; leaving a corner as it is needs none. Equal questions get equal answers.
///
/// When nothing serves, `fits` is false, `ideal` says what thickness would, and the headline says what stands in the
/// way: too few rings, one size for all, a case too close to call, or a drive on which no spacer moves the gap.
///
/// # Errors
/// Only for questions that cannot be asked: see [`Error`].
pub fn choose_spacer(question: &SpacerQuestion) -> Result<SpacerAdvice, Error> {
    let case = case::Case::new(question)?;
    let pairs = learn::learn(&case, &question.earlier)?;
    let options = options::Options::predict(&case)?;
    let terms = search::Terms {
        one_size: case.drive.same_spacer_everywhere,
        counted: true,
    };
    let advice = match search::best(&case, &options, terms) {
        Some(plan) => served::advice(&case, &options, &plan),
        None => unserved::advice(&case, &options),
    };
    Ok(SpacerAdvice {
        guidance: advice.guidance.notes(learn::notes(&case, &pairs)),
        ..advice
    })
}
