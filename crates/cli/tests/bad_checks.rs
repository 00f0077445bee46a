//! Bad jobs of the other checks: one line that says what is wrong and how to mend it, exit status 2 or 3, nothing stored.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod shop;

use serde_json::{Value, json};
use shop::{Shop, refuse};

const PHOTOS: [&str; 5] = [
    "left-1.jpg",
    "left-2.jpg",
    "left-3.jpg",
    "right-1.jpg",
    "right-2.jpg",
];

/// A job of a kind with the demo's photos, the first of them marked, and further keys.
fn job(check: &str, photos: usize, marks: &Value, more: &Value) -> Value {
    let listed: Vec<_> = PHOTOS[..photos]
        .iter()
        .enumerate()
        .map(|(i, file)| match i {
            0 => json!({"file": file, "marks": marks}),
            _ => json!({"file": file}),
        })
        .collect();
    let mut job = json!({"check": check, "photos": listed});
    for (key, value) in more.as_object().unwrap() {
        job[key] = value.clone();
    }
    job
}

/// The demo's photos show no hub ring and no bench sheet: what is asked for cannot be measured in them.
#[test]
fn photos_without_the_target_that_the_check_needs() {
    let shop = Shop::new();
    let sized = json!({"drive": {"rim_diameter": 99.0}});
    let turn = refuse(&shop, &job("turn", 5, &json!({}), &sized), 3);
    assert!(turn.contains("hub-ring"), "{turn}");
    let play = refuse(&shop, &job("play", 2, &json!({}), &json!({})), 3);
    assert!(play.contains("hub-ring"), "{play}");
}

/// Turn jobs that cannot be meant: each is refused before a photo is decoded.
#[test]
fn turn_jobs_that_cannot_be_meant() {
    let shop = Shop::new();
    let rim = json!([[900, 900], [1000, 800], [1100, 900]]);
    let edge = json!([[900, 900], [1000, 900]]);
    let none = json!({});
    for (photos, marks, more, part) in [
        (3, json!({"rim_edge": rim}), none.clone(), "at least 4 photos"),
        (5, none.clone(), none.clone(), "drive.rim_diameter"),
        (5, json!({"rim_edge": edge}), none.clone(), "at least 3 points"),
        (
            5,
            json!({"mount_edge": edge}),
            none.clone(),
            "knows no mark `mount_edge`",
        ),
        (
            5,
            json!({"rim_edge": rim}),
            json!({"targets": {"fixed": "hub-ring", "turning": "hub-ring"}}),
            "both as the fixed and as the turning target",
        ),
        (
            5,
            json!({"rim_edge": rim}),
            json!({"targets": {"turning": "moon-ring"}}),
            "moon-ring",
        ),
        (
            5,
            json!({"rim_edge": rim}),
            json!({"drive": {"runout_limit": 40}}),
            "`drive.runout_limit` is 40 mm",
        ),
        (
            5,
            json!({"rim_edge": rim}),
            json!({"drive": {"mark_screw_angle": 900}}),
            "degrees",
        ),
        (
            5,
            json!({"rim_edge": rim}),
            json!({"print_scale": {"x": 1.0, "y": 1.0, "u95": 0.2}}),
            "`print_scale.u95` is 0.2",
        ),
    ] {
        let trouble = refuse(&shop, &job("turn", photos, &marks, &more), 2);
        assert!(trouble.contains(part), "{trouble}");
    }
}

/// Play jobs that cannot be meant.
#[test]
fn play_jobs_that_cannot_be_meant() {
    let shop = Shop::new();
    for (photos, more, part) in [
        (1, json!({}), "at least 2 photos"),
        (
            2,
            json!({"drive": {"play_limit": 0}}),
            "`drive.play_limit` is 0 mm",
        ),
        (2, json!({"targets": {"fixed": "hub-ring"}}), "both as the fixed"),
        (2, json!({"sound": "plucks.wav"}), "sound"),
    ] {
        let trouble = refuse(&shop, &job("play", photos, &json!({}), &more), 2);
        assert!(trouble.contains(part), "{trouble}");
    }
}

/// A part job whose photo is none, and one whose marks lie outside the picture.
#[test]
fn part_jobs_with_photos_that_do_not_fit_them() {
    let shop = Shop::new();
    let outside = json!({"outer": [[900, 900], [1000, 800], [9000, 900]]});
    let trouble = refuse(&shop, &job("part", 2, &outside, &json!({})), 2);
    assert!(
        trouble.contains("outside the picture of 2816 x 2112"),
        "{trouble}"
    );
    shop.write("left-2.jpg", b"no picture");
    let trouble = refuse(
        &shop,
        &job(
            "part",
            2,
            &json!({"outer": [[9, 9], [20, 8], [30, 9]]}),
            &json!({}),
        ),
        2,
    );
    assert!(trouble.contains("left-2.jpg"), "{trouble}");
}

/// Alignment jobs that cannot be meant.
#[test]
fn alignment_jobs_that_cannot_be_meant() {
    let shop = Shop::new();
    let arc = json!([[900, 900], [1000, 850], [1100, 900]]);
    let names = ["driven_inner", "driven_outer", "motor_inner", "motor_outer"];
    let sizes = json!({"rim_diameter": 96.0, "motor_diameter": 32.0});
    // A job with these marks on two photos and the sizes changed.
    let made = |marked: &[&str], changed: &Value| {
        let marks: serde_json::Map<_, _> = marked
            .iter()
            .map(|name| ((*name).to_owned(), arc.clone()))
            .collect();
        let marks = Value::Object(marks);
        let mut drive = sizes.clone();
        for (key, value) in changed.as_object().unwrap() {
            drive[key] = value.clone();
        }
        let mut made = job("alignment", 3, &marks, &json!({"drive": drive}));
        made["photos"][1]["marks"] = marks;
        made
    };
    let none = json!({});
    for (marked, changed, part) in [
        (
            &names[..],
            json!({"motor_diameter": null}),
            "does not give `drive.motor_diameter`",
        ),
        (
            &names[..],
            json!({"rim_diameter": 4}),
            "`drive.rim_diameter` is 4 mm",
        ),
        (
            &names[..],
            json!({"alignment_limit": 0}),
            "`drive.alignment_limit` is 0 degrees",
        ),
        (
            &names[..2],
            none.clone(),
            "no photo has a mark of the motor's pulley",
        ),
        (
            &names[1..],
            none.clone(),
            "only one edge of the wheel's pulley is marked",
        ),
        (
            &["driven_inner", "motor_inner"][..],
            json!({"driven_width": {"value": 17, "u95": 0.1}, "motor_width": {"value": 17, "u95": 0.1}}),
            "which way is outboard",
        ),
        (
            &["driven_inner", "rim_edge"][..],
            none.clone(),
            "knows no mark `rim_edge`",
        ),
        (
            &names[1..],
            json!({"driven_width": {"value": 1700, "u95": 0.1}}),
            "`drive.driven_width` is 1700 mm",
        ),
    ] {
        let trouble = refuse(&shop, &made(marked, &changed), 2);
        assert!(trouble.contains(part), "{trouble}");
    }
    let mut one_sided = made(&names, &none);
    one_sided["photos"][1]["marks"] = json!({});
    assert!(refuse(&shop, &one_sided, 2).contains("is marked in one photo only"));
    let mut alone = made(&names, &none);
    alone["photos"] = json!([alone["photos"][0]]);
    assert!(refuse(&shop, &alone, 2).contains("one photo cannot tell"));
    // The marks lie on no pulley.
    let trouble = refuse(&shop, &made(&names, &none), 3);
    assert!(
        trouble.contains("lie on no circle") || trouble.contains("share less than"),
        "{trouble}"
    );
}
