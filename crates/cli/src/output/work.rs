//! Advice besides spacers. The cautions are in the guidance, and nothing is printed without it.

use super::{paragraph, table};
use shimwright_app::bridge::{DriveForm, Failure};
use shimwright_app::record::{
    BeltAdvice, DriveDescription, Guidance, MotorSide, RecentreAdvice, ServiceAdvice, ShakeAdvice,
    TorqueAdvice, TorqueLine,
};
use shimwright_app::told;
use shimwright_phrase::Phrase;

/// Guidance with all its parts.
pub fn guidance(guidance: &Guidance) -> String {
    with_table(guidance, "", &[])
}

/// Guidance with a table behind its headline and cautions.
pub(super) fn with_table(guidance: &Guidance, heading: &str, rows: &[Vec<String>]) -> String {
    let table = if rows.is_empty() {
        String::new()
    } else {
        table(rows)
    };
    with_numbers(guidance, heading, &table)
}

/// Guidance with numbers, laid out already, behind its headline and cautions.
fn with_numbers(guidance: &Guidance, heading: &str, numbers: &str) -> String {
    let mut text = String::new();
    for section in guidance.sections() {
        if section.title != "headline" {
            let title = if section.title == "basis" {
                "rests on"
            } else {
                section.title
            };
            text += &format!("\n{title}\n");
        }
        for (place, line) in (1..).zip(section.lines) {
            let mark = match section.title {
                "headline" => String::new(),
                "cautions" => "  ! ".to_owned(),
                "steps" => format!("  {place}. "),
                _ => "  - ".to_owned(),
            };
            text += &paragraph(&mark, &" ".repeat(mark.len()), line);
        }
        if section.title == "cautions" && !numbers.is_empty() {
            text += &format!("\n{heading}\n{numbers}");
        }
    }
    text
}

/// Re-centring.
pub fn recentre(advice: &RecentreAdvice) -> String {
    let mut rows = vec![
        vec!["round".into(), advice.round.to_string()],
        vec!["radial run-out".into(), told::quantity(&advice.radial_runout)],
        vec![
            "chance that the limit is kept".into(),
            told::chance(advice.kept).text,
        ],
    ];
    if let Some(push) = &advice.push {
        rows.extend([
            vec!["push".into(), told::quantity(&push.distance)],
            vec!["from".into(), push.from.name.to_string()],
            vec!["toward".into(), push.toward.name.to_string()],
        ]);
    }
    with_table(&advice.guidance, "in numbers", &rows)
}

/// Belt geometry.
pub fn belt(advice: &BeltAdvice) -> String {
    let mut rows = Vec::new();
    for (name, pulley) in [("motor pulley", &advice.motor), ("wheel pulley", &advice.wheel)] {
        let outside = pulley
            .outside_diameter
            .map_or_else(|| "not known".to_owned(), told::set_length);
        rows.push(vec![
            name.into(),
            format!("{} teeth", pulley.teeth),
            format!("pitch diameter {}", told::set_length(pulley.pitch_diameter)),
            format!("outside {outside}"),
        ]);
    }
    rows.push(vec![
        "belt".into(),
        told::set_length(advice.belt_length),
        format!("free span {}", told::set_length(advice.free_span)),
    ]);
    rows.push(vec![
        "offset at the limit".into(),
        told::set_length(advice.offset_at_limit),
        format!("{}°", advice.alignment_limit),
    ]);
    rows.extend([&advice.now].into_iter().chain(&advice.smaller).map(motor_side));
    with_table(&advice.guidance, "in numbers", &rows)
}

fn motor_side(side: &MotorSide) -> Vec<String> {
    vec![
        format!("motor pulley {}", side.teeth),
        format!("axes {:.2} mm", side.centre_distance),
        // Down, as handbooks do: just under six teeth is not six.
        format!(
            "wrap {:.1}°, {:.1} teeth in mesh",
            side.wrap,
            (side.teeth_in_mesh * 10.0).floor() / 10.0
        ),
        format!("speed {:.0} %", side.speed_against_now * 100.0),
    ]
}

/// Shake over speed.
pub fn shake(advice: &ShakeAdvice) -> String {
    let every_fifth = advice.series.iter().step_by(5);
    let rows: Vec<Vec<String>> = every_fifth
        .map(|point| {
            vec![
                format!("{:.0} km/h", point.speed),
                format!("{:.1} Hz", point.frequency),
                format!("{:.2} ± {:.2} N", point.force, point.force_u95),
                format!("{:.1} mm/s", point.velocity),
            ]
        })
        .collect();
    with_table(&advice.guidance, "over speed", &rows)
}

/// The torque table.
pub fn torque(advice: &TorqueAdvice) -> String {
    let told: Vec<String> = advice.lines.iter().map(torque_line).collect();
    with_numbers(&advice.guidance, "torques", &told.concat())
}

/// A class of screws: torque and what the wrench gives, then source, wrench and how.
fn torque_line(line: &TorqueLine) -> String {
    let torque = line.units.map_or_else(
        || "no value".to_owned(),
        |units| {
            format!(
                "{} N m, {:.1} in lb, {:.2} ft lb",
                units.newton_metres, units.inch_pounds, units.foot_pounds
            )
        },
    );
    let gives = line.wrench_gives.map_or_else(String::new, |[least, most]| {
        format!("; a wrench in order gives {least:.2} to {most:.2} N m")
    });
    let indent = " ".repeat(6);
    let said = |name: &str, text: &str| paragraph(&format!("{indent}{name}: "), &indent, text);
    format!("  {}  {torque}{gives}\n", line.entry.class)
        + &said("source", &line.entry.cited)
        + &said("wrench", &line.entry.wrench)
        + &said("how", &line.entry.how)
}

/// Service checks and when they are due.
pub fn service(advice: &ServiceAdvice) -> String {
    let rows: Vec<Vec<String>> = advice
        .items
        .iter()
        .map(|item| {
            let headline = item
                .guidance
                .sections()
                .first()
                .and_then(|section| section.lines.first().map(ToString::to_string));
            vec![item.id.clone(), headline.unwrap_or_default()]
        })
        .collect();
    with_table(
        &advice.guidance,
        "checks (--check ID tells one whole, `shimwright board serviced` writes one down)",
        &rows,
    )
}

/// A drive's description with what each field means.
pub fn description(description: Option<&DriveDescription>, form: &DriveForm) -> Result<String, Failure> {
    let shown = description.unwrap_or(&form.starting);
    let json =
        serde_json::to_value(shown).map_err(|error| Failure::internal(Phrase::foreign(error.to_string())))?;
    let mut text = match description {
        Some(_) => String::new(),
        None => "not described yet; these are starting values:\n".to_owned(),
    };
    for field in &form.fields {
        let value = match &json[&field.field] {
            serde_json::Value::Null => "not known".to_owned(),
            value => format!("{value} {}", field.unit),
        };
        text += &format!("{} = {}\n", field.field, value.trim_end());
        text += &paragraph("    ", "    ", &format!("{}. {}", field.label, field.help));
    }
    Ok(text)
}
