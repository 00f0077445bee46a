//! What a spacer really moves, learned from gaps that were measured with different spacers.

use super::case::{Case, check_measured};
use crate::Error;
use crate::stock::ASSUMED_RING_U95;
use crate::wording::round_to_uncertainty;
use shimwright_phrase::Value;
use shimwright_record::Valued;
use shimwright_record::conformity::COVERAGE_95;
use shimwright_record::{Corner, CornerGap, Located, Phrase};
use shimwright_say::say;

/// Beyond so many standard uncertainties a factor is ruled out: the two-sided 99 % of a normal distribution. Stricter than the
/// 95 % elsewhere, because a wrong refusal stops all advice.
const RULED_OUT: f64 = 2.576;

/// Every way in which a spacer can move the gap.
const WAYS: [Located; 3] = [Located::Hub, Located::Pulley, Located::Wheel];

/// Two gaps of a corner with two spacers.
pub(super) struct Pair {
    pub corner: Corner,
    /// Change of the gap for each mm of spacer, with its expanded uncertainty.
    pub slope: f64,
    pub slope_u95: f64,
    /// The ways that these two gaps do not rule out.
    left: Vec<Located>,
}

/// The pairs that the earlier gaps make with the newest one of their corner.
///
/// # Errors
/// For an earlier gap that cannot be meant, and [`Error::Contradicted`] when a pair rules out what the drive's description
/// says.
pub(super) fn learn(case: &Case, earlier: &[CornerGap]) -> Result<Vec<Pair>, Error> {
    let mut pairs = Vec::new();
    for before in earlier {
        check_measured(before)?;
        let side = case
            .sides
            .iter()
            .find(|side| side.measured.corner == before.corner);
        pairs.extend(side.and_then(|side| pair(before, side.measured)));
    }
    let described = case.drive.located;
    if let Some(against) = pairs.iter().find(|pair| !pair.left.contains(&described)) {
        return Err(Error::Contradicted {
            corner: against.corner,
            described: described.gap_per_spacer(),
            measured: say!("{}", told(against)),
            instead: match against.left.as_slice() {
                [only] => say!("set `located` to {}", name(*only)),
                _ => say!("measure both gaps again, and see whether mount, wheel or bearings moved"),
            },
        });
    }
    Ok(pairs)
}

/// What the pairs say, one sentence each.
pub(super) fn notes(case: &Case, pairs: &[Pair]) -> Vec<Phrase> {
    pairs
        .iter()
        .map(|pair| {
            let verdict = if pair.left == [case.drive.located] {
                say!("which is what the drive's description says, and rules out the other ways")
            } else {
                say!("which agrees with the drive's description, but is not exact enough to rule out another way")
            };
            say!(
                "Two measured spacers on the {} corner: the gap changes by {} mm for each mm of spacer, {verdict}.",
                pair.corner.words(),
                told(pair)
            )
        })
        .collect()
}

fn pair(before: &CornerGap, now: &CornerGap) -> Option<Pair> {
    let step = now.spacer_thickness - before.spacer_thickness;
    let step_u = ASSUMED_RING_U95.hypot(ASSUMED_RING_U95) / COVERAGE_95;
    // Rings that may be equally thick say nothing.
    if step.abs() <= RULED_OUT * step_u {
        return None;
    }
    let change = now.gap.value - before.gap.value;
    // Taken as independent. An error that both share, such as the print scale, cancels in the change: this errs to the wide side.
    let change_u = now.gap.u95.hypot(before.gap.u95) / COVERAGE_95;
    let slope = change / step;
    let possible = |way: &Located| {
        let factor = way.gap_per_spacer();
        (change - factor * step).abs() <= RULED_OUT * change_u.hypot(factor * step_u)
    };
    Some(Pair {
        corner: now.corner,
        slope,
        slope_u95: change_u.hypot(slope * step_u) / step.abs() * COVERAGE_95,
        left: WAYS.into_iter().filter(possible).collect(),
    })
}

fn told(pair: &Pair) -> Valued {
    let rounded = round_to_uncertainty(pair.slope, pair.slope_u95, 3);
    Valued {
        text: format!(
            "{:+.*} ± {:.*}",
            rounded.decimals, rounded.value, rounded.decimals, rounded.u95
        ),
        value: Value::measured(pair.slope, pair.slope_u95, ""),
    }
}

fn name(located: Located) -> &'static str {
    match located {
        Located::Hub => "`hub`",
        Located::Pulley => "`pulley`",
        Located::Wheel => "`wheel`",
    }
}
