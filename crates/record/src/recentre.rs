//! Re-centring a pulley: what is asked and what is answered.

use crate::{Corner, Drawing, Drive, Guidance, Phrase, Quantity};
use serde::{Deserialize, Serialize};

/// What a turn check says of a pulley. Directions are degrees in the hub ring's frame, counter-clockwise from its x axis
/// seen from its printed side.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Eccentricity {
    /// Distance from the wheel's turning axis to the pulley's centre, mm.
    pub size: Quantity,
    /// Direction of that, degrees.
    pub direction: Quantity,
    /// Axial run-out (full movement) at the rim, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axial_runout: Option<Quantity>,
    /// Direction in which the face stands furthest out, degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axial_high_direction: Option<Quantity>,
}

/// What re-centring advice is asked with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct RecentreQuestion {
    /// The drive.
    pub drive: Drive,
    /// The corner.
    pub corner: Corner,
    /// The newest measurement.
    pub now: Eccentricity,
    /// Direction of screw 1 in the hub ring's frame, degrees.
    pub screw_1_angle: Option<f64>,
    /// Earlier measurements of this re-centring, oldest first, each followed by the push that was advised from it. All
    /// with the ring in the same place.
    pub earlier: Vec<Eccentricity>,
}

/// What is to be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum RecentreDecision {
    /// The pulley runs true enough.
    Done,
    /// Push it, tighten, measure again.
    Push,
    /// Put the face right first: it runs out more than the rim.
    FaceFirst,
    /// A further photo first: the direction is not known well enough to push.
    MeasureBetter,
    /// Stop pushing: find what holds the pulley.
    Stop,
}

/// A place around the pulley, told by its screws.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ScrewPlace {
    /// In words, such as `screw 2` or `between screws 4 and 5`.
    pub name: Phrase,
    /// Direction from the pulley's centre, degrees clockwise from screw 1 seen from the ring's printed side, 0 to 360.
    pub clockwise_from_screw_1: f64,
}

/// Screws evenly around a pulley, numbered clockwise from screw 1, seen from the hub ring's printed side.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ScrewCircle {
    /// How many.
    pub count: u32,
    /// Direction of screw 1 in the hub ring's frame, degrees counter-clockwise from its x axis.
    pub first: f64,
}

/// Which way and how far to push.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Push {
    /// How far, mm.
    pub distance: Quantity,
    /// The side to push on.
    pub from: ScrewPlace,
    /// The side to push it to.
    pub toward: ScrewPlace,
    /// Expanded uncertainty (95 %) of the direction, degrees.
    pub direction_u95: f64,
}

/// One pass of tightening.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct TighteningPass {
    /// What to set the wrench to, N m; absent: by hand until the head just touches.
    pub torque: Option<f64>,
    /// The screws in order.
    pub order: Vec<u32>,
    /// The pass in words.
    pub told: Phrase,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct RecentreAdvice {
    /// What is to be done.
    pub decision: RecentreDecision,
    /// Which round of pushing comes next, 1 for the first.
    pub round: u32,
    /// Where the pulley's centre is now.
    pub now: Eccentricity,
    /// Largest eccentricity that is left alone, mm.
    pub limit: f64,
    /// Where the screws are; absent when nobody said where screw 1 is.
    pub screws: Option<ScrewCircle>,
    /// Radial run-out: twice the eccentricity.
    pub radial_runout: Quantity,
    /// Probability that the eccentricity keeps its limit as it is now.
    pub kept: f64,
    /// The push; absent when none is advised.
    pub push: Option<Push>,
    /// How to tighten afterwards.
    pub tightening: Vec<TighteningPass>,
    /// A drawing of screws, push and tightening order, seen from the ring's printed side.
    pub drawing: Drawing,
    /// The same as SVG, in English and on white.
    pub picture: String,
    /// The words.
    pub guidance: Guidance,
}
