//! `shop` and `visit`.

use super::Place;
use crate::arguments_of_records::{Shop, VisitNote};
use crate::output;
use crate::shell;
use shimwright_app::bridge::{Failure, FailureCode};
use shimwright_app::record::{PartUsed, TorqueUsed, VisitNotes};
use shimwright_say::say;

/// Shows the shop, after changing what was given.
pub async fn shop(asked: Shop, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let mut shop = workshop.shop().await?;
    let before = shop.clone();
    shop.name = asked.name.unwrap_or(shop.name);
    shop.address = asked.address.unwrap_or(shop.address);
    shop.technician = asked.technician.unwrap_or(shop.technician);
    if shop != before {
        workshop.save_shop(&shop).await?;
    }
    workshop.close().await;
    if asked.json {
        shell::print_json(&shop)
    } else {
        shell::print(&output::shop(&shop))
    }
}

/// Writes down what is to be said of a visit.
pub async fn note(asked: VisitNote, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let board = workshop.board_named(&asked.board).await?;
    let named = match &asked.visit {
        Some(named) => named.clone(),
        None => workshop.today()?.to_string(),
    };
    let known = match workshop.visit_notes(&board, Some(&named)).await {
        // Today's visit is opened when there is none.
        Err(failure) if failure.code == FailureCode::NotFound && asked.visit.is_none() => {
            VisitNotes::default()
        }
        known => known?,
    };
    let notes = changed(known, &asked)?;
    workshop
        .note_visit(&board, asked.visit.as_deref(), &notes)
        .await?;
    let shop = workshop.shop().await?;
    workshop.close().await;
    if asked.json {
        shell::print_json(&notes)
    } else {
        shell::print(&output::visit_notes(&notes, &shop))
    }
}

/// The notes with what was given; parts and torques are added to those that are there.
fn changed(mut notes: VisitNotes, asked: &VisitNote) -> Result<VisitNotes, Failure> {
    notes.odometer_km = asked.odometer.or(notes.odometer_km);
    if let Some(technician) = &asked.technician {
        notes.technician.clone_from(technician);
    }
    if let Some(remarks) = &asked.remarks {
        notes.remarks.clone_from(remarks);
    }
    for pair in asked.part.chunks_exact(2) {
        let count = pair[0].parse().map_err(|_| {
            Failure::bad_input(
                say!("--part says `{}`, which is no count", pair[0]),
                say!("write it like --part 2 \"spacer\""),
            )
        })?;
        notes.parts.push(PartUsed {
            name: pair[1].clone(),
            count,
        });
    }
    for three in asked.torque.chunks_exact(3) {
        let newton_metres = three[1].parse().map_err(|_| {
            Failure::bad_input(
                say!("--torque says `{}`, which is no torque", three[1]),
                say!("write it in newton metres, like --torque \"pulley screws\" 6 \"the board's manual\""),
            )
        })?;
        notes.torques.push(TorqueUsed {
            screw: three[0].clone(),
            newton_metres,
            source: three[2].clone(),
        });
    }
    Ok(notes)
}
