//! No advice without its cautions, whatever is asked.

mod made_up;

use made_up::{Dice, any_question, corner, mm, question, sentences};
use shimwright_advice::{choose_spacer, default_stock};
use shimwright_record::{Corner, Drive, SpacerAdvice};

/// What every advice must say, each as words that must stand together in one caution.
const ALWAYS: [&[&str]; 4] = [
    &["Switch the board off", "disconnect the battery"],
    &["fingers", "clear of belt and pulleys"],
    &["Do not ride", "rubs"],
    &["When in doubt", "qualified workshop"],
];

fn says(advice: &SpacerAdvice, words: &[&str]) -> bool {
    sentences(advice, "cautions")
        .iter()
        .any(|caution| words.iter().all(|word| caution.contains(word)))
}

#[test]
fn every_advice_carries_the_standing_cautions() {
    let mut kinds = [0; 2];
    for seed in 0..3000 {
        let question = any_question(&mut Dice(seed), 5);
        let advice = choose_spacer(&question).unwrap();
        kinds[usize::from(advice.fits)] += 1;
        for words in ALWAYS {
            assert!(
                says(&advice, words),
                "seed {seed}: {words:?} is missing in {:#?}",
                sentences(&advice, "cautions")
            );
        }
        let tools = ["play", "heat", "tighten", "loosen", "cut", "turned"];
        let work = sentences(&advice, "steps")
            .iter()
            .any(|step| tools.iter().any(|word| step.contains(word)));
        assert_eq!(
            work,
            says(&advice, &["eye protection"]) && work,
            "seed {seed}: {:#?}",
            sentences(&advice, "steps")
        );
    }
    assert!(kinds.iter().all(|&many| many > 300), "{kinds:?}");
}

#[test]
fn stored_advice_cannot_lose_its_cautions() {
    let corners = vec![corner(Corner::Left, mm(0.3, 0.05), mm(0.0, 0.2))];
    let advice = choose_spacer(&question(Drive::default(), corners, default_stock())).unwrap();
    let mut json = serde_json::to_value(&advice).unwrap();
    assert_eq!(
        serde_json::from_value::<SpacerAdvice>(json.clone()).unwrap(),
        advice
    );
    json["cautions"] = serde_json::json!([]);
    assert!(serde_json::from_value::<SpacerAdvice>(json.clone()).is_err());
    json.as_object_mut().unwrap().remove("cautions");
    assert!(serde_json::from_value::<SpacerAdvice>(json).is_err());
}

#[test]
fn every_text_is_a_finished_sentence() {
    for seed in 0..1500 {
        let advice = choose_spacer(&any_question(&mut Dice(seed), 5)).unwrap();
        let reasons = advice.rejected.iter().map(|rejected| &rejected.reason);
        let sections = advice.guidance.sections();
        let texts = sections.iter().flat_map(|section| section.lines);
        for text in texts.chain(reasons) {
            assert!(text.ends_with('.') || text.ends_with(".)"), "seed {seed}: {text}");
            assert!(
                text.starts_with(|first: char| first.is_uppercase()),
                "seed {seed}: {text}"
            );
            for slip in ["  ", "NaN", " ,", "..", "-0.00 ", " .", ": .", "and ."] {
                assert!(!text.contains(slip), "seed {seed}: {slip:?} in {text}");
            }
        }
    }
}
