//! Belt advice against published values.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made_up;

use made_up::mm;
use shimwright_advice::belt::{iso_5294, outside_diameter, pitch_diameter};
use shimwright_advice::{Error, belt_advice};
use shimwright_record::{
    BeltAdvice, BeltCorner, BeltQuestion, Conformity, Corner, Drive, DriveDescription, Quantity,
};

fn drive(motor: u32, wheel: u32, belt: u32, centre: Option<f64>) -> Drive {
    Drive {
        description: Some(DriveDescription {
            motor_teeth: motor,
            wheel_teeth: wheel,
            belt_teeth: belt,
            centre_distance: centre,
            ..DriveDescription::default()
        }),
        ..Drive::default()
    }
}

fn ask(drive: Drive, corners: Vec<BeltCorner>) -> BeltAdvice {
    belt_advice(&BeltQuestion { drive, corners }).unwrap()
}

fn text(advice: &BeltAdvice) -> String {
    let sections = advice.guidance.sections();
    let lines: Vec<&str> = sections
        .iter()
        .flat_map(|section| section.lines.iter().map(|line| line.as_str()))
        .collect();
    lines.join("\n")
}

/// 16 and 40 teeth of 5 mm and a belt of 65 teeth: 90.4767 mm between the axes, computed apart from this program.
#[test]
fn a_described_drive_is_worked_out() {
    let advice = ask(drive(16, 40, 65, None), Vec::new());
    assert!((advice.now.centre_distance - 90.4767).abs() < 1e-3);
    assert!((advice.motor.pitch_diameter - 25.4648).abs() < 1e-4);
    assert!((advice.wheel.outside_diameter.unwrap() - 62.5190).abs() < 1e-4);
    assert!((advice.now.ratio - 2.5).abs() < 1e-12 && advice.now.mesh_factor == 1.0);
    assert_eq!(
        advice.smaller.iter().map(|one| one.teeth).collect::<Vec<_>>(),
        [15, 14, 13]
    );
    for pair in [&advice.now]
        .into_iter()
        .chain(&advice.smaller)
        .collect::<Vec<_>>()
        .windows(2)
    {
        assert!(pair[1].wrap < pair[0].wrap && pair[1].teeth_in_mesh < pair[0].teeth_in_mesh);
        assert!(pair[1].centre_distance > pair[0].centre_distance);
        assert!(pair[1].speed_against_now < pair[0].speed_against_now);
    }
    assert!(text(&advice).contains("as loose as it can be without skipping"));
}

/// A belt maker's limit for synchronous drives, angle and offset together: 0.25°, which at 100 mm is an offset of 0.4363 mm.
#[test]
fn alignment_is_held_to_the_published_limit() {
    let corner = |corner, offset, axis: Option<f64>| BeltCorner {
        corner,
        offset: mm(offset, 0.1),
        axis_angle: axis.map(|value| Quantity {
            value,
            u95: 0.03,
            unit: "deg".into(),
        }),
    };
    let drive = drive(16, 60, 80, Some(99.0));
    let advice = ask(
        drive,
        vec![
            corner(Corner::Left, 0.1, None),
            corner(Corner::Right, -0.1, Some(0.4)),
        ],
    );
    assert!((advice.offset_at_limit - 99.0 * 0.004_363_351).abs() < 1e-6);
    // atan(0.1 / 99) = 0.057874°; its uncertainty is the same for 0.1 mm.
    let [left, right] = advice.alignments.as_slice() else {
        panic!()
    };
    assert!((left.angle.value - 0.057_874).abs() < 1e-6 && (left.angle.u95 - 0.057_874).abs() < 1e-6);
    assert_eq!(
        (left.state, right.state),
        (Conformity::Within, Conformity::Outside)
    );
    assert!((right.angle.value - 0.457_874).abs() < 1e-6);
    let text = text(&advice);
    assert!(text.contains("left 0.06 ± 0.06°, within 0.25°"), "{text}");
    assert!(
        text.contains("angle between the two axes was not measured"),
        "{text}"
    );
}

/// Axes 0.40° apart are beyond 0.25° whatever the offset is; 0.05° are not, and then the offset (0.6 mm at 99 mm: 0.3472°) is what
/// to mend.
#[test]
fn a_mount_out_of_square_is_told_from_an_offset() {
    let asked = |offset: f64, axes: f64, u95: f64| {
        let corner = BeltCorner {
            corner: Corner::Right,
            offset: mm(offset, 0.05),
            axis_angle: Some(Quantity {
                value: axes,
                u95,
                unit: "deg".into(),
            }),
        };
        text(&ask(drive(16, 60, 80, Some(99.0)), vec![corner]))
    };
    let (square, slide) = ("no spacer or slide mends that", "slide the motor pulley");
    let crooked = asked(0.1, -0.4, 0.03);
    assert!(crooked.contains(square) && !crooked.contains(slide), "{crooked}");
    assert!(
        crooked
            .contains("0.058 ± 0.029° from the belt offset and 0.40 ± 0.03° from the angle between the axes"),
        "{crooked}"
    );
    assert!(
        crooked.contains("mount, hanger or axle is out of square"),
        "{crooked}"
    );
    let beside = asked(0.6, 0.05, 0.03);
    assert!(!beside.contains(square) && beside.contains(slide), "{beside}");
    assert!(crooked.contains("are not parallel on the right"), "{crooked}");
    // 0.24 ± 0.05° may be beyond the limit: both are named, and neither is sure.
    let open = asked(0.3, 0.24, 0.05);
    assert!(open.contains(square) && open.contains(slide), "{open}");
    assert!(
        open.contains("too close to the limit to call") && open.contains("may not be parallel on the right"),
        "{open}"
    );
    let straight = asked(0.05, 0.05, 0.03);
    assert!(
        !straight.contains(square) && !straight.contains(slide),
        "{straight}"
    );
}

#[test]
fn few_teeth_in_mesh_are_told() {
    let advice = ask(drive(10, 60, 76, None), Vec::new());
    assert!(advice.now.teeth_in_mesh < 6.0 && advice.now.mesh_factor < 1.0);
    assert!(text(&advice).contains("six are wanted"), "{}", text(&advice));
    // 15 teeth of 5 mm in a belt of 85 round 60: 5.96 in mesh, by the exact geometry.
    let advice = ask(drive(15, 60, 85, None), Vec::new());
    assert!((advice.now.teeth_in_mesh - 5.96).abs() < 0.01);
    assert!(text(&advice).contains("5.9 teeth in mesh."), "{}", text(&advice));
}

#[test]
fn a_drive_that_nobody_described_is_refused() {
    let question = BeltQuestion {
        drive: Drive::default(),
        corners: Vec::new(),
    };
    assert_eq!(belt_advice(&question), Err(Error::NotDescribed));
    let question = BeltQuestion {
        drive: drive(16, 60, 85, Some(150.0)),
        corners: Vec::new(),
    };
    assert!(matches!(belt_advice(&question), Err(Error::Drive { .. })));
}

/// ISO 5294:2012 (from memory; a pulley maker's page agrees): radial 0.13 to 203.2 mm, then 0.13 + 0.0005 (d - 203.2); axial 0.1 to
/// 101.6, 0.001 d to 254, then 0.25 + 0.0005 (d - 254).
#[test]
fn run_out_limits_by_diameter() {
    for (diameter, radial, axial) in [
        (24.3218, 0.13, 0.1),
        (56.15, 0.13, 0.1),
        (101.6, 0.13, 0.1),
        (150.0, 0.13, 0.15),
        (203.2, 0.13, 0.2032),
        (254.0, 0.1554, 0.254),
        (300.0, 0.1784, 0.273),
    ] {
        let limits = iso_5294(diameter);
        assert!(
            (limits.radial - radial).abs() < 1e-9 && (limits.axial - axial).abs() < 1e-9,
            "{diameter}: {limits:?}"
        );
    }
}

/// The table of 69 pulleys of 3, 5 and 8 mm beside the checkout, computed apart from this program from a belt maker's pitch
/// line differentials. Four decimals.
#[test]
fn pulley_diameters_agree_with_the_table() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../../shared/data/reference/pulley_diameters.csv");
    let Ok(text) = std::fs::read_to_string(&path) else {
        println!("skipped: {} is not there", path.display());
        return;
    };
    let (mut pulleys, mut worst) = (0, [0.0_f64; 2]);
    for line in text.lines().skip(1) {
        let cells: Vec<f64> = line
            .split(',')
            .skip(1)
            .map(|cell| cell.parse().unwrap())
            .collect();
        let (pitch, teeth) = (cells[0], cells[1] as u32);
        worst[0] = worst[0].max((pitch_diameter(teeth, pitch) - cells[2]).abs());
        worst[1] = worst[1].max((outside_diameter(teeth, pitch).unwrap() - cells[4]).abs());
        pulleys += 1;
    }
    println!("{pulleys} pulleys, largest differences: pitch, outside {worst:?} mm");
    assert!(pulleys == 69 && worst[0] < 6e-5 && worst[1] < 6e-5, "{worst:?}");
}
