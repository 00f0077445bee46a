//! Push, stop, or do something else first?

use super::case::{Case, Offset};
use shimwright_record::conformity::{COVERAGE_95, GUARD_FACTOR};
use shimwright_record::{Conformity, RecentreDecision};

/// After so many pushes something else is wrong.
pub(super) const MOST_PUSHES: usize = 3;

/// How exactly a pulley is pushed by hand against callipers and stays while its screws are tightened, expanded
/// uncertainty (95 %) of each direction, mm. An assumption, no source.
pub(super) const PUSH_U95: f64 = 0.03;

/// A push of which less than this share arrives is being held.
const HELD_SHARE: f64 = 0.5;

/// What is to be done, and why.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Decision {
    /// It keeps its limit with 95 % confidence.
    TrueEnough,
    Push,
    /// The face runs out more than the rim, and more than its limit.
    FaceFirst,
    /// As likely kept as not, or too small to push with a better outcome than now.
    TooCloseToCall,
    /// The last push moved the pulley by this share of what was asked.
    Held {
        share: f64,
    },
    /// As many pushes as may be.
    TooManyPushes,
}

impl Decision {
    pub fn told(self) -> RecentreDecision {
        match self {
            Self::TrueEnough => RecentreDecision::Done,
            Self::Push => RecentreDecision::Push,
            Self::FaceFirst => RecentreDecision::FaceFirst,
            Self::TooCloseToCall => RecentreDecision::MeasureBetter,
            Self::Held { .. } | Self::TooManyPushes => RecentreDecision::Stop,
        }
    }
}

/// Decides, in this order: a face that is worse than the rim comes before anything; then the limit; then whatever makes
/// a push useless; then whether a push can be expected to do better than it is now.
pub(super) fn decide(case: &Case) -> Decision {
    let size = case.now.size();
    if face_is_worse(case) {
        return Decision::FaceFirst;
    }
    let (state, kept) = case.against_limit();
    if state == Conformity::Within {
        return Decision::TrueEnough;
    }
    // As likely kept as not, or smaller than what a push leaves behind: another push is a gamble.
    if kept >= 0.5 || size < left_by_a_push(case) {
        return Decision::TooCloseToCall;
    }
    if let Some(share) = held(case) {
        return Decision::Held { share };
    }
    if case.earlier.len() >= MOST_PUSHES {
        return Decision::TooManyPushes;
    }
    Decision::Push
}

fn face_is_worse(case: &Case) -> bool {
    case.axial()
        .is_some_and(|(axial, state)| state == Conformity::Outside && axial.value > 2.0 * case.now.size())
}

/// The eccentricity to be expected after a push: errors of measuring and of pushing, in both directions.
pub(super) fn left_by_a_push(case: &Case) -> f64 {
    let push_u = PUSH_U95 / COVERAGE_95;
    (2.0 * (case.now.u.powi(2) + push_u.powi(2))).sqrt()
}

/// The share of the last push that arrived, when it is surely less than half: something holds the pulley.
fn held(case: &Case) -> Option<f64> {
    let before = case.earlier.last()?;
    let (share, u) = arrived(before, &case.now)?;
    (share + GUARD_FACTOR * u < HELD_SHARE).then_some(share)
}

/// How much of a push against `before` arrived, as a share, with its standard uncertainty. None for no push at all.
fn arrived(before: &Offset, now: &Offset) -> Option<(f64, f64)> {
    let asked = before.size();
    if asked == 0.0 {
        return None;
    }
    // The push was `-before`; what moved is `now - before`.
    let along = (before.x - now.x) * before.x + (before.y - now.y) * before.y;
    let u = before.u.hypot(now.u) / asked;
    Some((along / asked.powi(2), u))
}
