//! Does a drive description hold together?

use crate::description::check_description;
use shimwright_record::{Drive, Phrase};
use shimwright_say::say;

/// The most rings that may stand in one stack: each more adds two faces that must lie flat.
pub const MOST_RINGS: u32 = 3;

/// Rim diameters of belt-driven boards, mm, with room to spare on both sides.
const RIM_DIAMETERS: (f64, f64) = (20.0, 400.0);

/// A chamfer, a gap or a slide beyond this, mm, is a slip of the pen.
const LARGEST_CHAMFER: f64 = 5.0;
const LARGEST_MINIMUM_GAP: f64 = 10.0;
const LARGEST_SLIDE: f64 = 20.0;

/// Lists what contradicts itself in a drive description, one sentence each with how to mend it. Empty when sound.
pub fn check_drive(drive: &Drive) -> Vec<Phrase> {
    let mut found = Vec::new();
    check_rim(drive, &mut found);
    check_minimum_gap(drive.minimum_gap, &mut found);
    check_slide(drive.motor_slide, &mut found);
    if !(1..=MOST_RINGS).contains(&drive.stack_limit) {
        found.push(say!(
            "the number of rings in a stack is {}: give 1 to {MOST_RINGS}",
            drive.stack_limit
        ));
    }
    check_description(drive, &mut found);
    found
}

fn check_rim(drive: &Drive, found: &mut Vec<Phrase>) {
    let (least, most) = RIM_DIAMETERS;
    if !(least..=most).contains(&drive.rim_diameter) {
        found.push(say!(
            "the rim diameter is {} mm: measure it across the rim that faces the mount, {least} to {most} mm",
            drive.rim_diameter
        ));
    }
    for (name, chamfer) in [("mount", drive.mount_chamfer), ("rim", drive.rim_chamfer)] {
        if let Some(chamfer) = chamfer
            && !(0.0..=LARGEST_CHAMFER).contains(&chamfer)
        {
            found.push(say!(
                "the {name}'s chamfer is {chamfer} mm: give 0 to {LARGEST_CHAMFER} mm, or leave it out when unknown"
            ));
        }
    }
}

fn check_minimum_gap(minimum: f64, found: &mut Vec<Phrase>) {
    if !(0.0..=LARGEST_MINIMUM_GAP).contains(&minimum) {
        found.push(say!(
            "the smallest allowed gap is {minimum} mm: give 0 to {LARGEST_MINIMUM_GAP} mm"
        ));
    }
}

fn check_slide([inward, outward]: [f64; 2], found: &mut Vec<Phrase>) {
    if inward > outward {
        found.push(say!(
            "the motor pulley's slide runs from {inward} to {outward} mm: put the inward (smaller) limit first"
        ));
    } else if !(-LARGEST_SLIDE..=0.0).contains(&inward) || !(0.0..=LARGEST_SLIDE).contains(&outward) {
        found.push(say!(
            "the motor pulley's slide runs from {inward} to {outward} mm: it is counted from where the pulley sits \
             now, so it must hold 0 and stay within {LARGEST_SLIDE} mm each way"
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_starting_values_hold_together() {
        assert_eq!(check_drive(&Drive::default()), Vec::<String>::new());
    }

    #[test]
    fn each_contradiction_is_found_alone_and_named() {
        let sound = Drive::default;
        let cases = [
            (
                Drive {
                    rim_diameter: 0.0,
                    ..sound()
                },
                "rim diameter is 0 mm",
            ),
            (
                Drive {
                    rim_diameter: f64::NAN,
                    ..sound()
                },
                "rim diameter is NaN",
            ),
            (
                Drive {
                    rim_diameter: 990.0,
                    ..sound()
                },
                "rim diameter is 990 mm",
            ),
            (
                Drive {
                    mount_chamfer: Some(-0.1),
                    ..sound()
                },
                "mount's chamfer is -0.1 mm",
            ),
            (
                Drive {
                    rim_chamfer: Some(50.0),
                    ..sound()
                },
                "rim's chamfer is 50 mm",
            ),
            (
                Drive {
                    minimum_gap: -0.2,
                    ..sound()
                },
                "smallest allowed gap is -0.2 mm",
            ),
            (
                Drive {
                    minimum_gap: f64::NAN,
                    ..sound()
                },
                "smallest allowed gap is NaN",
            ),
            (
                Drive {
                    motor_slide: [0.5, -0.5],
                    ..sound()
                },
                "put the inward",
            ),
            (
                Drive {
                    motor_slide: [0.1, 0.5],
                    ..sound()
                },
                "must hold 0",
            ),
            (
                Drive {
                    motor_slide: [-0.5, f64::NAN],
                    ..sound()
                },
                "must hold 0",
            ),
            (
                Drive {
                    stack_limit: 0,
                    ..sound()
                },
                "stack is 0",
            ),
            (
                Drive {
                    stack_limit: 4,
                    ..sound()
                },
                "stack is 4",
            ),
        ];
        for (drive, words) in cases {
            let found = check_drive(&drive);
            assert_eq!(found.len(), 1, "{found:?}");
            assert!(found[0].contains(words), "{found:?} should say {words}");
        }
    }
}
