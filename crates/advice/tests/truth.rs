//! Examples worked by hand, from question to advice: `tests/truth/spacer_*.json`, each with its arithmetic.

mod made_up;

use made_up::headline;
use serde::Deserialize;
use shimwright_advice::choose_spacer;
use shimwright_record::{Corner, SpacerQuestion};
use std::path::{Path, PathBuf};

/// The examples give six decimals.
const HAND: f64 = 1.5e-6;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Example {
    #[serde(rename = "about")]
    _about: String,
    source: String,
    worked: Vec<String>,
    question: SpacerQuestion,
    expect: Expected,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Expected {
    fits: bool,
    /// Words of the headline.
    headline: String,
    choices: Vec<Choice>,
    ideal: Vec<Ideal>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Choice {
    corner: Corner,
    rings: Vec<String>,
    change: bool,
    gap_after: f64,
    gap_after_u95: f64,
    belt_offset_after: f64,
    belt_offset_after_u95: Option<f64>,
    motor_slide: f64,
    rub_chance_now: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Ideal {
    corner: Corner,
    thickness: f64,
}

fn examples() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/truth");
    let files = std::fs::read_dir(&folder).expect("the folder of worked examples");
    let mut paths: Vec<PathBuf> = files.map(|file| file.expect("a file").path()).collect();
    paths.retain(|path| {
        let name = path
            .file_name()
            .and_then(|name| name.to_str())
            .unwrap_or_default();
        name.starts_with("spacer_") && name.ends_with(".json")
    });
    paths.sort();
    paths
}

#[test]
fn advice_agrees_with_what_was_worked_by_hand() {
    let paths = examples();
    assert!(paths.len() >= 6, "{paths:?}");
    for path in paths {
        let name = path.display();
        let text = std::fs::read_to_string(&path).unwrap();
        let example: Example = serde_json::from_str(&text).unwrap_or_else(|fault| panic!("{name}: {fault}"));
        assert!(!example.source.is_empty() && !example.worked.is_empty(), "{name}");
        let advice = choose_spacer(&example.question).unwrap();
        let expect = example.expect;

        assert_eq!(advice.fits, expect.fits, "{name}");
        assert!(
            headline(&advice).contains(&expect.headline),
            "{name}: {}",
            headline(&advice)
        );
        assert_eq!(advice.choices.len(), expect.choices.len(), "{name}");
        for (got, want) in advice.choices.iter().zip(&expect.choices) {
            assert_eq!(
                (got.corner, &got.rings, got.change),
                (want.corner, &want.rings, want.change),
                "{name}"
            );
            let close = |got: f64, want: f64, what| {
                assert!(
                    (got - want).abs() < HAND,
                    "{name}: {what} is {got}, worked by hand {want}"
                );
            };
            close(got.gap_after.value, want.gap_after, "gap");
            close(got.gap_after.u95, want.gap_after_u95, "u95 of the gap");
            close(got.belt_offset_after.value, want.belt_offset_after, "belt offset");
            if let Some(u95) = want.belt_offset_after_u95 {
                close(got.belt_offset_after.u95, u95, "u95 of the belt offset");
            }
            close(got.motor_slide, want.motor_slide, "slide");
            close(got.rub_chance_now, want.rub_chance_now, "chance of a rub now");
        }
        assert_eq!(advice.ideal.len(), expect.ideal.len(), "{name}");
        for (got, want) in advice.ideal.iter().zip(&expect.ideal) {
            assert_eq!(got.corner, want.corner, "{name}");
            assert!(
                (got.thickness - want.thickness).abs() < HAND,
                "{name}: ideal {}",
                got.thickness
            );
        }
    }
}
