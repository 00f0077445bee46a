//! Which definition files are read, which are refused and with what words.

use serde_json::{Value, json};
use shimwright_target::{Error, Kind, TargetSet, Vec2};

fn file(targets: Value) -> String {
    json!({ "family": "tag36h11", "units": "mm", "targets": targets }).to_string()
}

fn board() -> Value {
    json!({ "kind": "charuco", "squares": [4, 3], "square_mm": 10.0, "marker_mm": 7.0, "first_id": 300 })
}

fn with(mut value: Value, key: &str, entry: Value) -> Value {
    value[key] = entry;
    value
}

fn refused(targets: Value) -> Error {
    TargetSet::from_json(&file(targets)).expect_err("the definitions should be refused")
}

fn square(x: f64, y: f64, side: f64) -> Value {
    json!([[x, y], [x + side, y], [x + side, y + side], [x, y + side]])
}

#[test]
fn the_built_in_targets_have_the_agreed_measures() {
    let targets = TargetSet::built_in();
    let names: Vec<_> = targets.iter().map(|t| t.name()).collect();
    assert_eq!(names, ["bench-sheet", "mount-card", "hub-ring"]);
    let sheet = targets.by_name("bench-sheet").unwrap();
    assert_eq!(
        sheet.kind(),
        Kind::Board {
            columns: 11,
            rows: 8,
            square_mm: 24.0,
            marker_mm: 17.0
        }
    );
    assert_eq!((sheet.tags().len(), sheet.saddles().len()), (44, 70));
    assert_eq!(sheet.outline()[0], Vec2::new(-16.5, -9.0));
    let ring = targets.by_name("hub-ring").unwrap();
    assert_eq!((ring.tags().len(), ring.saddles().len()), (8, 0));
    assert!(ring.outline().iter().all(|p| (p.norm() - 32.0).abs() < 1e-12));
    assert_eq!(targets.by_tag(111).map(|t| t.name()), Some("mount-card"));
    assert!(targets.by_tag(112).is_none());
}

/// `rendered/targets.json` of the shared data: the geometry that the rendered pictures were made with.
#[test]
fn the_built_in_targets_equal_those_of_the_rendered_pictures() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../../shared/data/rendered/targets.json"
    );
    let Ok(text) = std::fs::read_to_string(path) else {
        println!("skipped: the shared data are not beside this repository");
        return;
    };
    let shared: Value = serde_json::from_str(&text).unwrap();
    let built_in = TargetSet::built_in();
    let shared_targets = shared["targets"].as_object().unwrap();
    assert_eq!(shared_targets.len(), built_in.iter().count());
    for target in &built_in {
        let theirs = &shared_targets[target.name()];
        let tags = theirs["tags"].as_object().unwrap();
        assert_eq!(tags.len(), target.tags().len());
        for tag in target.tags() {
            for (k, corner) in tag.corners.iter().enumerate() {
                assert_near(&tags[&tag.id.to_string()][k], corner);
            }
        }
        let none = serde_json::Map::new();
        let saddles = theirs.get("saddles").map_or(&none, |s| s.as_object().unwrap());
        assert_eq!(saddles.len(), target.saddles().len());
        for saddle in target.saddles() {
            assert_near(&saddles[&saddle.index.to_string()], &saddle.at);
        }
        if let Some(page) = target.page() {
            assert_near(&theirs["page_mm"], &page.size);
            assert_near(&theirs["page_origin_in_frame_mm"], &page.origin);
        }
    }
    // The same text is also a valid definition file of ours.
    TargetSet::from_json(&text).unwrap();
}

fn assert_near(theirs: &Value, ours: &Vec2) {
    let number = |k: usize| theirs[k].as_f64().expect("a number");
    let theirs = Vec2::new(number(0), number(1));
    // Theirs went through single precision and six decimals.
    assert!((theirs - ours).norm() < 2e-6, "{theirs:?} {ours:?}");
}

#[test]
fn the_listed_places_of_the_built_in_file_are_the_exact_ones_rounded() {
    let text = include_str!("../../../calibration/targets.json");
    let json: Value = serde_json::from_str(text).unwrap();
    for target in &TargetSet::built_in() {
        for tag in target.tags() {
            for (k, corner) in tag.corners.iter().enumerate() {
                assert_near(
                    &json["targets"][target.name()]["tags"][tag.id.to_string()][k],
                    corner,
                );
            }
        }
    }
}

#[test]
fn a_short_definition_follows_from_its_measures() {
    let ring = json!({ "kind": "ring", "outer_d_mm": 50.0, "hole_d_mm": 20.0, "tag_mm": 6.0,
        "tag_radius_mm": 17.0, "first_id": 400, "tag_count": 6 });
    let targets = TargetSet::from_json(&file(json!({ "own-card": board(), "own-ring": ring }))).unwrap();
    let card = targets.by_name("own-card").unwrap();
    assert_eq!(card.tags().len(), 6);
    assert_eq!(card.tags()[0].corners[0], Vec2::new(11.5, 1.5));
    let ring = targets.by_name("own-ring").unwrap();
    assert!((ring.tag(403).unwrap().corners[0] - Vec2::new(3.0, 20.0)).norm() < 1e-9);
    assert_eq!(TargetSet::built_in().with(&targets).unwrap().iter().count(), 5);
}

#[test]
fn a_target_of_the_same_name_takes_the_old_ones_place() {
    let own = TargetSet::from_json(&file(
        json!({ "mount-card": with(board(), "first_id", json!(100)) }),
    ))
    .unwrap();
    let targets = TargetSet::built_in().with(&own).unwrap();
    assert_eq!(targets.by_name("mount-card").unwrap().tags().len(), 6);
}

#[test]
fn an_id_of_another_target_is_refused() {
    let own = TargetSet::from_json(&file(json!({ "own": with(board(), "first_id", json!(203)) }))).unwrap();
    let error = TargetSet::built_in().with(&own).unwrap_err();
    assert_eq!(
        error.to_string(),
        "tag 203 is used by \"hub-ring\" and again by \"own\"; give every tag its own id"
    );
}

#[test]
fn ids_given_twice_or_beyond_the_family_are_refused() {
    let twice = r#"{"family": "tag36h11", "units": "mm", "targets": {"t": {"kind": "tags", "tags": {
        "5": [[0,0],[8,0],[8,8],[0,8]], "5": [[20,0],[28,0],[28,8],[20,8]]}}}}"#;
    let error = TargetSet::from_json(twice).unwrap_err();
    assert!(matches!(error, Error::DuplicateId { id: 5, .. }), "{error}");
    let beyond = json!({ "t": { "kind": "tags", "tags": { "587": square(0.0, 0.0, 8.0) } } });
    assert_eq!(
        refused(beyond),
        Error::IdBeyondFamily {
            target: "t".into(),
            id: 587
        }
    );
    let error = refused(json!({ "t": with(board(), "first_id", json!(584)) }));
    assert_eq!(
        error,
        Error::IdBeyondFamily {
            target: "t".into(),
            id: 587
        }
    );
    let error = refused(json!({ "t": with(board(), "first_id", json!(u32::MAX)) }));
    assert_eq!(
        error,
        Error::IdBeyondFamily {
            target: "t".into(),
            id: u32::MAX
        }
    );
    let same = r#"{"family": "tag36h11", "units": "mm", "targets": {
        "t": {"kind": "tags", "tags": {"1": [[0,0],[8,0],[8,8],[0,8]]}},
        "t": {"kind": "tags", "tags": {"2": [[0,0],[8,0],[8,8],[0,8]]}}}}"#;
    assert_eq!(
        TargetSet::from_json(same).unwrap_err(),
        Error::DuplicateName { name: "t".into() }
    );
}

#[test]
fn tags_that_are_not_square_or_mirrored_are_refused() {
    let tags = |corners: Value| json!({ "t": { "kind": "tags", "tags": { "5": corners } } });
    let error = refused(tags(json!([[0, 0], [8, 0], [8.0, 8.1], [0.0, 8.1]])));
    assert!(matches!(error, Error::TagNotSquare { id: 5, off_mm, .. } if (off_mm - 0.1).abs() < 1e-9));
    let error = refused(tags(json!([[8, 0], [0, 0], [0, 8], [8, 8]])));
    assert!(matches!(error, Error::TagMirrored { id: 5, .. }), "{error}");
}

#[test]
fn a_list_that_contradicts_the_measures_is_refused() {
    let mut listed = json!({});
    for (k, at) in [(1, 0), (3, 0), (0, 1), (2, 1), (1, 2), (3, 2)]
        .iter()
        .enumerate()
    {
        let place = square(f64::from(at.0) * 10.0 + 1.5, f64::from(at.1) * 10.0 + 1.5, 7.0);
        listed[(300 + k).to_string()] = place;
    }
    let good = with(board(), "tags", listed.clone());
    TargetSet::from_json(&file(json!({ "t": good }))).unwrap();
    listed["303"] = square(21.6, 11.5, 7.0);
    let error = refused(json!({ "t": with(board(), "tags", listed) }));
    assert!(matches!(error, Error::OffLayout { id: 303, off_mm, .. } if (off_mm - 0.1).abs() < 1e-9));
}

#[test]
fn limits_missing_and_unknown_keys_have_clear_words() {
    let cases = [
        (
            with(board(), "squares", json!([1, 3])),
            "squares across \"t\": 1 given, between 2 and 64 allowed",
        ),
        (
            with(board(), "squares", json!([60, 60])),
            "tags of \"t\": 1800 given, between 1 and 587 allowed",
        ),
        (
            with(board(), "marker_mm", json!(9.0)),
            "tag 300 of target \"t\" has 0.50 mm of white to the black squares; it needs 1.12 mm, one module",
        ),
        (
            with(board(), "square_mm", json!(-3.0)),
            "\"square_mm\" of target \"t\" is -3 mm; give 2 to 2000 mm",
        ),
        (
            with(board(), "hole_d_mm", json!(3.0)),
            "target \"t\" is of kind \"charuco\", which has no \"hole_d_mm\"; remove it",
        ),
        (
            json!({ "kind": "charuco", "squares": [4, 3], "square_mm": 10.0 }),
            "target \"t\" needs \"marker_mm\"",
        ),
        (
            with(board(), "first_id", Value::Null),
            "target \"t\" needs \"first_id\"",
        ),
    ];
    for (target, words) in cases {
        assert_eq!(refused(json!({ "t": target })).to_string(), words);
    }
    let error = refused(json!({ "t": with(board(), "sqare_mm", json!(3.0)) })).to_string();
    assert!(error.contains("unknown field `sqare_mm`"), "{error}");
    assert!(matches!(refused(json!({})), Error::Count { got: 0, .. }));
    assert!(matches!(
        refused(json!({ "My Card": board() })),
        Error::Name { .. }
    ));
    let inches = json!({ "family": "tag36h11", "units": "inch", "targets": { "t": board() } }).to_string();
    assert_eq!(
        TargetSet::from_json(&inches).unwrap_err(),
        Error::Units { found: "inch".into() }
    );
    let family = json!({ "family": "tag25h9", "units": "mm", "targets": { "t": board() } }).to_string();
    assert_eq!(
        TargetSet::from_json(&family).unwrap_err(),
        Error::Family {
            found: "tag25h9".into()
        }
    );
}

#[test]
fn tags_too_near_each_other_or_the_edge_are_refused() {
    let near = json!({ "t": { "kind": "tags", "tags": { "1": square(0.0, 0.0, 8.0), "2": square(8.5, 0.0, 8.0) } } });
    let error = refused(near);
    assert!(
        matches!(error, Error::TooTight { id: 2, gap_mm, .. } if (gap_mm - 0.5).abs() < 1e-9),
        "{error}"
    );
    let page = with(
        with(board(), "page_mm", json!([40.0, 30.0])),
        "page_origin_in_frame_mm",
        json!([-0.9, 0.0]),
    );
    let error = refused(json!({ "t": page }));
    assert!(matches!(error, Error::TooTight { id: 301, .. }), "{error}");
}

#[test]
fn the_example_of_the_readme_is_a_good_file() {
    let readme = include_str!("../../../calibration/README.md");
    let example = readme
        .split("```json")
        .nth(1)
        .unwrap()
        .split("```")
        .next()
        .unwrap();
    let own = TargetSet::from_json(example).unwrap();
    assert_eq!(TargetSet::built_in().with(&own).unwrap().iter().count(), 5);
}
