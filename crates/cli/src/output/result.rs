//! A check's result.

use super::{paragraph, table};
use shimwright_app::record::{CheckKind, CheckResult, Conformity, Quantity, Value};
use shimwright_app::told;

/// The numbers, the verdict, the budget, what each photo gave, and what to beware of.
pub fn result(result: &CheckResult, inch: bool) -> String {
    let mut text = values(result, inch);
    text += &verdict(result);
    if !result.budget.is_empty() {
        text += "\nuncertainty budget (standard uncertainties)\n";
        text += &budget(result, inch);
    }
    if !result.photos.is_empty() {
        text += "\nphotos\n";
        text += &photos(result);
    }
    for warning in &result.warnings {
        text += &paragraph("warning: ", "  ", warning);
    }
    text
}

fn values(result: &CheckResult, inch: bool) -> String {
    let told = |quantity: &Quantity| {
        if inch {
            told::quantity_inch_first(quantity)
        } else {
            told::quantity(quantity)
        }
    };
    let mut rows = Vec::new();
    // The value that the verdict is about comes first.
    let main = result.main_value().map_or("", |(name, _)| name);
    let ordered = result.values.iter().filter(|(name, _)| *name == main);
    for (name, value) in ordered.chain(result.values.iter().filter(|(name, _)| *name != main)) {
        match value {
            Value::One(quantity) => rows.push(vec![told::value_name(name), told(quantity)]),
            Value::Many(list) => {
                rows.extend(list.iter().enumerate().map(|(i, quantity)| {
                    vec![format!("{} {}", told::value_name(name), i + 1), told(quantity)]
                }))
            }
        }
    }
    table(&rows)
}

fn verdict(result: &CheckResult) -> String {
    let state = match result.verdict.state {
        Conformity::Within => "within",
        Conformity::Outside => "OUTSIDE",
        Conformity::Undecided => "undecided",
    };
    paragraph(&format!("  {state}: "), "    ", &result.verdict.text)
}

fn budget(result: &CheckResult, inch: bool) -> String {
    // A calibration's budget is that of a place in the picture.
    let other = if result.check == CheckKind::Camera {
        "px"
    } else {
        "mm"
    };
    let unit = result
        .main_value()
        .map_or(other, |(_, quantity)| quantity.unit.as_str());
    let rows: Vec<Vec<String>> = result
        .budget
        .iter()
        .map(|line| {
            vec![
                line.part.to_string(),
                told::standard_uncertainty(line.u, unit, inch),
                line.note.to_string(),
            ]
        })
        .collect();
    table(&rows)
}

fn photos(result: &CheckResult) -> String {
    let rows: Vec<Vec<String>> = result
        .photos
        .iter()
        .map(|photo| {
            vec![
                photo.file.clone(),
                format!("{} corners", photo.corners),
                format!("residual {:.3} px", photo.rms_px),
                if photo.used { "used" } else { "not used" }.to_owned(),
                photo.note.as_ref().map(ToString::to_string).unwrap_or_default(),
            ]
        })
        .collect();
    table(&rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_app::record::{BudgetLine, PhotoUse, Phrase, Verdict};

    #[test]
    fn a_result_tells_everything_that_it_holds() {
        let mm = |value, u95| {
            Value::One(Quantity {
                value,
                u95,
                unit: "mm".into(),
            })
        };
        let deg = Value::One(Quantity {
            value: 0.31,
            u95: 0.1,
            unit: "deg".into(),
        });
        let of = CheckResult {
            check: CheckKind::Gap,
            values: [("axis_tilt".to_owned(), deg), ("gap".to_owned(), mm(1.42, 0.05))].into(),
            verdict: Verdict {
                state: Conformity::Within,
                text: Phrase::foreign("the gap keeps the minimum of 0.50 mm"),
                limit: 0.5,
                probability: 1.0,
            },
            budget: vec![BudgetLine {
                part: Phrase::foreign("edge noise"),
                u: 0.021,
                note: Phrase::foreign("scatter of the edges"),
            }],
            photos: vec![PhotoUse {
                file: "a.jpg".into(),
                corners: 14,
                rms_px: 0.0213,
                used: false,
                note: Some(Phrase::foreign("blurred")),
                drawn: vec![],
            }],
            warnings: vec![Phrase::foreign("the print scale was never checked")],
        };
        let text = result(&of, false);
        assert!(
            text.starts_with("  gap        1.42 ± 0.05 mm (0.0559 ± 0.0020 in)\n"),
            "{text}"
        );
        for part in [
            "axis tilt  0.31 ± 0.10°",
            "within: the gap keeps the minimum of 0.50 mm",
            "edge noise  0.0210 mm  scatter of the edges",
            "a.jpg  14 corners  residual 0.021 px  not used  blurred",
            "warning: the print scale was never checked",
        ] {
            assert!(text.contains(part), "{part:?} is not in\n{text}");
        }
        assert!(result(&of, true).starts_with("  gap        0.0559 ± 0.0020 in (1.42 ± 0.05 mm)\n"));
    }
}
