//! `board describe` and `board serviced`.

use super::Place;
use crate::arguments::{Describe, Serviced};
use crate::output;
use crate::shell;
use serde_json::Value;
use shimwright_app::bridge::Failure;
use shimwright_app::record::{DriveDescription, ServiceDone};
use shimwright_app::{json_value, load_json};
use shimwright_phrase::Phrase;
use shimwright_say::say;

/// Shows or changes how a board's drive is described.
pub async fn describe(asked: Describe, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let mut board = workshop.board_named(&asked.board).await?;
    if asked.from.is_some() || !asked.set.is_empty() {
        let start = match &asked.from {
            Some(file) => load_json(file)?,
            None => board.drive.description.take().unwrap_or_default(),
        };
        let description = with(start, &asked.set)?;
        board = workshop.describe_drive(&board.id, description).await?;
    }
    let form = workshop.drive_form();
    workshop.close().await;
    if asked.json {
        shell::print_json(&board.drive.description)
    } else {
        shell::print(&output::description(board.drive.description.as_ref(), &form)?)
    }
}

/// A description with fields set from `FIELD=VALUE`.
fn with(start: DriveDescription, fields: &[String]) -> Result<DriveDescription, Failure> {
    let mut json =
        serde_json::to_value(start).map_err(|error| Failure::internal(Phrase::foreign(error.to_string())))?;
    for field in fields {
        let (name, text) = field.split_once('=').ok_or_else(|| {
            Failure::bad_input(
                say!("`{field}` sets nothing"),
                say!("write it like --set wheel_teeth=60"),
            )
        })?;
        // What is no JSON by itself is a word, such as `both` or `M5`.
        let value = serde_json::from_str(text).unwrap_or_else(|_| Value::String(text.to_owned()));
        if let Some(fields) = json.as_object_mut() {
            fields.insert(name.trim().to_owned(), value);
        }
    }
    json_value("the description", &json)
}

/// Writes down that a service check was done.
pub async fn serviced(asked: Serviced, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let board = workshop.board_named(&asked.board).await?;
    let day = match asked.day {
        Some(text) => text.parse().map_err(|error| {
            Failure::bad_input(
                Phrase::foreign(format!("{error}")),
                say!("name the day on which it was done"),
            )
            .about("--day")
        })?,
        None => workshop.today()?,
    };
    let done = ServiceDone {
        check: asked.check,
        day,
        odometer_km: asked.odometer,
        note: asked.note,
    };
    workshop.service_done(&board.id, &done).await?;
    let advice = workshop.service(&board, asked.odometer).await?;
    workshop.close().await;
    shell::print(&output::service(&advice))
}
