//! Advice: what to do, why, and with what care.

use crate::{Corner, Drive, Guidance, Phrase, Quantity, SpacerStock};
use serde::{Deserialize, Serialize};

/// What spacer advice is asked with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct SpacerQuestion {
    /// The drive.
    pub drive: Drive,
    /// The corners that were measured: one or both.
    pub corners: Vec<CornerGap>,
    /// The rings at hand.
    pub stock: Vec<SpacerStock>,
    /// Gaps measured earlier with other spacers, newest first: they show what a spacer really moves.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "typescript", ts(optional, as = "Option<Vec<CornerGap>>"))]
    pub earlier: Vec<CornerGap>,
}

/// A measured corner.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct CornerGap {
    /// Which corner.
    pub corner: Corner,
    /// Its measured gap.
    pub gap: Quantity,
    /// Thickness of the spacer that was fitted when it was measured, mm.
    pub spacer_thickness: f64,
    /// Label of that spacer.
    pub spacer_label: String,
    /// Belt offset with that spacer.
    pub belt_offset: Quantity,
}

/// The answer. Its words are [`Guidance`], so that none can be read without the cautions:
/// ```compile_fail,E0609
/// # fn show(advice: &shimwright_record::SpacerAdvice) {
/// println!("{}", advice.headline);
/// # }
/// ```
/// ```compile_fail,E0616
/// # fn show(advice: &shimwright_record::SpacerAdvice) {
/// println!("{}", advice.guidance.headline);
/// # }
/// ```
/// The JSON form holds their parts beside the other fields, and one without cautions is refused.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct SpacerAdvice {
    /// What to do, in words, with cautions and with what the words rest on. Its notes say what to know before starting: a case too
    /// close to call, a corner that was not measured, an entry that does not agree with the drawer.
    #[serde(flatten)]
    pub guidance: Guidance,
    /// Whether something in stock serves.
    pub fits: bool,
    /// What each corner gets; empty when nothing serves every measured corner.
    pub choices: Vec<SpacerChoice>,
    /// What each corner would need when nothing in stock serves; empty when no spacer of any thickness would.
    pub ideal: Vec<IdealSpacer>,
    /// Why the other rings were not chosen, nearest thickness first; only the nearest few.
    #[serde(default)]
    pub rejected: Vec<RejectedSpacer>,
}

/// A ring or stack that was not chosen, and why.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct RejectedSpacer {
    /// Labels of the rings: one, or a stack.
    pub rings: Vec<String>,
    /// Their thickness together, mm.
    pub thickness: f64,
    /// Why it fell, in plain words, naming the corner where it matters.
    pub reason: Phrase,
}

/// The spacer advised for a corner and what it will do.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct SpacerChoice {
    /// Which corner.
    pub corner: Corner,
    /// Labels of the rings: one, or a stack.
    pub rings: Vec<String>,
    /// Their thickness together, mm.
    pub thickness: f64,
    /// Whether that differs from what is fitted.
    pub change: bool,
    /// The gap expected afterwards.
    pub gap_after: Quantity,
    /// The belt offset expected afterwards, with the motor pulley slid as advised.
    pub belt_offset_after: Quantity,
    /// How far to slide the motor pulley from where it sits now, mm, positive outward.
    pub motor_slide: f64,
    /// Probability that mount and rim touch as it is now.
    pub rub_chance_now: f64,
    /// Probability that they touch afterwards.
    pub rub_chance_after: f64,
}

/// The thickness a corner would need.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct IdealSpacer {
    /// Which corner.
    pub corner: Corner,
    /// Thickness, mm: the smallest change that keeps the minimum gap with 95 % confidence.
    pub thickness: f64,
}
