//! `advise`.

use super::Place;
use crate::arguments::{Advise, AdviseKind, Belt, Recentre, Service, Shake, Spacer, Torque};
use crate::output;
use crate::shell;
use serde::Serialize;
use shimwright_app::advice::{belt_advice, recentre, shake_advice};
use shimwright_app::bridge::Failure;
use shimwright_app::record::{AddedMass, Corner};
use shimwright_app::{advise as answer, load_json, load_question};
use shimwright_say::say;

/// Advises and prints the advice with its cautions.
pub async fn advise(asked: Advise, place: &Place) -> Result<(), Failure> {
    match asked.kind {
        None => spacer(asked.spacer, place).await,
        Some(AdviseKind::Recentre(asked)) => push(asked, place).await,
        Some(AdviseKind::Belt(asked)) => belt(asked, place).await,
        Some(AdviseKind::Shake(asked)) => shake(asked, place).await,
        Some(AdviseKind::Torque(asked)) => torque(asked, place).await,
        Some(AdviseKind::Service(asked)) => service(asked, place).await,
    }
}

fn no_question() -> Failure {
    Failure::bad_input(
        say!("there is no question"),
        say!("name a question file or --board"),
    )
}

fn show<T: Serialize>(json: bool, advice: &T, text: impl FnOnce(&T) -> String) -> Result<(), Failure> {
    if json {
        shell::print_json(advice)
    } else {
        shell::print(&text(advice))
    }
}

async fn spacer(asked: Spacer, place: &Place) -> Result<(), Failure> {
    let advice = match (asked.question, asked.board) {
        (Some(file), _) => answer(&load_question(&file)?)?,
        (None, Some(board)) => {
            let workshop = place.open().await?;
            let board = workshop.board_named(&board).await?;
            let advice = workshop.advise(&board).await?;
            workshop.close().await;
            advice
        }
        (None, None) => return Err(no_question()),
    };
    show(asked.json, &advice, output::advice)
}

async fn push(asked: Recentre, place: &Place) -> Result<(), Failure> {
    let advice = match (asked.question, asked.board, asked.corner) {
        (Some(file), ..) => recentre(&load_json(&file)?, &place.tables()?.torques)?,
        (None, Some(board), Some(corner)) => {
            let workshop = place.open().await?;
            let board = workshop.board_named(&board).await?;
            let advice = workshop.advise_recentre(&board, corner.into()).await?;
            workshop.close().await;
            advice
        }
        _ => return Err(no_question()),
    };
    if let Some(file) = asked.picture {
        std::fs::write(&file, &advice.picture).map_err(|error| {
            Failure::bad_input(
                say!("the drawing cannot be written to {} ({error})", file.display()),
                say!("name a file in a folder that can be written"),
            )
        })?;
    }
    show(asked.json, &advice, output::recentre)
}

async fn belt(asked: Belt, place: &Place) -> Result<(), Failure> {
    let advice = match (asked.question, asked.board) {
        (Some(file), _) => belt_advice(&load_json(&file)?)?,
        (None, Some(board)) => {
            let workshop = place.open().await?;
            let board = workshop.board_named(&board).await?;
            let advice = workshop.advise_belt(&board).await?;
            workshop.close().await;
            advice
        }
        (None, None) => return Err(no_question()),
    };
    show(asked.json, &advice, output::belt)
}

async fn shake(asked: Shake, place: &Place) -> Result<(), Failure> {
    let advice = match (asked.question, asked.board, asked.corner) {
        (Some(file), ..) => shake_advice(&load_json(&file)?)?,
        (None, Some(board), Some(corner)) => {
            let added = added(&asked.added)?;
            let corner: Corner = corner.into();
            let workshop = place.open().await?;
            let board = workshop.board_named(&board).await?;
            let advice = workshop
                .advise_shake(&board, corner, asked.top_speed, added)
                .await?;
            workshop.close().await;
            advice
        }
        _ => return Err(no_question()),
    };
    show(asked.json, &advice, output::shake)
}

/// Masses as `--added NAME GRAMS RADIUS` gives them, three words each.
fn added(words: &[String]) -> Result<Vec<AddedMass>, Failure> {
    let number = |what: &str, text: &String| {
        text.parse::<f64>().map_err(|_| {
            Failure::bad_input(
                say!("the {what} `{text}` in --added is no number"),
                say!("write it like --added \"valve cap\" 1.2 70"),
            )
        })
    };
    words
        .chunks_exact(3)
        .map(|mass| {
            Ok(AddedMass {
                name: mass[0].clone(),
                grams: number("mass", &mass[1])?,
                radius: number("radius", &mass[2])?,
            })
        })
        .collect()
}

async fn torque(asked: Torque, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let board = match asked.board {
        Some(name) => Some(workshop.board_named(&name).await?),
        None => None,
    };
    let advice = workshop.torque_table(board.as_ref())?;
    workshop.close().await;
    show(asked.json, &advice, output::torque)
}

async fn service(asked: Service, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let board = workshop.board_named(&asked.board).await?;
    let mut advice = workshop.service(&board, asked.odometer).await?;
    workshop.close().await;
    let Some(id) = asked.check else {
        return show(asked.json, &advice, output::service);
    };
    let ids: Vec<String> = advice.items.iter().map(|item| item.id.clone()).collect();
    advice.items.retain(|item| item.id == id);
    match advice.items.first() {
        Some(item) => show(asked.json, item, |item| output::guidance(&item.guidance)),
        None => Err(Failure::bad_input(
            say!("there is no service check `{id}`"),
            say!("there are: {}", ids.join(", ")),
        )),
    }
}
