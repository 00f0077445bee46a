//! The result of a check: the same shape for every kind.

use crate::{CheckKind, Phrase};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A result: values with uncertainty, verdict, budget, what each photo gave, and what to beware of.
///
/// A turn check tells, in the hub ring's frame, directions counter-clockwise from its x axis as seen from its printed
/// side: `eccentricity` (mm) of the rim against the turning axis with `eccentricity_direction` (deg), `radial_runout` (its
/// double: full indicator movement, mm), `axial_runout` at the rim (mm) with `axial_high_direction` (deg), where the rim
/// stands farthest towards the printed side, `rim_diameter` (mm), and `angles` (deg): one for each photo used, against the
/// first, about the axis that points into the printed side. Without a hub ring, by equal steps, directions are told in the fixed
/// target's frame as the wheel stands in the first photo, and `angles` are those that were assumed.
///
/// A play check tells how far the hub ring moves against the mount card: `radial_play` across its normal and `axial_play`
/// along it (mm), and `tilt_play` (deg).
///
/// An alignment check tells `misalignment` (deg): the offset over the distance of the pulleys and the angle of their axes, added.
/// `belt_offset` (mm) is how far the wheel pulley's mid-plane stands further outboard (away from the mount) than the motor
/// pulley's, along the wheel's axis at the motor; `axis_angle` (deg) the angle between the axes with its components
/// `axis_spread`, by which they spread apart outboard in the plane of both pulleys' middles, and `axis_twist`, by which the
/// motor's is turned about the line from wheel to motor, right-handed; `pulley_distance` (mm) is that of the pulleys' middles.
///
/// A gap check with a stated axial run-out tells `gap_over_turn` (mm), too, and one with `trials` tells `gap_by_trials`: their mean,
/// and half the symmetric interval that holds 95 % of them (mm). A turn check with `trials` tells `radial_runout_by_trials`,
/// `axial_runout_by_trials` and `rim_diameter_by_trials` alike; run-outs are taken along the direction that was measured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct CheckResult {
    /// The kind of check.
    pub check: CheckKind,
    /// Values by name.
    pub values: BTreeMap<String, Value>,
    /// What the numbers mean against the limit.
    pub verdict: Verdict,
    /// Parts of the main value's uncertainty, largest first.
    pub budget: Vec<BudgetLine>,
    /// What each photo gave.
    pub photos: Vec<PhotoUse>,
    /// What to beware of, one sentence each.
    pub warnings: Vec<Phrase>,
}

/// One number or a list of numbers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Value {
    /// One number.
    One(Quantity),
    /// One number a photo.
    Many(Vec<Quantity>),
}

/// A number with its unit and expanded uncertainty.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Quantity {
    /// The number.
    pub value: f64,
    /// Expanded uncertainty at 95 % (JCGM 100), in the same unit.
    pub u95: f64,
    /// `mm`, `deg`, `px`, `Hz`, `N` or `1`.
    pub unit: String,
}

impl CheckResult {
    /// The value that stands for the whole result, with its name: verdict and budget are about it.
    pub fn main_value(&self) -> Option<(&'static str, &Quantity)> {
        let mut names = self.check.main_values().iter();
        names.find_map(|name| Some((*name, self.quantity(name)?)))
    }

    /// A single value by its name.
    pub fn quantity(&self, name: &str) -> Option<&Quantity> {
        match self.values.get(name)? {
            Value::One(quantity) => Some(quantity),
            Value::Many(_) => None,
        }
    }
}

/// Conformity with a limit by ISO 14253-1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Conformity {
    /// Inside the limit with at least 95 % confidence.
    Within,
    /// Outside the limit with at least 95 % confidence.
    Outside,
    /// Neither can be said.
    Undecided,
}

/// What a result means.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Verdict {
    /// Conformity with the limit.
    pub state: Conformity,
    /// One sentence in plain words.
    pub text: Phrase,
    /// The limit, in the main value's unit.
    pub limit: f64,
    /// Probability that the limit is kept (JCGM 106).
    pub probability: f64,
}

/// One part of an uncertainty budget.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct BudgetLine {
    /// Name of the part: `corner noise`, `edge noise`, `camera`, `print scale`, `target flatness`, `model choice`.
    pub part: Phrase,
    /// Its standard uncertainty in the main value, in that value's unit.
    pub u: f64,
    /// What it stands for, one sentence.
    pub note: Phrase,
}

/// What a photo gave to a result.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct PhotoUse {
    /// File name as the job gave it.
    pub file: String,
    /// Target corners used.
    pub corners: usize,
    /// Root mean square residual of those corners, px.
    pub rms_px: f64,
    /// Whether the photo took part.
    pub used: bool,
    /// Why not, or what is odd about it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(optional))]
    pub note: Option<Phrase>,
    /// What was found, to be drawn over the photo.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub drawn: Vec<Drawn>,
}

/// A thing found in a photo, as a polyline or points in pixels of the upright photo.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Drawn {
    /// `target`, `corner`, `edge_point`, `gap`, `axis`, or the name of a mark: `mount_edge`, `rim_edge`, `outer`, …
    pub what: String,
    /// Places in pixels.
    pub points: Vec<[f64; 2]>,
}
