//! Advice besides spacers in the terminal: every kind, its JSON, its help and its refusals.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod shop;

use serde_json::{Value, json};
use shop::{Shop, refused};

fn text(shop: &Shop, arguments: &[&str]) -> String {
    let output = shop.run(arguments);
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

fn shop_with_board() -> Shop {
    let shop = Shop::new();
    text(
        &shop,
        &["board", "add", "Kestrel 2", "--left-offset", "0.1mm", "0.1mm"],
    );
    shop
}

fn recentre_question() -> Value {
    json!({
        "drive": {
            "rim_diameter": 99.0, "mount_chamfer": null, "rim_chamfer": null, "located": "wheel", "minimum_gap": 0.5,
            "motor_slide": [-0.5, 0.5], "same_spacer_everywhere": true, "stack_limit": 1,
            "description": { "pulley_screws": 5 }
        },
        "corner": "left",
        "now": {
            "size": { "value": 0.18, "u95": 0.02, "unit": "mm" },
            "direction": { "value": 18.0, "u95": 6.0, "unit": "deg" }
        },
        "screw_1_angle": 90.0,
        "earlier": []
    })
}

#[test]
fn a_push_is_told_and_drawn() {
    let shop = Shop::new();
    shop.write("q.json", recentre_question().to_string().as_bytes());
    let told = text(&shop, &["advise", "recentre", "q.json", "--picture", "push.svg"]);
    let (caution, step) = (
        told.find("disconnect the battery").unwrap(),
        told.find("\nsteps\n").unwrap(),
    );
    assert!(caution < step, "{told}");
    assert!(
        told.starts_with("Push from screw 2 toward the middle between screws 4 and 5"),
        "{told}"
    );
    let svg = std::fs::read_to_string(shop.path("push.svg")).unwrap();
    assert!(svg.starts_with("<svg"));
    let json = shop.json(["advise", "recentre", "q.json", "--json"]);
    assert_eq!(json["decision"], json!("push"));
    assert!(!json["guidance"]["cautions"].as_array().unwrap().is_empty());
    assert_eq!(json["picture"], json!(svg));

    let mut no_screw = recentre_question();
    no_screw["screw_1_angle"] = Value::Null;
    shop.write("q.json", no_screw.to_string().as_bytes());
    let trouble = refused(&shop.run(["advise", "recentre", "q.json"]), 2);
    assert!(trouble.contains("where screw 1 sits is not known"), "{trouble}");
}

#[test]
fn a_drive_is_described_and_its_belt_worked_out() {
    let shop = shop_with_board();
    let trouble = refused(&shop.run(["advise", "belt", "--board", "Kestrel 2"]), 2);
    assert!(trouble.contains("has not been described"), "{trouble}");
    let help = text(&shop, &["board", "describe", "Kestrel 2"]);
    assert!(
        help.contains("not described yet") && help.contains("Printed on the belt's back"),
        "{help}"
    );

    let set = [
        "--set",
        "motor_teeth=15",
        "--set",
        "flanges=outer",
        "--set",
        "screw_size=M5",
    ];
    let describe = [["board", "describe", "Kestrel 2"].as_slice(), &set].concat();
    let described = text(&shop, &describe);
    assert!(
        described.contains("motor_teeth = 15") && described.contains("\"M5\""),
        "{described}"
    );
    let belt = shop.json(["advise", "belt", "--board", "Kestrel 2", "--json"]);
    assert_eq!(belt["now"]["teeth"], json!(15));
    assert_eq!(belt["alignments"][0]["corner"], json!("left"));
    let told = text(&shop, &["advise", "belt", "--board", "Kestrel 2"]);
    assert!(
        told.contains("as loose as it can be") && told.contains("disconnect the battery"),
        "{told}"
    );

    for (set, words) in [
        ("wheel_teeth=64", "smaller than the tooth tips"),
        ("wheel_teet=64", "unknown key `wheel_teet`"),
        ("wheel_teeth=many", "the description"),
        ("wheel_teeth", "sets nothing"),
    ] {
        let trouble = refused(&shop.run(["board", "describe", "Kestrel 2", "--set", set]), 2);
        assert!(trouble.contains(words), "{set}: {trouble}");
    }
    assert_eq!(
        shop.json(["board", "describe", "Kestrel 2", "--json"])["wheel_teeth"],
        json!(60)
    );
}

#[test]
fn shake_wants_a_measured_turn_or_a_question() {
    let shop = shop_with_board();
    let board = ["--board", "Kestrel 2", "--corner", "left"];
    let trouble = refused(&shop.run([["advise", "shake"].as_slice(), &board].concat()), 2);
    assert!(
        trouble.contains("no turn was measured on the left corner"),
        "{trouble}"
    );
    let trouble = refused(&shop.run([["advise", "recentre"].as_slice(), &board].concat()), 2);
    assert!(trouble.contains("no turn was measured"), "{trouble}");
    let added = ["--added", "cap", "heavy", "70"];
    let trouble = refused(
        &shop.run([["advise", "shake"].as_slice(), &board, &added].concat()),
        2,
    );
    assert!(trouble.contains("`heavy`"), "{trouble}");
    let question = json!({
        "drive": recentre_question()["drive"],
        "eccentricity": { "value": 0.5, "u95": 0.05, "unit": "mm" },
        "added": [{ "name": "cap", "grams": 1.0, "radius": 40.0 }],
        "top_speed": 36.0
    });
    shop.write("q.json", question.to_string().as_bytes());
    let shake = shop.json(["advise", "shake", "q.json", "--json"]);
    assert_eq!(shake["unbalance"]["value"], json!(140.0));
    assert_eq!(shake["series"].as_array().unwrap().len(), 26);
    assert!(text(&shop, &["advise", "shake", "q.json"]).contains("36 km/h"));
}

#[test]
fn torques_and_service_come_with_cautions_and_a_makers_files_take_their_place() {
    let shop = shop_with_board();
    let told = text(&shop, &["advise", "torque"]);
    assert!(told.contains("0.55 N m, 4.9 in lb, 0.41 ft lb"), "{told}");
    assert!(
        told.contains("common practice, no source") && told.contains("disconnect the battery"),
        "{told}"
    );

    let service = ["advise", "service", "--board", "Kestrel 2", "--json"];
    let advice = shop.json(service);
    assert_eq!(advice["items"][0]["due"]["state"], json!("never-done"));
    let told = text(
        &shop,
        &[
            "board",
            "serviced",
            "Kestrel 2",
            "belt",
            "--day",
            "2020-01-01",
            "--odometer",
            "10",
        ],
    );
    assert!(told.contains("Due now: belt condition and tension."), "{told}");
    assert_eq!(shop.json(service)["items"][0]["id"], json!("belt"));
    let one = text(
        &shop,
        &[
            "advise",
            "service",
            "--board",
            "Kestrel 2",
            "--check",
            "grub-screws",
        ],
    );
    assert!(
        one.contains("soldering iron") && one.contains("eye protection"),
        "{one}"
    );
    for (arguments, words) in [
        (
            ["board", "serviced", "Kestrel 2", "bleat"].as_slice(),
            "no service check",
        ),
        (
            &["board", "serviced", "Kestrel 2", "belt", "--day", "soon"],
            "`soon` is no day",
        ),
        (
            &["advise", "service", "--board", "Kestrel 2", "--check", "x"],
            "no service check `x`",
        ),
        (
            &["advise", "service", "--board", "Kestrel 2", "--odometer", "-5"],
            "",
        ),
    ] {
        let trouble = refused(&shop.run(arguments), 2);
        assert!(trouble.contains(words), "{trouble}");
    }

    shop.write(
        "history/torques.json",
        b"{\"about\": \"x\", \"classes\": [{\"class\": 3}]}",
    );
    let trouble = refused(&shop.run(["advise", "torque"]), 2);
    assert!(trouble.contains("torques.json"), "{trouble}");
}

#[test]
fn every_kind_of_advice_explains_itself() {
    let shop = Shop::new();
    for kind in ["recentre", "belt", "shake", "torque", "service"] {
        let help = text(&shop, &["advise", kind, "--help"]);
        assert!(help.contains("--board") && help.contains("--json"), "{help}");
    }
    let help = text(&shop, &["advise", "--help"]);
    for kind in ["recentre", "belt", "shake", "torque", "service", "QUESTION.json"] {
        assert!(help.contains(kind), "{help}");
    }
    for kind in ["recentre", "belt", "shake"] {
        refused(&shop.run(["advise", kind]), 2);
    }
    refused(&shop.run(["advise"]), 2);
}
