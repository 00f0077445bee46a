//! Advice on the drive from what the history holds: re-centring rounds, shake, belt, service.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use shimwright_app::Workshop;
use shimwright_app::bridge::FailureCode;
use shimwright_app::record::*;
use shimwright_history::{History, NewCheck};
use std::path::Path;

/// 2026-03-08 10:00, plus some minutes.
fn minute(minutes: i64) -> shimwright_history::Time {
    let start = chrono::DateTime::parse_from_rfc3339("2026-03-08T10:00:00+01:00").unwrap();
    start + chrono::Duration::minutes(minutes)
}

fn quantity(value: f64, u95: f64, unit: &str) -> Quantity {
    Quantity {
        value,
        u95,
        unit: unit.into(),
    }
}

fn board() -> Board {
    Board {
        id: String::new(),
        name: "Kestrel 2".into(),
        owner: "Ada".into(),
        notes: String::new(),
        drive: Drive {
            description: Some(DriveDescription::default()),
            ..Drive::default()
        },
        corners: [
            CornerState {
                belt_offset: 0.1,
                belt_offset_u95: 0.1,
                ..CornerState::default()
            },
            CornerState::default(),
        ],
    }
}

/// A saved turn check of the left corner.
fn turn(board: &Board, size: f64, direction: f64) -> NewCheck {
    let values = [
        ("eccentricity", quantity(size, 0.02, "mm")),
        ("eccentricity_direction", quantity(direction, 4.0, "deg")),
    ];
    NewCheck {
        board: board.clone(),
        corner: Corner::Left,
        job: Job {
            drive: Some(JobDrive {
                mark_screw_angle: Some(90.0),
                ..JobDrive::default()
            }),
            ..Job::of(CheckKind::Turn)
        },
        camera: None,
        result: CheckResult {
            check: CheckKind::Turn,
            values: values
                .into_iter()
                .map(|(name, value)| (name.to_owned(), Value::One(value)))
                .collect(),
            verdict: Verdict {
                state: Conformity::Outside,
                text: Phrase::foreign("it runs out"),
                limit: 0.1,
                probability: 0.0,
            },
            budget: Vec::new(),
            photos: Vec::new(),
            warnings: Vec::new(),
        },
        advice: None,
        work_done: String::new(),
        photos: Vec::new(),
    }
}

/// A history with these turn checks: minute, eccentricity, direction.
async fn with_turns(folder: &Path, turns: &[(i64, f64, f64)]) -> Board {
    let history = History::open(folder, "0.1.0").await.unwrap();
    let saved = history.save_board(&board(), minute(0)).await.unwrap();
    for &(at, size, direction) in turns {
        history
            .save_check(turn(&saved, size, direction), minute(at))
            .await
            .unwrap();
    }
    history.close().await;
    saved
}

async fn open(folder: &Path) -> Workshop {
    Workshop::open_with_clock(folder, || minute(2000)).await.unwrap()
}

const DAY: i64 = 24 * 60;

#[tokio::test]
async fn pushes_of_one_day_are_rounds_of_one_recentring() {
    let folder = tempfile::tempdir().unwrap();
    let turns = [(1, 0.5, 0.0), (DAY + 1, 0.30, 18.0), (DAY + 20, 0.12, 200.0)];
    let board = with_turns(folder.path(), &turns).await;
    let workshop = open(folder.path()).await;
    let advice = workshop.advise_recentre(&board, Corner::Left).await.unwrap();
    // Yesterday's belongs to another job; today's first one was followed by a push.
    assert_eq!((advice.round, advice.decision), (2, RecentreDecision::Push));
    assert_eq!(advice.push.unwrap().toward.name, "screw 2");
    let none = workshop.advise_recentre(&board, Corner::Right).await.unwrap_err();
    assert_eq!(none.code, FailureCode::NotFound);
}

#[tokio::test]
async fn a_measurement_after_which_nothing_was_pushed_is_no_round() {
    let folder = tempfile::tempdir().unwrap();
    let turns = [(1, 0.045, 10.0), (2, 0.18, 18.0)];
    let board = with_turns(folder.path(), &turns).await;
    let workshop = open(folder.path()).await;
    let advice = workshop.advise_recentre(&board, Corner::Left).await.unwrap();
    assert_eq!((advice.round, advice.decision), (1, RecentreDecision::Push));
}

#[tokio::test]
async fn belt_and_shake_come_from_the_board_and_its_newest_turn() {
    let folder = tempfile::tempdir().unwrap();
    let board = with_turns(folder.path(), &[(1, 0.4, 10.0), (2, 0.2, 10.0)]).await;
    let workshop = open(folder.path()).await;
    let belt = workshop.advise_belt(&board).await.unwrap();
    let corners: Vec<Corner> = belt.alignments.iter().map(|one| one.corner).collect();
    assert_eq!(corners, [Corner::Left]);
    let shake = workshop
        .advise_shake(&board, Corner::Left, 30.0, Vec::new())
        .await
        .unwrap();
    // 200 g at 0.2 mm.
    assert!((shake.unbalance.value - 40.0).abs() < 1e-9);
    let mut undescribed = board.clone();
    undescribed.drive.description = None;
    let refused = workshop.advise_belt(&undescribed).await.unwrap_err();
    assert_eq!(refused.code, FailureCode::BadInput);
    assert!(refused.hint.contains("count its teeth"), "{refused}");
}

/// atan(0.2 / 112.03) = 0.1023°, and 0.31° between the axes: beyond 0.25°, which the offset entered for the corner alone keeps.
#[tokio::test]
async fn a_measured_alignment_goes_before_what_was_entered() {
    let folder = tempfile::tempdir().unwrap();
    let board = with_turns(folder.path(), &[]).await;
    let history = History::open(folder.path(), "0.1.0").await.unwrap();
    let mut aligned = turn(&board, 0.1, 0.0);
    for (name, value) in [
        ("belt_offset", quantity(-0.2, 0.05, "mm")),
        ("axis_angle", quantity(0.31, 0.04, "deg")),
    ] {
        aligned.result.values.insert(name.into(), Value::One(value));
    }
    history.save_check(aligned, minute(1)).await.unwrap();
    // A later check that says nothing of it does not hide it.
    history
        .save_check(turn(&board, 0.1, 0.0), minute(2))
        .await
        .unwrap();
    history.close().await;
    let belt = open(folder.path()).await.advise_belt(&board).await.unwrap();
    let [left] = belt.alignments.as_slice() else {
        panic!("{:?}", belt.alignments)
    };
    assert!(left.with_axis_angle && left.state == Conformity::Outside);
    assert!((left.angle.value - 0.4123).abs() < 1e-3, "{:?}", left.angle);
}

#[tokio::test]
async fn service_is_written_down_and_falls_due() {
    let folder = tempfile::tempdir().unwrap();
    let board = with_turns(folder.path(), &[]).await;
    let workshop = open(folder.path()).await;
    // Minute 2000 is the evening of 2026-03-09.
    assert_eq!(workshop.today().unwrap().to_string(), "2026-03-09");
    let done = |check: &str, day: &str, odometer_km| ServiceDone {
        check: check.into(),
        day: day.parse().unwrap(),
        odometer_km,
        note: String::new(),
    };
    workshop
        .service_done(&board.id, &done("belt", "2026-03-08", Some(100.0)))
        .await
        .unwrap();
    let state = async |odometer_km| {
        let advice = workshop.service(&board, odometer_km).await.unwrap();
        advice
            .items
            .iter()
            .find(|item| item.id == "belt")
            .unwrap()
            .due
            .state
    };
    assert_eq!(state(Some(110.0)).await, DueState::Later);
    assert_eq!(state(Some(310.0)).await, DueState::Due);
    for (wrong, words) in [
        (done("bleat", "2026-03-08", None), "no service check `bleat`"),
        (done("belt", "2026-03-10", None), "still to come"),
        (done("belt", "2026-03-08", Some(-1.0)), "odometer is -1 km"),
    ] {
        let failure = workshop.service_done(&board.id, &wrong).await.unwrap_err();
        assert!(failure.message.contains(words), "{failure}");
    }
}

/// The words of spacer advice and the torque table must not drift apart: common practice, no source, in both.
#[tokio::test]
async fn a_torque_is_the_same_wherever_it_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let board = with_turns(folder.path(), &[]).await;
    let workshop = open(folder.path()).await;
    let table = workshop.torque_table(Some(&board)).unwrap();
    let spacer = shimwright_app::advise(&SpacerQuestion {
        drive: Drive::default(),
        corners: vec![CornerGap {
            corner: Corner::Left,
            gap: quantity(0.2, 0.05, "mm"),
            spacer_thickness: 11.1125,
            spacer_label: "7/16 in".into(),
            belt_offset: quantity(0.0, 0.2, "mm"),
        }],
        stock: shimwright_app::advice::default_stock(),
        earlier: Vec::new(),
    })
    .unwrap();
    let basis = serde_json::to_value(&spacer).unwrap()["basis"].to_string();
    for class in ["pulley-screws", "body-screws", "pivot-nut"] {
        let line = table.lines.iter().find(|line| line.entry.class == class).unwrap();
        let torque = line.entry.torque.unwrap();
        assert!(basis.contains(&format!("{torque} N m")), "{class}: {basis}");
    }
}
