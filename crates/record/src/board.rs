//! Boards, drives and spacer stock.

use crate::{DriveDescription, Phrase};
use serde::{Deserialize, Serialize};
use shimwright_say::say;

/// A driven wheel position of a board.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Corner {
    /// Left, seen from behind the board in riding direction.
    Left,
    /// Right, seen from behind the board in riding direction.
    Right,
}

impl Corner {
    /// Both corners, left first.
    pub const BOTH: [Corner; 2] = [Corner::Left, Corner::Right];

    /// The name used in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }

    /// The name as part of a sentence.
    pub fn words(self) -> Phrase {
        match self {
            Self::Left => say!("left"),
            Self::Right => say!("right"),
        }
    }
}

/// Which part the axle holds in place: it decides what a thicker spacer moves, and which way.
///
/// The mount, and with it the motor and its pulley, is fixed to the hanger: no spacer ever moves it. So only the
/// driven pulley's own place along the axle matters, and a spacer moves that in one of three ways.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Located {
    /// The axle holds the hub; the spacer sits between hub and pulley. A thicker one pushes the pulley inward, towards
    /// the mount: the gap shrinks by as much.
    Hub,
    /// The axle holds the pulley; the spacer sits between pulley and hub. A thicker one pushes the hub outward and
    /// leaves the pulley where it is: the gap stays, and no spacer can mend it.
    Pulley,
    /// The spacer sits between the axle's shoulder and the whole wheel, pulley included. A thicker one moves both
    /// outward, away from the mount: the gap grows by as much.
    Wheel,
}

impl Located {
    /// Change of the mount gap, in mm for each mm of spacer.
    pub fn gap_per_spacer(self) -> f64 {
        match self {
            Self::Hub => -1.0,
            Self::Pulley => 0.0,
            Self::Wheel => 1.0,
        }
    }

    /// Change of the belt offset (driven minus motor pulley, positive outboard), in mm for each mm of spacer.
    ///
    /// The same as [`Located::gap_per_spacer`], and for a reason: the rim is part of the driven pulley, the motor
    /// pulley stands on the mount, so rim-to-mount and pulley-to-pulley change together when the driven pulley moves.
    pub fn belt_offset_per_spacer(self) -> f64 {
        self.gap_per_spacer()
    }
}

/// What advice needs to know of a drive. Lengths mm.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Drive {
    /// Outer diameter of the rim that faces the mount.
    pub rim_diameter: f64,
    /// Chamfer leg of the mount's edge; absent when not known.
    pub mount_chamfer: Option<f64>,
    /// Chamfer leg of the rim's edge; absent when not known.
    pub rim_chamfer: Option<f64>,
    /// Which part is located on the axle.
    pub located: Located,
    /// Smallest gap that is allowed.
    pub minimum_gap: f64,
    /// How far the motor pulley can be slid outward (+) and inward (-) from where it sits.
    pub motor_slide: [f64; 2],
    /// Whether all wheels of the board must carry the same spacer, so that they stay interchangeable.
    pub same_spacer_everywhere: bool,
    /// How many spacers may be stacked.
    pub stack_limit: u32,
    /// Teeth, belt, screws, masses and limits; absent until somebody describes them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(optional))]
    pub description: Option<DriveDescription>,
}

impl Default for Drive {
    fn default() -> Self {
        Self {
            rim_diameter: 99.0,
            mount_chamfer: None,
            rim_chamfer: None,
            located: Located::Wheel,
            minimum_gap: 0.5,
            // Common practice, no source: a motor pulley can slide about 0.5 mm on its shaft.
            motor_slide: [-0.5, 0.5],
            same_spacer_everywhere: true,
            stack_limit: 1,
            description: None,
        }
    }
}

/// Rings of one size in the shop's drawer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct SpacerStock {
    /// What is written on the drawer, such as `7/16 in`.
    pub label: String,
    /// Measured thickness, mm.
    pub thickness: f64,
    /// Expanded uncertainty (95 %) of the thickness, mm.
    pub u95: f64,
    /// How many are in the drawer, besides those fitted on the board.
    pub count: u32,
}

/// A board as history keeps it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Board {
    /// Stable id (UUID version 7).
    pub id: String,
    /// What the shop calls it.
    pub name: String,
    /// Who owns it; may be empty.
    pub owner: String,
    /// Free notes.
    pub notes: String,
    /// The drive, the same on both corners.
    pub drive: Drive,
    /// What is fitted at each corner, left first.
    pub corners: [CornerState; 2],
}

/// What is fitted at a corner now.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct CornerState {
    /// Label of the fitted spacer or stack.
    pub spacer_label: String,
    /// Thickness of the fitted spacer, mm.
    pub spacer_thickness: f64,
    /// Belt offset measured now, mm, positive when the driven pulley stands further outboard than the motor pulley.
    pub belt_offset: f64,
    /// Expanded uncertainty (95 %) of the belt offset, mm.
    pub belt_offset_u95: f64,
}
