//! `board`.

use super::Place;
use crate::arguments::{BoardAdd, LocatedName};
use crate::output;
use crate::shell;
use shimwright_app::bridge::Failure;
use shimwright_app::load_json;
use shimwright_app::record::{Board, CornerState, Drive, Located};
use shimwright_app::told::millimetres;

/// Adds a board.
pub async fn add(asked: BoardAdd, place: &Place) -> Result<(), Failure> {
    let board = match &asked.from {
        Some(file) => Board {
            id: String::new(),
            ..load_json(file)?
        },
        None => described(&asked)?,
    };
    let workshop = place.open().await?;
    let saved = workshop.save_board(&board).await?;
    workshop.close().await;
    shell::print(&format!("{}\n", saved.id))
}

/// Most boards that a search lists.
const MOST_FOUND: u32 = 200;

/// Lists the boards, or those that are found by words.
pub async fn list(search: Option<&str>, json: bool, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let boards = match search {
        None => workshop.boards().await?,
        Some(words) => workshop.board_list(words, MOST_FOUND).await?.boards,
    };
    workshop.close().await;
    if json {
        shell::print_json(&boards)
    } else {
        shell::print(&output::boards(&boards, search))
    }
}

/// Shows a board.
pub async fn show(name: &str, json: bool, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let board = workshop.board_named(name).await?;
    workshop.close().await;
    if json {
        shell::print_json(&board)
    } else {
        shell::print(&output::board(&board))
    }
}

fn described(asked: &BoardAdd) -> Result<Board, Failure> {
    let length =
        |option: &str, text: &Option<String>| text.as_ref().map(|t| millimetres(option, t)).transpose();
    let usual = Drive::default();
    let drive = Drive {
        rim_diameter: length("--rim-diameter", &asked.rim_diameter)?.unwrap_or(usual.rim_diameter),
        mount_chamfer: length("--mount-chamfer", &asked.mount_chamfer)?,
        rim_chamfer: length("--rim-chamfer", &asked.rim_chamfer)?,
        located: asked.located.map_or(usual.located, |located| match located {
            LocatedName::Hub => Located::Hub,
            LocatedName::Pulley => Located::Pulley,
            LocatedName::Wheel => Located::Wheel,
        }),
        minimum_gap: length("--minimum-gap", &asked.minimum_gap)?.unwrap_or(usual.minimum_gap),
        same_spacer_everywhere: !asked.different_spacers,
        stack_limit: asked.stack_limit.unwrap_or(usual.stack_limit),
        ..usual
    };
    Ok(Board {
        id: String::new(),
        name: asked.name.clone().unwrap_or_default(),
        owner: asked.owner.clone(),
        notes: asked.notes.clone(),
        drive,
        corners: [
            corner_state("--left", &asked.left, &asked.left_offset)?,
            corner_state("--right", &asked.right, &asked.right_offset)?,
        ],
    })
}

fn corner_state(
    option: &str,
    spacer: &Option<Vec<String>>,
    offset: &Option<Vec<String>>,
) -> Result<CornerState, Failure> {
    let mut state = CornerState::default();
    if let Some([label, thickness]) = spacer.as_deref() {
        state.spacer_label = label.clone();
        state.spacer_thickness = millimetres(option, thickness)?;
    }
    if let Some([value, u95]) = offset.as_deref() {
        state.belt_offset = millimetres(option, value)?;
        state.belt_offset_u95 = millimetres(option, u95)?;
    }
    Ok(state)
}
