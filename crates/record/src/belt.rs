//! Belt geometry: what is asked and what is answered.

use crate::{Conformity, Corner, Drive, Guidance, Quantity};
use serde::{Deserialize, Serialize};

/// What belt advice is asked with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct BeltQuestion {
    /// The drive, with its description.
    pub drive: Drive,
    /// What is known of the belt's alignment at each corner.
    pub corners: Vec<BeltCorner>,
}

/// A corner's belt.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct BeltCorner {
    /// Which corner.
    pub corner: Corner,
    /// Belt offset, mm, positive when the wheel pulley stands further outboard.
    pub offset: Quantity,
    /// Angle between the two axes, degrees; absent: not measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axis_angle: Option<Quantity>,
}

/// Diameters of a pulley, mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct PulleySize {
    /// Teeth.
    pub teeth: u32,
    /// Pitch diameter.
    pub pitch_diameter: f64,
    /// Outside diameter across the tooth tips; absent when the profile of this pitch is not known.
    pub outside_diameter: Option<f64>,
    /// Published limit of radial run-out, full movement.
    pub radial_runout_limit: f64,
    /// Published limit of axial run-out, full movement.
    pub axial_runout_limit: f64,
}

/// A motor pulley and what the belt does around it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct MotorSide {
    /// Teeth of the motor pulley.
    pub teeth: u32,
    /// Teeth of the wheel pulley over those of the motor pulley.
    pub ratio: f64,
    /// Top speed against that of the drive as described.
    pub speed_against_now: f64,
    /// Distance between the axes with the belt as described, mm.
    pub centre_distance: f64,
    /// Belt wrap on the smaller pulley, degrees.
    pub wrap: f64,
    /// Teeth of the smaller pulley that the belt is in.
    pub teeth_in_mesh: f64,
    /// What these teeth carry against six or more: 1 from six on, 0.2 less for each that is missing.
    pub mesh_factor: f64,
}

/// How straight a corner's belt runs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct BeltAlignment {
    /// Which corner.
    pub corner: Corner,
    /// Misalignment, offset and angle together, degrees.
    pub angle: Quantity,
    /// Whether it keeps its limit.
    pub state: Conformity,
    /// Probability of that.
    pub kept: f64,
    /// Whether the angle between the axes is in it.
    pub with_axis_angle: bool,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct BeltAdvice {
    /// The motor pulley.
    pub motor: PulleySize,
    /// The wheel pulley.
    pub wheel: PulleySize,
    /// Pitch length of the belt, mm.
    pub belt_length: f64,
    /// Free length of belt between the pulleys, each side, mm.
    pub free_span: f64,
    /// The drive as described.
    pub now: MotorSide,
    /// The same belt with smaller motor pulleys, one tooth less each.
    pub smaller: Vec<MotorSide>,
    /// Largest misalignment allowed, degrees.
    pub alignment_limit: f64,
    /// The belt offset that alone makes this misalignment, mm.
    pub offset_at_limit: f64,
    /// How straight each corner's belt runs.
    pub alignments: Vec<BeltAlignment>,
    /// The words.
    pub guidance: Guidance,
}
