//! Spacer advice.

use super::{paragraph, table};
use shimwright_app::record::{SpacerAdvice, SpacerChoice};
use shimwright_app::told;

/// The advice with its steps, notes, cautions and grounds. The cautions are always among it.
pub fn advice(advice: &SpacerAdvice) -> String {
    let mut text = paragraph("", "", &advice.headline);
    if !advice.choices.is_empty() {
        text += &format!("\n{}", table(&choices(&advice.choices)));
    }
    for ideal in &advice.ideal {
        text += &format!(
            "  {}: a ring of {} would do\n",
            ideal.corner.name(),
            told::set_length(ideal.thickness)
        );
    }
    section(
        &mut text,
        "steps",
        advice
            .steps
            .iter()
            .enumerate()
            .map(|(i, step)| (format!("{}. ", i + 1), step)),
    );
    section(
        &mut text,
        "notes",
        advice.notes.iter().map(|note| ("- ".into(), note)),
    );
    section(
        &mut text,
        "cautions",
        advice.cautions.iter().map(|caution| ("! ".into(), caution)),
    );
    section(
        &mut text,
        "rests on",
        advice.basis.iter().map(|ground| ("- ".into(), ground)),
    );
    if !advice.rejected.is_empty() {
        text += "\nnot chosen\n";
        let rows: Vec<Vec<String>> = advice
            .rejected
            .iter()
            .map(|ring| vec![ring.rings.join(" + "), ring.reason.clone()])
            .collect();
        text += &table(&rows);
    }
    text
}

fn choices(choices: &[SpacerChoice]) -> Vec<Vec<String>> {
    choices
        .iter()
        .map(|choice| {
            vec![
                choice.corner.name().to_owned(),
                format!(
                    "{}{}",
                    choice.rings.join(" + "),
                    if choice.change {
                        " (change)"
                    } else {
                        " (as fitted)"
                    }
                ),
                format!("gap {}", told::quantity(&choice.gap_after)),
                format!("belt offset {}", told::quantity(&choice.belt_offset_after)),
                format!("chance of a rub {}", told::chance(choice.rub_chance_after)),
            ]
        })
        .collect()
}

fn section<'a>(text: &mut String, heading: &str, lines: impl Iterator<Item = (String, &'a String)>) {
    let mut lines = lines.peekable();
    if lines.peek().is_some() {
        *text += &format!("\n{heading}\n");
    }
    for (mark, line) in lines {
        *text += &paragraph(&format!("  {mark}"), &" ".repeat(2 + mark.len()), line);
    }
}
