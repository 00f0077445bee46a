//! A measuring job as the command line and the app hand it to the engine.

use crate::JobBelt;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Which measurement a job asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum CheckKind {
    /// Gap between mount and rim on a standing wheel.
    Gap,
    /// Run-out of the pulley over a turn.
    Turn,
    /// Sizes of a loose part on the bench sheet.
    Part,
    /// Bearing play.
    Play,
    /// Alignment of the wheel's pulley with the motor's.
    Alignment,
    /// Camera calibration.
    Camera,
    /// Belt tension from the sound of the plucked span.
    Tension,
}

impl CheckKind {
    /// The name used in job files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Gap => "gap",
            Self::Turn => "turn",
            Self::Part => "part",
            Self::Play => "play",
            Self::Alignment => "alignment",
            Self::Camera => "camera",
            Self::Tension => "tension",
        }
    }
}

impl CheckKind {
    /// Names of the value that a result of this kind stands for: the first of these that was measured.
    pub fn main_values(self) -> &'static [&'static str] {
        match self {
            Self::Gap => &["gap"],
            Self::Turn => &["radial_runout"],
            Self::Part => &["outer_diameter", "width", "inner_diameter"],
            Self::Play => &["radial_play"],
            Self::Alignment => &["misalignment"],
            Self::Camera => &[],
            Self::Tension => &["tension"],
        }
    }
}

/// A measuring job. Lengths mm, angles degrees; an unknown key is an error.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Job {
    /// The kind of check.
    pub check: CheckKind,
    /// The photos, each with the marks made on it; none for a tension job.
    #[serde(default)]
    pub photos: Vec<JobPhoto>,
    /// Which printed targets are in view.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub targets: Option<JobTargets>,
    /// Print scale measured on the page's two bars.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub print_scale: Option<PrintScale>,
    /// Camera profile file, relative to the job file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub camera: Option<String>,
    /// What is known of the drive.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drive: Option<JobDrive>,
    /// Height of a marked edge above the card (or sheet), towards the camera; of a part, that of its upper face. The key is
    /// a mark's name (`mount_edge`, `rim_edge`, `outer`, `inner`, …), or `all`. Needed when a gap or part job has one view
    /// only, and of the rim when a turn job is done by equal steps.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Height>,
    /// The recording of the plucked span, a WAV file relative to the job file. Tension jobs only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sound: Option<String>,
    /// The belt whose span was plucked. Tension jobs only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub belt: Option<JobBelt>,
    /// Monte Carlo trials of the uncertainty (JCGM 101), 200 to 100,000, beside the linear budget. Gap jobs, and turn jobs with
    /// a hub ring, only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trials: Option<u32>,
}

impl Job {
    /// A job of a check of which nothing is told yet.
    pub fn of(check: CheckKind) -> Self {
        Self {
            check,
            photos: Vec::new(),
            targets: None,
            print_scale: None,
            camera: None,
            drive: None,
            height: None,
            sound: None,
            belt: None,
            trials: None,
        }
    }
}

/// A photo of a job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct JobPhoto {
    /// File name, relative to the job file.
    pub file: String,
    /// Rough marks in pixels of the upright photo, by name: `mount_edge`, `rim_edge`; of a part `outer`, `inner` (rims, three
    /// or more points), `edge_a`, `edge_b` (two parallel straight edges, two or more points each). A turn job marks
    /// `rim_edge` in at least one photo, or none when the rim's diameter is given. An alignment job marks `driven_inner`,
    /// `driven_outer`, `motor_inner` and `motor_outer`, three or more points along each edge in two or more photos: the edges of
    /// both pulleys towards the mount (inner) and away from it; one may be missing.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub marks: BTreeMap<String, Vec<[f64; 2]>>,
}

/// The printed targets of a job, by their definition's name.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct JobTargets {
    /// The target on the part that does not turn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fixed: Option<String>,
    /// The target on the wheel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turning: Option<String>,
}

/// Print scale: measured length over nominal length of the page's bars.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct PrintScale {
    /// Along the target's x axis.
    pub x: f64,
    /// Along the target's y axis.
    pub y: f64,
    /// Expanded uncertainty (95 %) of each factor.
    pub u95: f64,
}

/// What a job knows of the drive. All lengths mm.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct JobDrive {
    /// Outer diameter of the rim that faces the mount; in an alignment check, of the wheel pulley's marked edges.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rim_diameter: Option<f64>,
    /// Turn check without a hub ring, the phone on a stand: which way the wheel was turned by equal steps from photo to photo, as
    /// the camera sees it. The steps make one whole turn; nothing measures them, and the result says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub equal_steps: Option<TurnedWay>,
    /// Alignment check: outer diameter of the motor pulley's marked edges.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub motor_diameter: Option<f64>,
    /// Alignment check: distance between the wheel pulley's outer faces; needed when one of its edges is marked only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub driven_width: Option<StatedLength>,
    /// The same of the motor pulley.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub motor_width: Option<StatedLength>,
    /// Largest allowed misalignment of the belt, offset and angle together, degrees; an alignment check's verdict is given
    /// against it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub alignment_limit: Option<f64>,
    /// Chamfer leg of the mount's edge (45 degrees).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mount_chamfer: Option<f64>,
    /// Chamfer leg of the rim's edge (45 degrees); in a part check, of the part's edges; in an alignment check, of all four.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rim_chamfer: Option<f64>,
    /// Direction of screw 1 in the hub ring's frame, degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mark_screw_angle: Option<f64>,
    /// Smallest allowed gap; the verdict is given against it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minimum_gap: Option<f64>,
    /// Part check: the size that the part should have; the verdict is given on the first of outer diameter, width and
    /// inner diameter that is measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nominal: Option<f64>,
    /// Part check: how far the size may be from `nominal`, either way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<f64>,
    /// Largest allowed radial run-out of the rim (full indicator movement); a turn check's verdict is given against it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub runout_limit: Option<f64>,
    /// Largest allowed radial play of the wheel; a play check's verdict is given against it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub play_limit: Option<f64>,
    /// Axial run-out of the rim as a turn check or an indicator measured it; a gap check then tells the smallest gap over a
    /// turn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axial_runout: Option<StatedLength>,
}

/// Which way a wheel is turned, as the camera sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum TurnedWay {
    /// As the hands of a clock.
    Clockwise,
    /// The other way.
    CounterClockwise,
}

/// A stated height, one for all marks or one a mark.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Height {
    /// The same height for every marked edge.
    All(StatedLength),
    /// A height for each named edge.
    PerMark(BTreeMap<String, StatedLength>),
}

impl Height {
    /// The height stated for a mark.
    pub fn of(&self, mark: &str) -> Option<StatedLength> {
        match self {
            Self::All(length) => Some(*length),
            Self::PerMark(by_name) => by_name.get(mark).or_else(|| by_name.get("all")).copied(),
        }
    }
}

/// A length that somebody measured otherwise, mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct StatedLength {
    /// The length, mm.
    pub value: f64,
    /// Expanded uncertainty (95 %), mm.
    pub u95: f64,
}
