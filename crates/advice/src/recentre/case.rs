//! The question, checked, as vectors in the hub ring's frame.

use super::screws::Screws;
use crate::asked::check_quantity;
use crate::belt::{iso_5294, outside_or_pitch_diameter};
use crate::{Error, check_drive};
use shimwright_record::conformity::{COVERAGE_95, at_most};
use shimwright_record::{Conformity, DriveDescription, Eccentricity, Quantity, RecentreQuestion};
use shimwright_say::say;

/// A sound question.
pub(super) struct Case<'a> {
    pub question: &'a RecentreQuestion,
    pub description: DriveDescription,
    pub now: Offset,
    pub earlier: Vec<Offset>,
    pub screws: Option<Screws>,
}

/// An eccentricity: from the turning axis to the pulley's centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Offset {
    /// mm, in the ring's frame with y upwards, as directions are counted.
    pub x: f64,
    pub y: f64,
    /// Standard uncertainty of each, mm.
    pub u: f64,
}

impl Offset {
    fn new(measured: &Eccentricity) -> Self {
        let (sin, cos) = measured.direction.value.to_radians().sin_cos();
        Self {
            x: measured.size.value * cos,
            y: measured.size.value * sin,
            u: measured.size.u95 / COVERAGE_95,
        }
    }

    pub fn size(&self) -> f64 {
        self.x.hypot(self.y)
    }

    /// Degrees counter-clockwise from the ring's x axis.
    pub fn direction(&self) -> f64 {
        self.y.atan2(self.x).to_degrees()
    }
}

impl<'a> Case<'a> {
    pub fn new(question: &'a RecentreQuestion) -> Result<Self, Error> {
        let contradictions = check_drive(&question.drive);
        if !contradictions.is_empty() {
            return Err(Error::Drive { contradictions });
        }
        for measured in question.earlier.iter().chain([&question.now]) {
            check_measured(measured)?;
        }
        let described = question.drive.description.as_ref();
        let description = described.cloned().unwrap_or_default();
        let first = question.screw_1_angle.or(description.screw_1_angle);
        if let Some(angle) = first.filter(|angle| !angle.is_finite()) {
            return Err(Error::BadNumber {
                what: say!("the direction of screw 1"),
                value: angle,
                wanted: say!("degrees in the hub ring's frame"),
            });
        }
        Ok(Self {
            now: Offset::new(&question.now),
            earlier: question.earlier.iter().map(Offset::new).collect(),
            screws: first.map(|first| Screws {
                count: description.pulley_screws,
                first,
            }),
            description,
            question,
        })
    }

    /// Whether the numbers of the drive are starting values.
    pub fn is_assumed(&self) -> bool {
        self.question.drive.description.is_none()
    }

    /// Largest eccentricity that is left alone, mm.
    pub fn limit(&self) -> f64 {
        self.description.eccentricity_limit
    }

    /// How the eccentricity stands to its limit, and the probability that it is kept.
    pub fn against_limit(&self) -> (Conformity, f64) {
        at_most(self.now.size(), self.now.u * COVERAGE_95, self.limit())
    }

    /// Largest axial run-out, mm: the description's, or the published one for the pulley's diameter.
    pub fn axial_limit(&self) -> f64 {
        let drive = &self.description;
        drive
            .axial_runout_limit
            .unwrap_or_else(|| iso_5294(outside_or_pitch_diameter(drive.wheel_teeth, drive.pitch)).axial)
    }

    /// The axial run-out with its state, when it was measured.
    pub fn axial(&self) -> Option<(&'a Quantity, Conformity)> {
        let axial = self.question.now.axial_runout.as_ref()?;
        Some((axial, at_most(axial.value, axial.u95, self.axial_limit()).0))
    }

    /// Play of the screws in their holes, on the diameter, mm.
    pub fn hole_play(&self) -> f64 {
        let drive = &self.description;
        let hole = drive.screw_hole.unwrap_or(drive.screw_size.medium_hole());
        hole - drive.screw_size.diameter()
    }
}

fn check_measured(measured: &Eccentricity) -> Result<(), Error> {
    check_quantity(&measured.size, say!("the eccentricity"), "mm")?;
    check_quantity(&measured.direction, say!("the eccentricity's direction"), "deg")?;
    if measured.size.value < 0.0 {
        return Err(Error::BadNumber {
            what: say!("the eccentricity"),
            value: measured.size.value,
            wanted: say!("a distance in mm, 0 or more"),
        });
    }
    if let Some(axial) = &measured.axial_runout {
        check_quantity(axial, say!("the axial run-out"), "mm")?;
    }
    if let Some(direction) = &measured.axial_high_direction {
        check_quantity(direction, say!("the direction of the axial run-out"), "deg")?;
    }
    Ok(())
}
