//! What spacer advice rests on: rules, assumptions, sources.

use super::case::{Case, Fitted, Side};
use super::describe::effect_of_thickness;
use super::predict::SLIDE_U95;
use crate::stock::ASSUMED_RING_U95;
use crate::torque::torques_in_use;
use crate::wording::set_length;
use shimwright_record::Phrase;
use shimwright_say::say;

/// One sentence for each rule and assumption that was used.
pub(super) fn basis(case: &Case) -> Vec<Phrase> {
    let drive = case.drive;
    let mut basis = vec![
        say!(
            "Smallest gap: every measured gap must keep {} with 95 % confidence, one-sided (ISO 14253-1:2017, \
             probabilities by JCGM 106:2012, normal distribution, standard uncertainty = stated uncertainty / 1.96).",
            set_length(drive.minimum_gap)
        ),
        say!(
            "Order of choice: the smallest largest belt offset of the measured corners, then the fewest changed spacers, \
         then the smallest change of thickness, then the fewest rings."
        ),
        say!("Drive description: {}.", effect_of_thickness(drive.located)),
        say!(
            "Gap afterwards = gap now + effect of the change of thickness; the uncertainties of the gap, of the new rings \
         and of the old ones are in it. A ring that stays in a stack cancels out."
        ),
        say!(
            "Chance of a rub: the probability that the gap is zero or less. It covers the measured gap only; what moves \
         under load while riding is not in it, and is what the smallest gap is for."
        ),
    ];
    if case.sides.len() > 1 {
        basis.push(
            say!("Shared errors: both gaps hang on the same print scale, and rings of one size on the same measured \
             thickness, so both corners tend to err the same way. Each corner keeps the confidence by itself; the \
             chance that at least one rubs lies between the larger of the two chances and their sum."),
        );
    }
    if case.sides.iter().any(|side| !side.clearances.is_empty()) {
        basis.push(
            say!("Other clearances of the drive's description keep their own minimum by the same rule, moved from the spacer with \
             which they were measured."),
        );
    }
    assumptions(case, &mut basis);
    basis.push(torques_in_use());
    basis
}

fn assumptions(case: &Case, basis: &mut Vec<Phrase>) {
    let [inward, outward] = case.drive.motor_slide;
    if inward < 0.0 || outward > 0.0 {
        basis.push(say!(
            "The motor pulley may slide {} inward and {} outward from where it sits; a slide is taken to be set to \
             within {} (assumption, no source).",
            set_length(-inward),
            set_length(outward),
            set_length(SLIDE_U95)
        ));
    }
    let guessed = |side: &Side| matches!(side.fitted, Fitted::Unknown { u95, .. } if u95 > 0.0);
    if case.sides.iter().any(guessed) {
        basis.push(say!(
            "A fitted spacer that the stock does not know is taken to be as thick as entered to within {} \
             (assumption, no source).",
            set_length(ASSUMED_RING_U95)
        ));
    }
}
