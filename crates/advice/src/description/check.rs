//! Contradictions in a drive's description.

use crate::belt::{Pulleys, outside_or_pitch_diameter, pitch_diameter};
use shimwright_record::Phrase;
use shimwright_record::{Drive, DriveDescription};
use shimwright_say::say;

/// Teeth of pulleys and belts that boards have, with room to spare.
const PULLEY_TEETH: [f64; 2] = [8.0, 200.0];
const BELT_TEETH: [f64; 2] = [20.0, 600.0];

/// A belt that is given together with the distance between the axes may miss it by this, mm: what a slotted mount or an
/// idler takes up.
const CENTRE_SLACK: f64 = 3.0;

/// A hole that is this much wider than its screw, mm, is no clearance hole.
const WIDEST_HOLE_PLAY: f64 = 3.0;

/// Adds what contradicts itself, one sentence each with how to mend it.
pub(crate) fn check_description(drive: &Drive, found: &mut Vec<Phrase>) {
    let Some(description) = &drive.description else {
        return;
    };
    let before = found.len();
    check_ranges(description, found);
    // What follows computes with these numbers.
    if found.len() > before {
        return;
    }
    check_belt(description, found);
    check_sizes(drive, description, found);
    check_screws(description, found);
    check_clearances(description, found);
}

fn check_ranges(drive: &DriveDescription, found: &mut Vec<Phrase>) {
    let count = f64::from;
    let needed = [
        (
            say!("the motor pulley's teeth"),
            count(drive.motor_teeth),
            PULLEY_TEETH,
            "",
        ),
        (
            say!("the wheel pulley's teeth"),
            count(drive.wheel_teeth),
            PULLEY_TEETH,
            "",
        ),
        (say!("the belt's teeth"), count(drive.belt_teeth), BELT_TEETH, ""),
        (say!("the tooth pitch"), drive.pitch, [1.0, 20.0], " mm"),
        (say!("the belt's width"), drive.belt_width, [2.0, 60.0], " mm"),
        (say!("the pulleys' width"), drive.pulley_width, [2.0, 80.0], " mm"),
        (
            say!("the number of pulley screws"),
            count(drive.pulley_screws),
            [3.0, 8.0],
            "",
        ),
        (
            say!("the limit of eccentricity"),
            drive.eccentricity_limit,
            [0.005, 2.0],
            " mm",
        ),
        (
            say!("the limit of misalignment"),
            drive.alignment_limit,
            [0.01, 5.0],
            "°",
        ),
        (
            say!("the wheel's diameter"),
            drive.wheel_diameter,
            [40.0, 600.0],
            " mm",
        ),
        (say!("the wheel's mass"), drive.wheel_mass, [0.02, 20.0], " kg"),
        (say!("the pulley's mass"), drive.pulley_mass, [0.002, 5.0], " kg"),
    ];
    let optional = [
        (
            say!("the distance between the axes"),
            drive.centre_distance,
            [10.0, 1000.0],
            " mm",
        ),
        (say!("the screw hole"), drive.screw_hole, [1.0, 20.0], " mm"),
        (
            say!("the play of boss or jig"),
            drive.register_clearance,
            [0.0, 5.0],
            " mm",
        ),
        (
            say!("the direction of screw 1"),
            drive.screw_1_angle,
            [-360.0, 360.0],
            "°",
        ),
        (
            say!("the limit of axial run-out"),
            drive.axial_runout_limit,
            [0.005, 5.0],
            " mm",
        ),
        (
            say!("the belt's stiffness"),
            drive.belt_stiffness,
            [1.0, 100_000.0],
            " N/mm",
        ),
    ];
    let optional = optional
        .into_iter()
        .filter_map(|(what, value, limits, unit)| Some((what, value?, limits, unit)));
    for (what, value, [least, most], unit) in needed.into_iter().chain(optional) {
        if !(least..=most).contains(&value) {
            found.push(say!("{what} is {value}{unit}: give {least} to {most}{unit}"));
        }
    }
}

fn check_belt(drive: &DriveDescription, found: &mut Vec<Phrase>) {
    let pulleys = Pulleys::new(
        pitch_diameter(drive.motor_teeth, drive.pitch),
        pitch_diameter(drive.wheel_teeth, drive.pitch),
    );
    let length = f64::from(drive.belt_teeth) * drive.pitch;
    let Some(fitting) = pulleys.centre_distance(length) else {
        found.push(say!(
            "a belt of {} teeth ({length} mm) is too short for pulleys of {} and {} teeth: count again",
            drive.belt_teeth,
            drive.motor_teeth,
            drive.wheel_teeth
        ));
        return;
    };
    if let Some(given) = drive.centre_distance
        && (given - fitting).abs() > CENTRE_SLACK
    {
        found.push(say!(
            "a belt of {} teeth needs {fitting:.1} mm between the axes of pulleys of {} and {} teeth, and {given} mm is \
             given: count the teeth or measure the distance again",
            drive.belt_teeth, drive.motor_teeth, drive.wheel_teeth
        ));
    }
}

fn check_sizes(drive: &Drive, description: &DriveDescription, found: &mut Vec<Phrase>) {
    let tips = outside_or_pitch_diameter(description.wheel_teeth, description.pitch);
    // A rim that is meant to be the tooth tips themselves is measured to a tenth or so.
    if drive.rim_diameter < tips - 0.5 {
        found.push(say!(
            "the rim of {} mm is smaller than the tooth tips of a wheel pulley of {} teeth ({tips:.1} mm): measure the rim \
             across, or count the teeth again",
            drive.rim_diameter, description.wheel_teeth
        ));
    }
    if description.wheel_diameter <= drive.rim_diameter {
        found.push(say!(
            "the wheel of {} mm is not larger than the rim of {} mm that would touch the road first: measure both again",
            description.wheel_diameter, drive.rim_diameter
        ));
    }
    if description.belt_width > description.pulley_width {
        found.push(say!(
            "the belt is {} mm wide and its pulleys {} mm: measure the tooth faces between the flanges",
            description.belt_width,
            description.pulley_width
        ));
    }
    if description.pulley_mass >= description.wheel_mass {
        found.push(say!(
            "the pulley of {} kg weighs as much as the whole wheel of {} kg: the wheel is weighed with pulley and tyre",
            description.pulley_mass, description.wheel_mass
        ));
    }
}

fn check_screws(drive: &DriveDescription, found: &mut Vec<Phrase>) {
    let Some(hole) = drive.screw_hole else { return };
    let play = hole - drive.screw_size.diameter();
    if !(0.0..=WIDEST_HOLE_PLAY).contains(&play) {
        found.push(say!(
            "a hole of {hole} mm does not go with {} screws: give the hole that they pass through, at most \
             {WIDEST_HOLE_PLAY} mm wider",
            drive.screw_size.name()
        ));
    }
}

fn check_clearances(drive: &DriveDescription, found: &mut Vec<Phrase>) {
    for (place, clearance) in drive.clearances.iter().enumerate() {
        let name = clearance.name.trim();
        let sound = clearance.value.is_finite()
            && clearance.u95 >= 0.0
            && clearance.u95.is_finite()
            && (0.0..=100.0).contains(&clearance.minimum)
            && (0.0..=100.0).contains(&clearance.spacer_thickness)
            && (-1..=1).contains(&clearance.per_spacer);
        if name.is_empty() || !sound {
            found.push(say!(
                "the clearance `{name}` cannot be meant: give it a name, lengths in mm, and 1, 0 or -1 for how it changes \
                 with the spacer"
            ));
        }
        let twin = drive.clearances[..place]
            .iter()
            .any(|other| other.corner == clearance.corner && other.name.trim() == name);
        if twin {
            found.push(say!(
                "the clearance `{name}` is given twice on the {} corner: keep the newest",
                clearance.corner.words()
            ));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_record::{Corner, OtherClearance, ScrewSize};

    fn found(drive: Drive, description: DriveDescription) -> Vec<Phrase> {
        let mut found = Vec::new();
        check_description(
            &Drive {
                description: Some(description),
                ..drive
            },
            &mut found,
        );
        found
    }

    #[test]
    fn the_starting_values_hold_together() {
        assert_eq!(
            found(Drive::default(), DriveDescription::default()),
            Vec::<String>::new()
        );
    }

    fn tyre(name: &str, per_spacer: i8) -> OtherClearance {
        OtherClearance {
            name: name.into(),
            corner: Corner::Left,
            value: 3.0,
            u95: 0.2,
            spacer_thickness: 11.1,
            per_spacer,
            minimum: 1.0,
        }
    }

    type Change = fn(&mut DriveDescription);

    #[test]
    fn each_contradiction_is_found_alone_and_named() {
        let cases: &[(Change, &str)] = &[
            (|d| d.motor_teeth = 0, "motor pulley's teeth is 0"),
            (|d| d.wheel_teeth = 999, "wheel pulley's teeth is 999"),
            (|d| d.pitch = f64::NAN, "tooth pitch is NaN mm"),
            (|d| d.pulley_screws = 2, "number of pulley screws is 2"),
            (|d| d.pulley_screws = 9, "number of pulley screws is 9"),
            (|d| d.belt_teeth = 40, "too short for pulleys of 16 and 60 teeth"),
            (|d| d.centre_distance = Some(120.0), "needs 112.0 mm"),
            (|d| d.wheel_teeth = 64, "smaller than the tooth tips"),
            (
                |d| d.wheel_diameter = 97.0,
                "wheel of 97 mm is not larger than the rim",
            ),
            (|d| d.belt_width = 20.0, "belt is 20 mm wide"),
            (|d| d.pulley_mass = 1.0, "weighs as much as the whole wheel"),
            (|d| d.screw_hole = Some(3.0), "does not go with M4 screws"),
            (|d| d.screw_size = ScrewSize::M3, ""),
            (
                |d| d.clearances = vec![tyre("tyre", 1), tyre("tyre", 1)],
                "given twice",
            ),
            (
                |d| d.clearances = vec![tyre("", 1)],
                "clearance `` cannot be meant",
            ),
            (
                |d| d.clearances = vec![tyre("tyre", 2)],
                "clearance `tyre` cannot be meant",
            ),
        ];
        for (change, words) in cases {
            let mut description = DriveDescription::default();
            change(&mut description);
            let found = found(Drive::default(), description);
            assert_eq!(found.len(), usize::from(!words.is_empty()), "{words}: {found:?}");
            assert!(
                found.iter().all(|one| one.contains(words)),
                "{found:?} should say {words}"
            );
        }
    }

    #[test]
    fn a_distance_that_a_slotted_mount_takes_up_is_no_contradiction() {
        for given in [110.0, 112.0, 114.0] {
            let description = DriveDescription {
                centre_distance: Some(given),
                ..DriveDescription::default()
            };
            assert_eq!(
                found(Drive::default(), description),
                Vec::<String>::new(),
                "{given}"
            );
        }
    }
}
