//! One case after another that a person can follow with pencil and paper.

mod made_up;

use made_up::{corner, headline, mm, question, ring, sentences};
use shimwright_advice::{Error, choose_spacer, default_stock};
use shimwright_record::{
    Corner, CornerGap, Drive, Located, Phrase, SpacerAdvice, SpacerQuestion, SpacerStock,
};

/// Two of each size in use.
fn full_drawer() -> Vec<SpacerStock> {
    default_stock()
        .into_iter()
        .map(|size| SpacerStock { count: 2, ..size })
        .collect()
}

fn left(gap: f64, u95: f64) -> CornerGap {
    corner(Corner::Left, mm(gap, u95), mm(0.0, 0.2))
}

fn right(gap: f64, u95: f64) -> CornerGap {
    corner(Corner::Right, mm(gap, u95), mm(0.0, 0.2))
}

fn per_side() -> Drive {
    Drive {
        same_spacer_everywhere: false,
        ..Drive::default()
    }
}

fn ask(question: &SpacerQuestion) -> SpacerAdvice {
    choose_spacer(question).expect("a question that can be asked")
}

fn any_contains(texts: &[Phrase], words: &str) -> bool {
    texts.iter().any(|text| text.contains(words))
}

#[test]
fn sound_gaps_and_a_straight_belt_need_nothing() {
    let advice = ask(&question(
        Drive::default(),
        vec![left(0.9, 0.06), right(1.1, 0.06)],
        full_drawer(),
    ));
    assert!(
        advice.fits
            && advice
                .choices
                .iter()
                .all(|choice| !choice.change && choice.motor_slide == 0.0)
    );
    assert!(
        headline(&advice).starts_with("Leave the spacer on both corners as it is."),
        "{}",
        headline(&advice)
    );
    assert_eq!(sentences(&advice, "steps")[0], "Nothing to change.");
}

#[test]
fn only_the_corner_that_needs_it_is_changed_where_wheels_may_differ() {
    let advice = ask(&question(
        per_side(),
        vec![left(0.2, 0.06), right(1.1, 0.06)],
        full_drawer(),
    ));
    // 0.2 + 31/64 in - 7/16 in = 0.2 + 1.190625.
    assert_eq!(advice.choices[0].rings, ["31/64 in"]);
    assert!((advice.choices[0].gap_after.value - 1.390_625).abs() < 1e-12);
    // The belt then stands 1.190625 outboard, of which the motor pulley can take 0.5.
    assert!((advice.choices[0].belt_offset_after.value - 0.690_625).abs() < 1e-12);
    assert!((advice.choices[0].motor_slide - 0.5).abs() < 1e-12);
    assert!(!advice.choices[1].change);
    assert!(any_contains(
        &sentences(&advice, "steps"),
        "Left: undo the axle nut"
    ));
    assert!(!any_contains(
        &sentences(&advice, "steps"),
        "Right: undo the axle nut"
    ));
}

#[test]
fn one_size_for_all_changes_both_and_says_what_it_costs() {
    let advice = ask(&question(
        Drive::default(),
        vec![left(0.2, 0.06), right(1.1, 0.06)],
        full_drawer(),
    ));
    assert!(
        advice
            .choices
            .iter()
            .all(|choice| choice.rings == ["31/64 in"] && choice.change)
    );
    let mut crooked = right(1.1, 0.06);
    crooked.belt_offset = mm(0.6, 0.1);
    let advice = ask(&question(
        Drive::default(),
        vec![left(0.2, 0.06), crooked],
        full_drawer(),
    ));
    assert!(
        any_contains(&sentences(&advice, "notes"), "costs belt alignment"),
        "{:?}",
        sentences(&advice, "notes")
    );
}

#[test]
fn both_corners_need_two_rings_of_one_size() {
    let drawer = vec![
        ring("1/2 in", 12.7, 0.05, 1),
        ring("31/64 in", 12.303_125, 0.05, 2),
    ];
    let close = vec![left(0.2, 0.06), right(0.2, 0.06)];
    // Both would do; only of one there are two.
    let advice = ask(&question(Drive::default(), close.clone(), drawer.clone()));
    assert!(advice.choices.iter().all(|choice| choice.rings == ["31/64 in"]));
    let advice = ask(&question(Drive::default(), close.clone(), drawer[..1].to_vec()));
    assert!(!advice.fits && advice.choices.is_empty());
    assert!(
        headline(&advice).contains("You need 1 more of 1/2 in"),
        "{}",
        headline(&advice)
    );
    assert!(
        advice
            .rejected
            .iter()
            .any(|one| one.reason.contains("only one 1/2 in ring, and 2 would be needed"))
    );
    // Where wheels may differ, one of each is enough.
    let one_each = drawer
        .into_iter()
        .map(|size| SpacerStock { count: 1, ..size })
        .collect();
    let advice = ask(&question(per_side(), close, one_each));
    let mut rings: Vec<_> = advice
        .choices
        .iter()
        .map(|choice| choice.rings[0].as_str())
        .collect();
    rings.sort_unstable();
    assert_eq!(rings, ["1/2 in", "31/64 in"]);
}

#[test]
fn an_empty_drawer_of_known_sizes_says_what_to_buy() {
    let advice = ask(&question(
        Drive::default(),
        vec![left(0.2, 0.06), right(0.9, 0.06)],
        default_stock(),
    ));
    assert!(
        headline(&advice).contains("You need 2 more of 31/64 in (12.30 ± 0.05 mm"),
        "{}",
        headline(&advice)
    );
}

#[test]
fn the_ideal_thickness_is_worked_out_and_would_serve() {
    // Gap 0.2, u95 0.06; fitted and new ring 0.05 each: u95 = sqrt(0.06^2 + 2 * 0.05^2) = 0.092736.
    // Needed: 0.5 + 1.644854 * 0.092736 / 1.96 = 0.577826, so 0.377826 more than 11.1125.
    let asked = question(
        Drive::default(),
        vec![left(0.2, 0.06)],
        vec![ring("26/64 in", 10.318_75, 0.05, 2)],
    );
    let advice = ask(&asked);
    assert!(!advice.fits);
    assert!(
        (advice.ideal[0].thickness - 11.490_326).abs() < 1e-5,
        "{:?}",
        advice.ideal
    );
    assert!(
        headline(&advice).contains("11.50 mm (0.453 in; next 64th 29/64 in) or more"),
        "{}",
        headline(&advice)
    );
    let with = |thickness| {
        let mut stocked = asked.clone();
        stocked.stock.push(ring("made", thickness, 0.05, 1));
        ask(&stocked).fits
    };
    assert!(with(advice.ideal[0].thickness));
    assert!(!with(advice.ideal[0].thickness - 1e-6));
}

#[test]
fn on_a_located_hub_a_thinner_ring_is_wanted() {
    let drive = Drive {
        located: Located::Hub,
        ..per_side()
    };
    let advice = ask(&question(drive.clone(), vec![left(0.2, 0.06)], full_drawer()));
    assert_eq!(advice.choices[0].rings, ["26/64 in"]);
    assert!((advice.choices[0].gap_after.value - 0.993_75).abs() < 1e-12);
    assert!(any_contains(
        &sentences(&advice, "steps"),
        "0.55 N m (4.9 in lb) is common practice, no source"
    ));
    let advice = ask(&question(drive.clone(), vec![left(0.2, 0.06)], vec![]));
    assert!(headline(&advice).contains("or less"), "{}", headline(&advice));
    // Not even no spacer would do.
    let advice = ask(&question(drive, vec![left(-11.0, 0.06)], full_drawer()));
    assert!(headline(&advice).starts_with("No spacer is thin enough") && advice.ideal.is_empty());
}

#[test]
fn on_a_located_pulley_no_spacer_is_promised_to_help() {
    let drive = Drive {
        located: Located::Pulley,
        ..Drive::default()
    };
    let advice = ask(&question(
        drive.clone(),
        vec![left(0.2, 0.06), right(0.9, 0.06)],
        full_drawer(),
    ));
    assert!(!advice.fits && advice.ideal.is_empty());
    assert!(
        headline(&advice).starts_with("No spacer can mend this"),
        "{}",
        headline(&advice)
    );
    assert!(any_contains(&sentences(&advice, "steps"), "qualified workshop"));
    assert!(!any_contains(&sentences(&advice, "steps"), "Get "));
    // Undecided is not hopeless.
    let advice = ask(&question(drive.clone(), vec![left(0.52, 0.1)], full_drawer()));
    assert!(
        headline(&advice).starts_with("Too close to call")
            && any_contains(&sentences(&advice, "steps"), "one more photo")
    );
    // And a sound gap stays sound.
    assert!(ask(&question(drive, vec![left(0.9, 0.1)], full_drawer())).fits);
}

#[test]
fn what_is_too_close_to_call_asks_for_a_photo() {
    let advice = ask(&question(
        Drive::default(),
        vec![left(0.52, 0.1), right(0.9, 0.1)],
        vec![],
    ));
    assert!(!advice.fits);
    assert!(
        headline(&advice).starts_with("Too close to call"),
        "{}",
        headline(&advice)
    );
    assert!(headline(&advice).contains("one more photo"));
    assert!(any_contains(&sentences(&advice, "steps"), "one more photo"));
    // With a ring that is sure to do, the photo still comes first.
    let advice = ask(&question(
        Drive::default(),
        vec![left(0.52, 0.1), right(0.9, 0.1)],
        full_drawer(),
    ));
    assert!(
        advice.fits
            && sentences(&advice, "steps")[0].starts_with("First take one more photo of the left corner")
    );
    assert!(
        headline(&advice).contains("But first: take one more photo"),
        "{}",
        headline(&advice)
    );
}

#[test]
fn one_measured_corner_is_not_enough_where_wheels_must_match() {
    let advice = ask(&question(Drive::default(), vec![right(0.2, 0.06)], full_drawer()));
    assert_eq!(advice.choices.len(), 1);
    assert!(any_contains(
        &sentences(&advice, "notes"),
        "the left corner must be measured too before anything is fitted"
    ));
    assert!(
        sentences(&advice, "steps")[0].starts_with("First measure the left corner too"),
        "{:?}",
        sentences(&advice, "steps")
    );
    let scarce = full_drawer()
        .into_iter()
        .map(|size| SpacerStock { count: 1, ..size })
        .collect();
    let advice = ask(&question(Drive::default(), vec![right(0.2, 0.06)], scarce));
    assert!(
        any_contains(&sentences(&advice, "notes"), "not rings enough for both"),
        "{:?}",
        sentences(&advice, "notes")
    );
    let advice = ask(&question(per_side(), vec![right(0.2, 0.06)], full_drawer()));
    assert!(!any_contains(&sentences(&advice, "notes"), "must be measured"));
}

#[test]
fn a_stack_may_keep_the_ring_that_is_there() {
    let drive = Drive {
        stack_limit: 2,
        ..per_side()
    };
    let drawer = vec![ring("7/16 in", 11.112_5, 0.05, 0), ring("leaf", 0.8, 0.02, 1)];
    let advice = ask(&question(drive, vec![left(0.2, 0.06)], drawer));
    assert_eq!(advice.choices[0].rings, ["7/16 in", "leaf"]);
    // The ring that stays adds nothing: sqrt(0.06^2 + 0.02^2).
    assert!((advice.choices[0].gap_after.u95 - 0.063_245_553).abs() < 1e-8);
}

/// The gap is sound, but the drive allows one ring and two are there.
#[test]
fn a_stack_higher_than_the_drive_allows_cannot_stay() {
    let mut stacked = left(0.9, 0.06);
    (stacked.spacer_label, stacked.spacer_thickness) = ("7/16 in + leaf".into(), 11.912_5);
    let drawer = vec![
        ring("7/16 in", 11.112_5, 0.05, 0),
        ring("leaf", 0.8, 0.02, 0),
        ring("12 mm", 12.0, 0.05, 1),
    ];
    let advice = ask(&question(per_side(), vec![stacked.clone()], drawer.clone()));
    assert_eq!(advice.choices[0].rings, ["12 mm"]);
    assert!(any_contains(&sentences(&advice, "notes"), "they cannot stay"));
    let two = Drive {
        stack_limit: 2,
        ..per_side()
    };
    let advice = ask(&question(two, vec![stacked], drawer));
    assert!(!any_contains(&sentences(&advice, "notes"), "they cannot stay"));
}

#[test]
fn two_rings_of_one_size_share_their_error() {
    let drive = Drive {
        stack_limit: 2,
        ..per_side()
    };
    let mut bare = left(-5.0, 0.06);
    (bare.spacer_label, bare.spacer_thickness) = (String::new(), 0.0);
    let advice = ask(&question(drive, vec![bare], vec![ring("half", 3.0, 0.05, 2)]));
    assert_eq!(advice.choices[0].rings, ["half", "half"]);
    // 2 * 0.05 and not sqrt(2) * 0.05.
    assert!((advice.choices[0].gap_after.u95 - 0.06_f64.hypot(0.10)).abs() < 1e-12);
}

#[test]
fn a_label_that_does_not_match_its_thickness_is_said() {
    let mut odd = left(0.9, 0.06);
    odd.spacer_thickness = 12.0;
    let advice = ask(&question(per_side(), vec![odd], full_drawer()));
    assert!(
        any_contains(&sentences(&advice, "notes"), "labelled 7/16 in"),
        "{:?}",
        sentences(&advice, "notes")
    );
}

#[test]
fn an_impossible_gap_is_questioned() {
    let advice = ask(&question(per_side(), vec![left(-1.0, 0.06)], full_drawer()));
    assert!(
        any_contains(&sentences(&advice, "notes"), "solid parts cannot"),
        "{:?}",
        sentences(&advice, "notes")
    );
}

#[test]
fn every_rejected_ring_has_its_reason_and_there_are_not_too_many() {
    let drive = Drive {
        stack_limit: 3,
        ..per_side()
    };
    let drawer: Vec<_> = (0..12)
        .map(|at| ring(&format!("R{at}"), 9.0 + 0.3 * f64::from(at), 0.05, 2))
        .collect();
    let advice = ask(&question(drive, vec![left(0.2, 0.06), right(0.4, 0.06)], drawer));
    assert_eq!(advice.rejected.len(), 12);
    let chosen: Vec<_> = advice.choices.iter().map(|choice| &choice.rings).collect();
    assert!(advice.rejected.iter().all(|one| !chosen.contains(&&one.rings)));
    let reasons = |words: &str| advice.rejected.iter().any(|one| one.reason.contains(words));
    assert!(
        reasons("less than the smallest allowed") && reasons("belt offset would be"),
        "{:#?}",
        advice.rejected
    );
}

#[test]
fn questions_that_cannot_be_asked_are_refused_by_name() {
    let refusal = |question: SpacerQuestion| choose_spacer(&question).unwrap_err();
    let good = || question(Drive::default(), vec![left(0.9, 0.06)], full_drawer());
    let with = |change: &dyn Fn(&mut SpacerQuestion)| {
        let mut question = good();
        change(&mut question);
        refusal(question)
    };
    assert_eq!(with(&|q| q.corners.clear()), Error::NoCorner);
    assert_eq!(
        with(&|q| q.corners.push(left(1.0, 0.1))),
        Error::CornerTwice { corner: Corner::Left }
    );
    assert!(matches!(
        with(&|q| q.drive.minimum_gap = -1.0),
        Error::Drive { .. }
    ));
    assert!(matches!(
        with(&|q| q.stock[1].label = "26/64 IN ".into()),
        Error::LabelTwice { .. }
    ));
    assert!(matches!(
        with(&|q| q.corners[0].gap.unit = "in".into()),
        Error::WrongUnit { .. }
    ));
    for wrong in [f64::NAN, f64::INFINITY] {
        let says = with(&|q| q.corners[0].gap.value = wrong).to_string();
        assert!(says.starts_with("the gap on the left is"), "{says}");
        let says = with(&|q| q.corners[0].belt_offset.u95 = wrong).to_string();
        assert!(
            says.starts_with("the uncertainty of the belt offset on the left is"),
            "{says}"
        );
    }
    assert!(
        with(&|q| q.corners[0].spacer_thickness = -1.0)
            .to_string()
            .contains("or 0 when none is fitted")
    );
    let many = (0..200)
        .map(|at| ring(&format!("R{at}"), 5.0 + 0.01 * f64::from(at), 0.05, 1))
        .collect();
    let says = refusal(question(
        Drive {
            stack_limit: 3,
            ..per_side()
        },
        vec![left(0.9, 0.06)],
        many,
    ))
    .to_string();
    assert!(says.starts_with("200 sizes in stacks of up to 3"), "{says}");
}
