//! The torque table that comes with the project, and screws by VDI 2230.

mod tables;

use shimwright_advice::bolt::{Friction, Joint, SteelClass};
use shimwright_advice::{check_torque_table, screw_limit, torque_advice, torque_units};
use shimwright_record::{DriveDescription, OwnTorque, ScrewSize, TorqueSource, TorqueTable};
use tables::torques;

fn own(class: &str, torque: f64, source: &str) -> DriveDescription {
    DriveDescription {
        torques: vec![OwnTorque {
            class: class.into(),
            torque,
            source: source.into(),
        }],
        ..DriveDescription::default()
    }
}

/// Trade facts, each "common practice, no source": the wheel pulley's five screws 0.55 N m, small body screws 0.8 N m, pivot nut
/// 4.6 N m, axle nuts no torque.
#[test]
fn the_table_says_what_is_in_use_and_that_it_has_no_source() {
    let advice = torque_advice(&torques(), None).unwrap();
    for (class, value) in [
        ("pulley-screws", Some(0.55)),
        ("body-screws", Some(0.8)),
        ("pivot-nut", Some(4.6)),
        ("axle-nut", None),
    ] {
        let line = advice
            .lines
            .iter()
            .find(|line| line.entry.class == class)
            .unwrap();
        assert_eq!(line.entry.torque, value, "{class}");
        assert_eq!(line.entry.source, TorqueSource::CommonPractice);
        assert!(line.entry.cited.contains("common practice, no source"), "{class}");
        assert_eq!(line.units.map(|units| units.newton_metres), value);
    }
    let cautions = advice
        .guidance
        .sections()
        .iter()
        .any(|section| section.title == "cautions");
    assert!(cautions);
}

/// 1 lbf = 4.448 221 615 260 5 N and 1 in = 25.4 mm, both exact: 0.55 N m is 4.867 910 in lb and 0.405 659 ft lb.
#[test]
fn units_are_exact() {
    let units = torque_units(0.55);
    let pound_force = 4.448_221_615_260_5;
    assert!((units.inch_pounds - 0.55 / pound_force / 0.0254).abs() < 1e-9);
    assert!((units.foot_pounds - 0.55 / pound_force / 0.3048).abs() < 1e-9);
    assert!((units.inch_pounds - 4.867_910).abs() < 1e-6 && (units.foot_pounds - 0.405_659).abs() < 1e-6);
}

#[test]
fn a_makers_value_takes_the_tables_place() {
    let description = own("pivot-nut", 6.0, "maker's manual, page 4");
    let advice = torque_advice(&torques(), Some(&description)).unwrap();
    let line = advice
        .lines
        .iter()
        .find(|line| line.entry.class == "pivot-nut")
        .unwrap();
    assert_eq!(line.entry.torque, Some(6.0));
    assert_eq!(line.entry.source, TorqueSource::Maker);
    assert_eq!(line.entry.cited, "maker's manual, page 4");
}

#[test]
fn a_table_that_does_not_hold_together_is_refused() {
    let refused = |change: fn(&mut TorqueTable)| {
        let mut table = torques();
        change(&mut table);
        check_torque_table(&table, None).unwrap_err().to_string()
    };
    assert!(refused(|table| table.classes[1].class = "pulley-screws".into()).contains("twice"));
    assert!(refused(|table| table.classes[0].torque = Some(0.0)).contains("is 0 N m"));
    assert!(refused(|table| table.classes[0].torque = Some(f64::NAN)).contains("NaN"));
    assert!(refused(|table| table.classes[0].cited.clear()).contains("empty text"));
    let described = |description: DriveDescription| {
        check_torque_table(&torques(), Some(&description))
            .unwrap_err()
            .to_string()
    };
    assert!(described(own("wing-nut", 1.0, "x")).contains("its classes are pulley-screws"));
    assert!(described(own("pivot-nut", -1.0, "x")).contains("-1 N m"));
    assert!(described(own("pivot-nut", 1.0, " ")).contains("say where"));
}

/// No torque in use overloads the screw by itself: 0.55 and 0.8 N m against M3 A2-70 at low friction, 0.70 N m and more (VDI
/// 2230, from memory).
#[test]
fn torques_in_use_stay_below_what_screws_bear() {
    let m3 = screw_limit(ScrewSize::M3, SteelClass::A2_70, Friction(0.08));
    assert!((m3.torque.newton_metres - 0.70).abs() < 0.02, "{m3:?}");
    assert!(m3.torque.newton_metres > 0.55);
    let m4 = screw_limit(ScrewSize::M4, SteelClass::A2_70, Friction(0.08));
    assert!(m4.torque.newton_metres > 0.8);
}

/// The table of 120 joints beside the checkout, computed apart from this program from the formulas of VDI 2230 (from memory).
/// Without the file the test says that it is skipped; the guideline's own values stand in the joint's unit tests.
#[test]
fn preload_and_torque_agree_with_the_table_of_joints() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../../shared/data/reference/bolt_vdi2230.csv");
    let Ok(text) = std::fs::read_to_string(&path) else {
        println!("skipped: {} is not there", path.display());
        return;
    };
    let (mut joints, mut worst) = (0, [0.0_f64; 3]);
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let number = |cell: usize| cells[cell].parse::<f64>().unwrap();
        let size = ScrewSize::ALL
            .into_iter()
            .find(|size| size.name() == cells[0])
            .unwrap();
        let class = SteelClass::ALL
            .into_iter()
            .find(|class| class.name() == cells[1])
            .unwrap();
        let joint = Joint {
            size,
            class,
            friction: Friction(number(3)),
        };
        for (worst, (got, wanted)) in worst.iter_mut().zip([
            (joint.stress_area(), number(4)),
            (joint.preload(), number(5)),
            (joint.most_torque(), number(6)),
        ]) {
            *worst = worst.max((got / wanted - 1.0).abs());
        }
        joints += 1;
    }
    println!("{joints} joints, largest relative differences: area, preload, torque {worst:?}");
    assert_eq!(joints, 120);
    // The table is rounded to four digits of area and preload and three of torque.
    assert!(worst[0] < 2e-4 && worst[1] < 4e-4 && worst[2] < 2e-3, "{worst:?}");
}
