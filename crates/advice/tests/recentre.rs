//! Re-centring: pushes that a person can follow with pencil and paper, and the loop of measuring and pushing to its end.

mod made_up;
mod tables;

use made_up::{Dice, mm};
use shimwright_advice::{Error, recentre};
use shimwright_record::{
    Corner, Drive, DriveDescription, Eccentricity, Quantity, RecentreAdvice, RecentreDecision,
    RecentreQuestion, ScrewSize, Shape,
};
use tables::torques;

fn degrees(value: f64, u95: f64) -> Quantity {
    Quantity {
        value,
        u95,
        unit: "deg".into(),
    }
}

fn off(size: f64, u95: f64, direction: f64) -> Eccentricity {
    Eccentricity {
        size: mm(size, u95),
        direction: degrees(direction, (u95 / size.max(0.01)).atan().to_degrees()),
        axial_runout: None,
        axial_high_direction: None,
    }
}

/// Five M4 screws, screw 1 at 12 o'clock of the ring.
fn question(now: Eccentricity) -> RecentreQuestion {
    RecentreQuestion {
        drive: Drive {
            description: Some(DriveDescription::default()),
            ..Drive::default()
        },
        corner: Corner::Left,
        now,
        screw_1_angle: Some(90.0),
        earlier: Vec::new(),
    }
}

fn ask(question: &RecentreQuestion) -> RecentreAdvice {
    recentre(question, &torques()).expect("a question that can be asked")
}

fn text(advice: &RecentreAdvice) -> String {
    let sections = advice.guidance.sections();
    let lines: Vec<&str> = sections
        .iter()
        .flat_map(|section| section.lines.iter().map(|line| line.as_str()))
        .collect();
    lines.join("\n")
}

fn headline(advice: &RecentreAdvice) -> String {
    advice.guidance.sections()[0].lines[0].to_string()
}

#[test]
fn a_push_is_told_by_screws() {
    // Screw 2 of five lies 72 degrees clockwise from 12 o'clock: at 18 degrees of the ring's frame.
    let advice = ask(&question(off(0.18, 0.02, 18.0)));
    assert_eq!(advice.decision, RecentreDecision::Push);
    let headline = headline(&advice);
    assert!(
        headline.starts_with("Push from screw 2 toward the middle between screws 4 and 5, 0.18 ± 0.04 mm"),
        "{headline}"
    );
    let push = advice.push.as_ref().unwrap();
    assert!((push.from.clockwise_from_screw_1 - 72.0).abs() < 1e-9);
    // 0.02 of the measurement and 0.03 of the hand: sqrt(0.0004 + 0.0009).
    assert!((push.distance.u95 - 0.036_055_513).abs() < 1e-9);
    assert!((advice.radial_runout.value - 0.36).abs() < 1e-12);
    assert!((advice.radial_runout.u95 - 0.04).abs() < 1e-12);
    let text = text(&advice);
    assert!(
        text.contains("wrench at 0.55 N m (4.9 in lb), in the order 1, 3, 5, 2, 4."),
        "{text}"
    );
    assert!(
        text.contains("A wrench in order gives 0.52 to 0.58 N m"),
        "{text}"
    );
    assert!(text.contains("common practice, no source"), "{text}");
    assert!(!text.contains("may end at the screws"), "{text}");
}

#[test]
fn a_board_makers_torque_goes_first() {
    let mut question = question(off(0.18, 0.02, 18.0));
    question.drive.description = Some(DriveDescription {
        torques: vec![shimwright_record::OwnTorque {
            class: "pulley-screws".into(),
            torque: 1.2,
            source: "maker's manual, page 12".into(),
        }],
        ..DriveDescription::default()
    });
    let text = text(&ask(&question));
    assert!(
        text.contains("wrench at 1.2 N m") && text.contains("maker's manual, page 12"),
        "{text}"
    );
    assert!(!text.contains("0.55 N m"), "{text}");
}

#[test]
fn what_keeps_the_limit_is_left_alone() {
    // 0.03 + 1.645 x 0.01 / 1.96 = 0.0384, within 0.05.
    let advice = ask(&question(off(0.03, 0.01, 200.0)));
    assert_eq!(advice.decision, RecentreDecision::Done);
    assert!(advice.push.is_none() && advice.tightening.is_empty());
    // As likely within as not: 0.045 ± 0.03.
    let advice = ask(&question(off(0.045, 0.03, 200.0)));
    assert_eq!(advice.decision, RecentreDecision::MeasureBetter);
    // Above the limit, but less than what a push leaves behind: sqrt(2 (0.1² + 0.03²)) / 1.96 = 0.0753.
    let advice = ask(&question(off(0.07, 0.1, 200.0)));
    assert_eq!(advice.decision, RecentreDecision::MeasureBetter);
    assert!(
        text(&advice).contains("coarser than the limit"),
        "{}",
        text(&advice)
    );
}

#[test]
fn a_face_that_is_worse_comes_first() {
    let mut bad_face = off(0.10, 0.02, 18.0);
    bad_face.axial_runout = Some(mm(0.6, 0.05));
    bad_face.axial_high_direction = Some(degrees(90.0 - 144.0, 5.0));
    let advice = ask(&question(bad_face.clone()));
    assert_eq!(advice.decision, RecentreDecision::FaceFirst);
    assert!(
        headline(&advice).contains("It stands out at screw 3."),
        "{}",
        headline(&advice)
    );
    assert!(advice.push.is_none() && !advice.tightening.is_empty());
    // A face out of its limit that is the smaller fault: push, and say so.
    bad_face.axial_runout = Some(mm(0.3, 0.03));
    bad_face.size = mm(0.3, 0.02);
    let advice = ask(&question(bad_face));
    assert_eq!(advice.decision, RecentreDecision::Push);
    assert!(
        text(&advice).contains("uneven tightening, dirt"),
        "{}",
        text(&advice)
    );
}

#[test]
fn a_push_beyond_holes_or_boss_is_warned_of() {
    // M4 in holes of 4.5 mm go 0.25 mm each way (ISO 273 medium, from memory).
    let advice = ask(&question(off(0.3, 0.02, 18.0)));
    assert_eq!(advice.decision, RecentreDecision::Push);
    assert!(
        text(&advice).contains("go 0.25 mm (0.010 in) each way from the middle"),
        "{}",
        text(&advice)
    );
    assert!(headline(&advice).contains("more than screws and seat allow"));
    let advice = ask(&question(off(0.6, 0.02, 18.0)));
    assert!(
        text(&advice).contains("go 0.5 mm (0.020 in) from stop to stop"),
        "{}",
        text(&advice)
    );

    let mut tight = question(off(0.15, 0.02, 18.0));
    tight.drive.description = Some(DriveDescription {
        register_clearance: Some(0.1),
        ..DriveDescription::default()
    });
    assert!(text(&ask(&tight)).contains("The boss or jig that centres the pulley fights this push"));
}

#[test]
fn a_pulley_that_does_not_go_where_it_is_pushed_is_left_alone() {
    let mut question = question(off(0.36, 0.02, 20.0));
    question.earlier = vec![off(0.40, 0.02, 18.0)];
    let advice = ask(&question);
    assert_eq!((advice.decision, advice.round), (RecentreDecision::Stop, 2));
    assert!(
        headline(&advice).contains("only 10 in 100 arrived"),
        "{}",
        headline(&advice)
    );
    // A push that arrived, and a fourth one.
    question.now = off(0.15, 0.02, 100.0);
    assert_eq!(ask(&question).decision, RecentreDecision::Push);
    question.earlier = vec![
        off(0.4, 0.02, 18.0),
        off(0.3, 0.02, 100.0),
        off(0.28, 0.02, 200.0),
    ];
    let advice = ask(&question);
    assert_eq!((advice.decision, advice.round), (RecentreDecision::Stop, 4));
}

#[test]
fn questions_that_cannot_be_asked_are_refused() {
    let mut no_screw = question(off(0.18, 0.02, 18.0));
    no_screw.screw_1_angle = None;
    assert_eq!(recentre(&no_screw, &torques()), Err(Error::NoScrew1));
    // Nothing to push, so no direction to tell.
    no_screw.now = off(0.01, 0.01, 18.0);
    assert_eq!(ask(&no_screw).decision, RecentreDecision::Done);
    let refused = |change: fn(&mut RecentreQuestion)| {
        let mut question = question(off(0.18, 0.02, 18.0));
        change(&mut question);
        recentre(&question, &torques()).unwrap_err().to_string()
    };
    assert!(refused(|q| q.now.size.unit = "px".into()).contains("give it in `mm`"));
    assert!(refused(|q| q.now.size.value = -1.0).contains("eccentricity is -1"));
    assert!(refused(|q| q.now.direction.value = f64::NAN).contains("NaN"));
    assert!(refused(|q| q.screw_1_angle = Some(f64::INFINITY)).contains("screw 1"));
    assert!(refused(|q| q.drive.rim_diameter = 0.0).contains("rim diameter"));
}

/// A wheel in a made-up workshop: the truth, and what measuring and pushing make of it.
struct Bench {
    dice: Dice,
    x: f64,
    y: f64,
    measured_u95: f64,
    push_u95: f64,
    push_share: f64,
    screws: u32,
}

impl Bench {
    fn new(seed: u64, screws: u32) -> Self {
        let mut dice = Dice(seed);
        let direction = dice.between(0.0, std::f64::consts::TAU);
        Self {
            x: 0.5 * direction.cos(),
            y: 0.5 * direction.sin(),
            dice,
            measured_u95: 0.025,
            push_u95: 0.03,
            push_share: 0.10,
            screws,
        }
    }

    fn size(&self) -> f64 {
        self.x.hypot(self.y)
    }

    /// Measures; `times` measurements averaged.
    fn measure(&mut self, times: u32) -> Eccentricity {
        let u95 = self.measured_u95 / f64::from(times).sqrt();
        let x = self.x + self.dice.normal() * u95 / 1.96;
        let y = self.y + self.dice.normal() * u95 / 1.96;
        off(x.hypot(y), u95, y.atan2(x).to_degrees())
    }

    /// Pushes along the named place, missing the distance and the side by a share of it and by the hand's own error.
    fn push(&mut self, advice: &RecentreAdvice) {
        let push = advice.push.as_ref().expect("a push");
        let direction = (90.0 - push.toward.clockwise_from_screw_1).to_radians();
        let share = 1.0 + self.dice.normal() * self.push_share / 1.96;
        let aside = self.dice.normal() * self.push_share / 1.96 * push.distance.value;
        let (hand_x, hand_y) = (self.dice.normal(), self.dice.normal());
        let hand = self.push_u95 / 1.96;
        let along = push.distance.value * share;
        self.x += along * direction.cos() - aside * direction.sin() + hand * hand_x;
        self.y += along * direction.sin() + aside * direction.cos() + hand * hand_y;
    }

    /// Follows the advice to its end: pushes made, and how it ended.
    fn follow(&mut self) -> (usize, RecentreDecision) {
        let mut question = question(self.measure(1));
        let described = question.drive.description.as_mut().expect("a description");
        described.pulley_screws = self.screws;
        described.screw_size = ScrewSize::M5;
        let mut photos = 1;
        loop {
            let advice = ask(&question);
            match advice.decision {
                RecentreDecision::Push => {
                    self.push(&advice);
                    photos = 1;
                    let now = self.measure(photos);
                    let before = std::mem::replace(&mut question.now, now);
                    question.earlier.push(before);
                }
                // Better photos, as the advice says, but not without end.
                RecentreDecision::MeasureBetter if photos < 4 => {
                    photos *= 4;
                    question.now = self.measure(photos);
                }
                end => return (question.earlier.len(), end),
            }
        }
    }
}

/// 1,000 wheels that start 0.5 mm off: measured to ± 0.025 mm, pushed to within 10 % and ± 0.03 mm each way (assumptions,
/// no source). At least 95 in 100 must come to 0.05 mm in at most three pushes.
#[test]
fn the_loop_reaches_its_limit_in_three_rounds() {
    const RUNS: u64 = 1000;
    for screws in [3, 5, 8] {
        let (mut reached, mut rounds, mut largest) = (0, [0; 5], 0.0_f64);
        for seed in 0..RUNS {
            let mut bench = Bench::new(seed, screws);
            let (pushes, _) = bench.follow();
            assert!(pushes <= 3);
            rounds[pushes] += 1;
            reached += u32::from(bench.size() <= 0.05);
            largest = largest.max(bench.size());
        }
        println!(
            "{screws} screws: {reached} of {RUNS} within 0.05 mm; pushes {rounds:?}; largest left {largest:.3} mm"
        );
        assert!(reached >= 950, "{screws} screws: only {reached}");
    }
}

/// A limit that a workshop's hands cannot reach must end in a stop or in a better measurement, never in pushing on.
#[test]
fn clumsy_hands_come_to_an_end_too() {
    for seed in 0..200 {
        let mut bench = Bench {
            push_u95: 0.3,
            ..Bench::new(seed, 5)
        };
        let (pushes, end) = bench.follow();
        assert!(pushes <= 3);
        assert_ne!(end, RecentreDecision::Push);
    }
}

#[test]
fn the_picture_shows_every_screw_and_its_caution() {
    for screws in 3..=8 {
        let mut question = question(off(0.18, 0.02, 18.0));
        question.drive.description.as_mut().unwrap().pulley_screws = screws;
        let picture = ask(&question).picture;
        assert!(picture.starts_with("<svg") && picture.ends_with("</svg>"));
        for screw in 1..=screws {
            assert!(picture.contains(&format!(">{screw}</text>")), "{screws}: {screw}");
        }
        let caution = picture
            .split("<text")
            .find(|text| text.contains("Battery disconnected, fingers clear"))
            .unwrap();
        // The caution is the last line, with room for its letters above the lower edge.
        let number = |text: &str, before: &str, until: char| -> f64 {
            let rest = text.split(before).nth(1).unwrap();
            rest.split(until).next().unwrap().parse().unwrap()
        };
        let height = number(&picture, "viewBox=\"0 0 440 ", '"');
        assert!(number(caution, " y=\"", '"') + 8.0 <= height, "{height}");
        if let Some(folder) = std::env::var_os("SHOTS") {
            let path = std::path::Path::new(&folder).join(format!("recentre-{screws}.svg"));
            std::fs::write(path, &picture).unwrap();
        }
    }
}

#[test]
fn the_drawing_can_be_said_in_any_language_and_its_picture_says_it_in_english() {
    let pushed = ask(&question(off(0.18, 0.02, 18.0)));
    let mut unknown = question(off(0.02, 0.005, 18.0));
    unknown.screw_1_angle = None;
    for advice in [pushed, ask(&unknown)] {
        let drawing = &advice.drawing;
        let words = drawing.shapes.iter().filter_map(|shape| match shape {
            Shape::Word { word, .. } => Some(word),
            _ => None,
        });
        for said in words.chain(&drawing.told).chain(&drawing.standing) {
            assert!(said.code().is_some(), "{said}");
            assert!(advice.picture.contains(&format!(">{said}</text>")), "{said}");
        }
        assert!(!drawing.told.is_empty());
    }
}

#[test]
fn every_advice_carries_its_cautions_and_finished_sentences() {
    for seed in 0..2000 {
        let mut dice = Dice(seed);
        let mut question = question(off(
            dice.between(0.0, 0.8),
            dice.between(0.005, 0.2),
            dice.between(-400.0, 400.0),
        ));
        if dice.coin() {
            question.drive.description = None;
        }
        if dice.coin() {
            question.now.axial_runout = Some(mm(dice.between(0.0, 0.8), 0.05));
            question.now.axial_high_direction = Some(degrees(dice.between(0.0, 360.0), 8.0));
        }
        for _ in 0..dice.below(4) {
            question
                .earlier
                .push(off(dice.between(0.0, 0.8), 0.02, dice.between(0.0, 360.0)));
        }
        let advice = ask(&question);
        let sections = advice.guidance.sections();
        let cautions = sections
            .iter()
            .find(|section| section.title == "cautions")
            .unwrap();
        for words in [
            "disconnect the battery",
            "clear of belt and pulleys",
            "qualified workshop",
            "eye protection",
        ] {
            assert!(cautions.lines.iter().any(|line| line.contains(words)), "{words}");
        }
        for line in sections.iter().flat_map(|section| section.lines) {
            assert!(line.ends_with('.') || line.ends_with(".)"), "seed {seed}: {line}");
            assert!(
                line.starts_with(|first: char| first.is_uppercase()),
                "seed {seed}: {line}"
            );
            for slip in ["  ", "NaN", " ,", "..", "-0.00 ", " .", ": ."] {
                assert!(!line.contains(slip), "seed {seed}: {slip:?} in {line}");
            }
        }
    }
}
