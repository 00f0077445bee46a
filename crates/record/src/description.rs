//! What is known of a belt drive beyond what a gap needs: teeth, belt, screws, masses, limits.

use crate::Corner;
use serde::{Deserialize, Serialize};

/// A belt drive as its owner describes it. Lengths mm, angles degrees, masses kg.
///
/// [`DriveDescription::default`] holds starting values for a form: an invented drive that holds together. They are no
/// measurement of anybody's board.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct DriveDescription {
    /// Teeth of the motor pulley.
    pub motor_teeth: u32,
    /// Teeth of the wheel pulley.
    pub wheel_teeth: u32,
    /// Tooth pitch.
    pub pitch: f64,
    /// Teeth of the belt.
    pub belt_teeth: u32,
    /// Width of the belt.
    pub belt_width: f64,
    /// Distance between the axes of motor and wheel; absent: as the belt sets it.
    pub centre_distance: Option<f64>,
    /// Width of the pulleys' tooth faces.
    pub pulley_width: f64,
    /// Where the motor pulley has flanges.
    pub flanges: Flanges,
    /// How many screws hold the wheel pulley, 3 to 8, evenly around it.
    pub pulley_screws: u32,
    /// Size of these screws.
    pub screw_size: ScrewSize,
    /// Diameter of the holes that they pass through; absent: the medium series of ISO 273.
    pub screw_hole: Option<f64>,
    /// Play on the diameter between the pulley's bore and the boss or jig that centres it; absent: nothing centres it.
    pub register_clearance: Option<f64>,
    /// Direction of screw 1 in the hub ring's frame (counter-clockwise from its x axis, seen from its printed side),
    /// where a measurement does not say it; absent: not known.
    pub screw_1_angle: Option<f64>,
    /// Largest eccentricity that is left alone: half the radial run-out.
    pub eccentricity_limit: f64,
    /// Largest axial run-out; absent: by the pulley's outside diameter.
    pub axial_runout_limit: Option<f64>,
    /// Largest misalignment of the belt, angle and offset together.
    pub alignment_limit: f64,
    /// Outside diameter of the wheel with its tyre.
    pub wheel_diameter: f64,
    /// Mass of the wheel with pulley and tyre.
    pub wheel_mass: f64,
    /// Mass of the wheel pulley.
    pub pulley_mass: f64,
    /// Change of the belt's pull for each mm that its path grows, N/mm; absent: not known.
    pub belt_stiffness: Option<f64>,
    /// Torques that the board's maker gives.
    pub torques: Vec<OwnTorque>,
    /// Clearances besides the gap that a spacer moves, measured by hand.
    pub clearances: Vec<OtherClearance>,
}

impl Default for DriveDescription {
    fn default() -> Self {
        Self {
            motor_teeth: 16,
            wheel_teeth: 60,
            pitch: 5.0,
            belt_teeth: 85,
            belt_width: 15.0,
            centre_distance: None,
            pulley_width: 17.0,
            flanges: Flanges::Both,
            pulley_screws: 5,
            screw_size: ScrewSize::M4,
            screw_hole: None,
            register_clearance: None,
            screw_1_angle: None,
            eccentricity_limit: 0.05,
            axial_runout_limit: None,
            alignment_limit: 0.25,
            wheel_diameter: 150.0,
            wheel_mass: 0.9,
            pulley_mass: 0.2,
            belt_stiffness: None,
            torques: Vec::new(),
            clearances: Vec::new(),
        }
    }
}

/// Where a pulley has flanges, seen along the axle from the board's middle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Flanges {
    /// None.
    None,
    /// On the side of the mount only.
    Inner,
    /// On the far side only.
    Outer,
    /// On both sides.
    Both,
}

/// A metric screw with coarse thread.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum ScrewSize {
    /// M3 x 0.5.
    M3,
    /// M4 x 0.7.
    M4,
    /// M5 x 0.8.
    M5,
    /// M6 x 1.
    M6,
    /// M8 x 1.25.
    M8,
}

impl ScrewSize {
    /// All sizes, smallest first.
    pub const ALL: [ScrewSize; 5] = [Self::M3, Self::M4, Self::M5, Self::M6, Self::M8];

    /// The name used in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::M3 => "M3",
            Self::M4 => "M4",
            Self::M5 => "M5",
            Self::M6 => "M6",
            Self::M8 => "M8",
        }
    }

    /// Nominal diameter, mm.
    pub fn diameter(self) -> f64 {
        match self {
            Self::M3 => 3.0,
            Self::M4 => 4.0,
            Self::M5 => 5.0,
            Self::M6 => 6.0,
            Self::M8 => 8.0,
        }
    }

    /// Diameter of the clearance hole, medium series of ISO 273, mm (from memory, not read in the standard).
    pub fn medium_hole(self) -> f64 {
        match self {
            Self::M3 => 3.4,
            Self::M4 => 4.5,
            Self::M5 => 5.5,
            Self::M6 => 6.6,
            Self::M8 => 9.0,
        }
    }
}

/// A torque that a board's maker gives for one class of screws.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct OwnTorque {
    /// The class, as the torque table names it, such as `pulley-screws`.
    pub class: String,
    /// The torque, N m.
    pub torque: f64,
    /// Where it stands, such as `maker's manual, page 12`.
    pub source: String,
}

/// A clearance that a spacer moves, besides the measured gap.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct OtherClearance {
    /// What it lies between, such as `tyre to hanger`.
    pub name: String,
    /// The corner at which it was measured.
    pub corner: Corner,
    /// What was measured, mm.
    pub value: f64,
    /// Expanded uncertainty (95 %) of that, mm.
    pub u95: f64,
    /// Thickness of the spacer that was fitted then, mm.
    pub spacer_thickness: f64,
    /// How it changes for each mm of spacer: 1 grows, -1 shrinks, 0 stays.
    pub per_spacer: i8,
    /// The least it may become, mm.
    pub minimum: f64,
}
