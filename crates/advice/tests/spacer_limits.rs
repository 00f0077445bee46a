//! Other clearances than the gap, and what two measured spacers teach.

mod made_up;

use made_up::{Dice, corner, headline, mm, question, ring, sentences};
use shimwright_advice::{Error, choose_spacer};
use shimwright_record::{
    Corner, CornerGap, Drive, DriveDescription, Located, OtherClearance, Phrase, SpacerQuestion,
};

/// A left corner with a gap of 0.2 mm on a 7/16 inch ring, rings of 0.5 mm steps in the drawer, and one other clearance.
fn with_clearance(value: f64, per_spacer: i8, spacer_thickness: f64) -> SpacerQuestion {
    let drive = Drive {
        description: Some(DriveDescription {
            clearances: vec![OtherClearance {
                name: "nut to axle end".into(),
                corner: Corner::Left,
                value,
                u95: 0.1,
                spacer_thickness,
                per_spacer,
                minimum: 1.0,
            }],
            ..DriveDescription::default()
        }),
        motor_slide: [0.0, 0.0],
        ..Drive::default()
    };
    let left = corner(Corner::Left, mm(0.2, 0.06), mm(-1.0, 0.2));
    let drawer = vec![
        ring("7/16 in", 11.1125, 0.05, 1),
        ring("+0.5", 11.6125, 0.05, 1),
        ring("+1.0", 12.1125, 0.05, 1),
    ];
    question(drive, vec![left], drawer)
}

/// +1.0 makes the belt straight; the other clearance decides whether it may. After +1.0 it is 2.2 - 1.0 = 1.2 with u95 =
/// sqrt(0.1² + 0.05² + 0.05²) = 0.1225, guard 1.645 / 1.96 x 0.1225 = 0.1028: kept. From 2.05 it is 1.05: not sure.
#[test]
fn every_clearance_keeps_its_minimum() {
    let choice = |question: &SpacerQuestion| choose_spacer(question).unwrap().choices[0].rings.clone();
    assert_eq!(choice(&with_clearance(2.2, -1, 11.1125)), ["+1.0"]);
    let close = with_clearance(2.05, -1, 11.1125);
    assert_eq!(choice(&close), ["+0.5"]);
    let advice = choose_spacer(&close).unwrap();
    let rejected = advice.rejected.iter().find(|one| one.rings == ["+1.0"]).unwrap();
    assert!(
        rejected
            .reason
            .contains("clearance `nut to axle end` would be 1.05 ± 0.13 mm"),
        "{}",
        rejected.reason
    );
    // Measured with a ring 0.3 mm thinner: 2.35 then is 2.05 now.
    assert_eq!(choice(&with_clearance(2.35, -1, 10.8125)), ["+0.5"]);
    // One that grows with the spacer, or does not move, stands in nobody's way.
    assert_eq!(choice(&with_clearance(2.05, 1, 11.1125)), ["+1.0"]);
    assert_eq!(choice(&with_clearance(2.05, 0, 11.1125)), ["+1.0"]);
}

#[test]
fn what_opens_one_clearance_and_closes_another_is_told() {
    let advice = choose_spacer(&with_clearance(1.2, -1, 11.1125)).unwrap();
    assert!(!advice.fits && advice.ideal.is_empty());
    assert!(
        headline(&advice).contains("No spacer keeps every clearance"),
        "{}",
        headline(&advice)
    );
}

/// An ideal ring must pass the search's own rule, other clearances included.
#[test]
fn a_ring_of_the_ideal_thickness_would_be_taken() {
    let mut looked_at = 0;
    for seed in 0..20_000 {
        let mut question = made_up::any_question(&mut Dice(seed), 3);
        if question.drive.description.is_none() {
            continue;
        }
        question.drive.same_spacer_everywhere = false;
        // What is fitted is a stack of two at most, and may be left.
        question.drive.stack_limit = question.drive.stack_limit.max(2);
        let advice = choose_spacer(&question).unwrap();
        if advice.fits || advice.ideal.is_empty() {
            continue;
        }
        for (at, ideal) in advice.ideal.iter().enumerate() {
            question
                .stock
                .push(ring(&format!("ideal {at}"), ideal.thickness, 0.05, 2));
        }
        assert!(
            choose_spacer(&question).unwrap().fits,
            "case {seed}: {question:#?}"
        );
        looked_at += 1;
    }
    assert!(looked_at > 200, "{looked_at}");
}

fn measured(thickness: f64, gap: f64, u95: f64) -> CornerGap {
    CornerGap {
        spacer_thickness: thickness,
        spacer_label: String::new(),
        ..corner(Corner::Left, mm(gap, u95), mm(0.0, 0.2))
    }
}

fn learned(located: Located, before: CornerGap, now: CornerGap) -> Result<Vec<Phrase>, Error> {
    let drive = Drive {
        located,
        ..Drive::default()
    };
    let asked = SpacerQuestion {
        earlier: vec![before],
        ..question(drive, vec![now], vec![ring("7/16 in", 11.1125, 0.05, 2)])
    };
    choose_spacer(&asked).map(|advice| sentences(&advice, "notes"))
}

/// 1.2 mm more spacer and 1.2 mm more gap: +1.00, u95 = sqrt(0.05² + 0.05² + 0.0707²) / 1.2 = 0.083.
#[test]
fn two_spacers_bear_the_description_out_or_contradict_it() {
    let (before, now) = (measured(10.0, 0.4, 0.05), measured(11.2, 1.6, 0.05));
    let notes = learned(Located::Wheel, before.clone(), now.clone()).unwrap();
    assert!(
        notes
            .iter()
            .any(|note| note.contains("+1.00 ± 0.09 mm for each mm") && note.contains("rules out")),
        "{notes:?}"
    );
    for wrong in [Located::Hub, Located::Pulley] {
        let error = learned(wrong, before.clone(), now.clone()).unwrap_err();
        assert!(matches!(error, Error::Contradicted { .. }));
        assert!(error.to_string().contains("set `located` to `wheel`"), "{error}");
    }
    // Half a millimetre of gap for 1.2 mm of spacer is no way at all: something else moved.
    let error = learned(Located::Wheel, before.clone(), measured(11.2, 1.0, 0.05)).unwrap_err();
    assert!(error.to_string().contains("measure both gaps again"), "{error}");
    // Too coarse to rule anything out, and too alike to say anything.
    let notes = learned(Located::Wheel, measured(10.0, 0.4, 1.5), measured(11.2, 1.6, 1.5)).unwrap();
    assert!(
        notes.iter().any(|note| note.contains("not exact enough")),
        "{notes:?}"
    );
    let notes = learned(
        Located::Hub,
        measured(11.15, 0.4, 0.05),
        measured(11.2, 1.6, 0.05),
    )
    .unwrap();
    assert!(
        !notes.iter().any(|note| note.contains("Two measured")),
        "{notes:?}"
    );
}

/// A right description must be refused in at most about one case in a hundred.
#[test]
fn a_right_description_is_seldom_refused() {
    let (mut refused, runs) = (0, 4000);
    for seed in 0..runs {
        let mut dice = Dice(seed);
        let step = dice.between(0.5, 2.0);
        let mut about = |truth: f64, u95: f64| truth + dice.normal() * u95 / 1.96;
        let (thin, thick) = (about(10.0, 0.05), about(10.0 + step, 0.05));
        let before = measured(thin, about(0.8, 0.06), 0.06);
        let now = measured(thick, about(0.8 + step, 0.06), 0.06);
        refused += u32::from(learned(Located::Wheel, before, now).is_err());
    }
    println!("{refused} of {runs} refused");
    // One in a hundred of 4,000, and four standard deviations.
    assert!(refused <= 40 + 26, "{refused}");
}
