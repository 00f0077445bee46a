use super::*;

fn all(paper: Paper) -> Vec<SheetPdf> {
    target_sheets(Sheet::All, paper, &TargetSet::built_in()).unwrap()
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    for paper in Paper::ALL {
        assert_eq!(all(paper), all(paper));
    }
}

#[test]
fn each_sheet_has_its_file_and_as_many_copies_as_fit() {
    let facts = |paper| {
        let fact = |s: SheetPdf| (s.file_name, s.plan.origins.len());
        all(paper).into_iter().map(fact).collect::<Vec<_>>()
    };
    let named = |name: &str, copies| (name.to_owned(), copies);
    assert_eq!(
        facts(Paper::A4),
        [
            named("bench-sheet-a4.pdf", 1),
            named("mount-card-a4.pdf", 12),
            named("hub-ring-a4.pdf", 6)
        ]
    );
    assert_eq!(
        facts(Paper::Letter),
        [
            named("bench-sheet-letter.pdf", 1),
            named("mount-card-letter.pdf", 10),
            named("hub-ring-letter.pdf", 6)
        ]
    );
}

/// The definition of the bench sheet says where its A4 page lies in its frame.
#[test]
fn the_bench_sheet_lies_on_a4_as_its_definition_says() {
    let sheets = all(Paper::A4);
    let targets = TargetSet::built_in();
    let page = targets.by_name("bench-sheet").unwrap().page().unwrap();
    assert!((sheets[0].plan.origins[0] + page.origin).norm() < 1e-9);
    assert_eq!(sheets[0].plan.page_mm, (page.size.x, page.size.y));
}

#[test]
fn all_that_is_measured_stays_off_the_rim_and_apart() {
    let targets = TargetSet::built_in();
    for paper in Paper::ALL {
        for sheet in Sheet::ALL.iter().filter(|s| **s != Sheet::All) {
            let target = targets.by_name(sheet.name()).unwrap();
            let plan = target_sheet(target, paper).unwrap().plan;
            let (low, high) = target.pattern_box();
            for origin in &plan.origins {
                let corners = [origin + low, origin + high].map(|p| (p.x, p.y));
                assert!(plan.is_printable(&corners), "{} on {paper:?}", target.name());
            }
            for bar in &plan.bars {
                let half = Vec2::repeat(bar.end_line_mm / 2.0);
                let across = match bar.axis {
                    Axis::X => Vec2::new(0.0, half.y),
                    Axis::Y => Vec2::new(half.x, 0.0),
                };
                let (from, to) = (bar.start - across, bar.end() + across);
                assert!(plan.is_printable(&[(from.x, from.y), (to.x, to.y)]));
                assert!((bar.end() - bar.start).norm() >= 100.0);
                for origin in &plan.origins {
                    let (low, high) = (origin + low, origin + high);
                    let gap = (from - high).sup(&(low - to)).max();
                    assert!(
                        gap >= 1.0 - 1e-9,
                        "{} on {paper:?}: bar {gap} mm away",
                        target.name()
                    );
                }
            }
        }
    }
}

#[test]
fn a_target_larger_than_the_paper_is_refused_with_its_size() {
    let text = r#"{"family": "tag36h11", "units": "mm", "targets": {"wide": {"kind": "charuco",
        "squares": [13, 4], "square_mm": 24.0, "marker_mm": 17.0, "first_id": 0}}}"#;
    let targets = TargetSet::from_json(text).unwrap();
    let error = target_sheets(Sheet::All, Paper::A4, &targets).unwrap_err();
    assert_eq!(
        error.to_string(),
        "target \"wide\" is 312.0 x 96.0 mm; A4 holds 281.8 x 194.8 mm beside the scale bars"
    );
    let error = target_sheets(Sheet::HubRing, Paper::A4, &targets).unwrap_err();
    assert_eq!(
        error.to_string(),
        "there is no target \"hub-ring\" in the definitions; they have wide"
    );
}

#[test]
fn a_users_own_targets_are_printed_too() {
    let own = include_str!("../../../../calibration/README.md")
        .split("```json")
        .nth(1)
        .unwrap();
    let own = TargetSet::from_json(own.split("```").next().unwrap()).unwrap();
    let sheets = target_sheets(Sheet::All, Paper::Letter, &own).unwrap();
    assert_eq!(sheets.len(), 2);
    assert!(sheets.iter().all(|s| s.plan.origins.len() >= 2));
}

#[test]
fn names_lead_back_to_sheets_and_papers() {
    assert!(Sheet::ALL.iter().all(|s| Sheet::from_name(s.name()) == Some(*s)));
    assert!(Paper::ALL.iter().all(|p| Paper::from_name(p.name()) == Some(*p)));
    assert_eq!(Sheet::from_name("poster"), None);
}
