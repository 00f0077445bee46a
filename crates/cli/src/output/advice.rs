//! Spacer advice.

use super::table;
use super::work::with_table;
use shimwright_app::record::{SpacerAdvice, SpacerChoice};
use shimwright_app::told;

/// The advice with its cautions, steps, notes and grounds.
pub fn advice(advice: &SpacerAdvice) -> String {
    let ideal = advice.ideal.iter().map(|ideal| {
        vec![
            ideal.corner.name().to_owned(),
            format!("a ring of {} would do", told::set_length(ideal.thickness)),
        ]
    });
    let rows: Vec<Vec<String>> = choices(&advice.choices).into_iter().chain(ideal).collect();
    let mut text = with_table(&advice.guidance, "corners", &rows);
    if !advice.rejected.is_empty() {
        text += "\nnot chosen\n";
        let rows: Vec<Vec<String>> = advice
            .rejected
            .iter()
            .map(|ring| vec![ring.rings.join(" + "), ring.reason.to_string()])
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
