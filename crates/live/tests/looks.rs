//! Made-up turn series in the size of a camera's stream: what is told of good pictures, and of spoilt ones.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod support;

use shimwright_geom::GreyPicture;
use shimwright_live::{Judgement, Seen, Standing, Stillness, Trouble, View, Wish, judge, look};
use shimwright_record::CheckKind;
use shimwright_synth::render;
use shimwright_target::TargetSet;
use std::f64::consts::{PI, TAU};
use std::sync::OnceLock;
use support::{blurred, darkened, far, painted, turn_scene};

fn seen(picture: &GreyPicture, kind: CheckKind) -> Seen {
    look(picture, &TargetSet::built_in(), &Wish::of(kind).unwrap(), 1.5)
}

fn first_photo() -> &'static GreyPicture {
    static PHOTO: OnceLock<GreyPicture> = OnceLock::new();
    PHOTO.get_or_init(|| {
        let made = turn_scene(3, 1);
        render(&made.photos[0].scene, &made.photos[0].shot, 3)
    })
}

#[test]
fn a_whole_turn_is_taken_photo_by_photo_and_no_part_twice() {
    let made = turn_scene(7, 8);
    let wish = Wish::of(CheckKind::Turn).unwrap();
    let mut taken: Vec<View> = Vec::new();
    let mut last: Option<Judgement> = None;
    for (photo, truth) in made.photos.iter().zip(&made.truth.angles) {
        let picture = render(&photo.scene, &photo.shot, 7);
        let seen = seen(&picture, CheckKind::Turn);
        assert_eq!(seen.troubles, vec![], "a good picture");
        let view = seen.view.clone().unwrap();
        // Clockwise as the camera sees it, so that the angle falls; the first photo fixes the start.
        let start = *taken
            .first()
            .map_or(&view, |view| view)
            .wheel_angle
            .as_ref()
            .unwrap();
        let told = start - view.wheel_angle.unwrap();
        let true_turn = truth - made.truth.angles[0];
        let miss = (told - true_turn + PI).rem_euclid(TAU) - PI;
        assert!(miss.abs() < 0.06, "turned by {true_turn}, told {told}");

        let before = judge(&wish, &seen, true, &taken);
        if before.take {
            taken.push(view);
        } else {
            assert!(
                matches!(before.standing, Standing::SameAngle | Standing::Enough),
                "{before:?}"
            );
        }
        let after = judge(&wish, &seen, true, &taken);
        assert!(!after.take, "the same picture a second time");
        last = Some(after);
    }
    let last = last.unwrap();
    assert_eq!(last.covered.iter().filter(|has| **has).count(), last.taken);
    assert!(last.taken >= 5, "{last:?}");
}

#[test]
fn a_moving_picture_waits_until_it_stands() {
    let picture = first_photo();
    let (wish, mut stillness) = (Wish::of(CheckKind::Turn).unwrap(), Stillness::default());
    let mut standing = |seen: &Seen| judge(&wish, seen, stillness.after(seen), &[]).standing;
    let at_rest = seen(picture, CheckKind::Turn);
    let mut elsewhere = at_rest.clone();
    for corner in elsewhere.found.iter_mut().flat_map(|target| &mut target.corners) {
        corner.at.x += 12.0;
    }
    assert_eq!(
        standing(&at_rest),
        Standing::Moving,
        "the first picture tells nothing of motion"
    );
    assert_eq!(standing(&at_rest), Standing::Moving);
    assert_eq!(standing(&at_rest), Standing::Good);
    assert_eq!(standing(&elsewhere), Standing::Moving);
    // The wheel alone may turn beside a card that stands.
    let mut turned = elsewhere.clone();
    for corner in turned
        .found
        .iter_mut()
        .filter(|t| t.name == "hub-ring")
        .flat_map(|t| &mut t.corners)
    {
        corner.at.y -= 15.0;
    }
    assert_eq!(standing(&elsewhere), Standing::Moving);
    assert_eq!(standing(&elsewhere), Standing::Good);
    assert_eq!(standing(&turned), Standing::Moving);
}

#[test]
fn blur_is_told_while_targets_are_read_and_when_none_is() {
    let picture = first_photo();
    for radius in [2, 4, 12] {
        let seen = seen(&blurred(picture, radius), CheckKind::Turn);
        let told = &seen.troubles[0];
        println!(
            "box blur of radius {radius}: {told:?}, {} targets",
            seen.found.len()
        );
        assert!(
            matches!(told, Trouble::Blurred { blur_px, limit_px } if blur_px > limit_px),
            "radius {radius}: {told:?}"
        );
    }
}

#[test]
fn darkness_distance_and_another_sheet_have_their_own_words() {
    let picture = first_photo();
    assert!(
        matches!(seen(&darkened(picture, 0.08), CheckKind::Turn).troubles[0], Trouble::Dark { level, .. } if level < 40)
    );
    let small = look(
        &far(picture, 2),
        &TargetSet::built_in(),
        &Wish::of(CheckKind::Turn).unwrap(),
        1.0,
    );
    assert!(
        matches!(small.troubles[0], Trouble::TooFar { cell_px, limit_px } if cell_px < limit_px),
        "{:?}",
        small.troubles
    );
    // From so far away nothing is read, and that is not for blur.
    let none = seen(&far(picture, 3), CheckKind::Turn).troubles;
    assert!(
        matches!(none[0], Trouble::NoTarget { .. } | Trouble::TooFar { .. }),
        "{none:?}"
    );
    assert_eq!(
        seen(picture, CheckKind::Camera).troubles,
        vec![Trouble::WrongTarget {
            seen: "mount-card".into(),
            wanted: "bench-sheet".into()
        }]
    );
}

#[test]
fn a_lamp_and_a_hand_over_a_target_are_told_apart() {
    let picture = first_photo();
    let clean = seen(picture, CheckKind::Turn);
    for (name, level) in [
        ("hub-ring", 255),
        ("hub-ring", 120),
        ("mount-card", 255),
        ("mount-card", 70),
    ] {
        let target = clean.found.iter().find(|target| target.name == name).unwrap();
        // Over a good third of what was found of it, from one side.
        let xs = || target.corners.iter().map(|corner| corner.at.x);
        let (left, right) = (xs().fold(f64::INFINITY, f64::min), xs().fold(0.0, f64::max));
        let spoilt = painted(
            picture,
            (left - 14.0, left + 0.42 * (right - left)),
            level,
            &target.corners,
        );
        let told = seen(&spoilt, CheckKind::Turn).troubles;
        println!("{name} under {level}: {told:?}");
        let right_words = match &told[..] {
            [Trouble::Glare { target, share }] => level == 255 && target == name && *share > 0.2,
            [Trouble::Covered { target, share }] => level != 255 && target == name && *share > 0.2,
            _ => false,
        };
        assert!(right_words, "{name} under {level}: {told:?}");
    }
}
