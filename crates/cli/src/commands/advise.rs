//! `advise`.

use super::Place;
use crate::arguments::Advise;
use crate::output;
use crate::shell;
use shimwright_app::bridge::Failure;
use shimwright_app::{advise as answer, load_question};

/// Chooses spacers and prints the advice with its cautions.
pub async fn advise(asked: Advise, place: &Place) -> Result<(), Failure> {
    let advice = match (asked.question, asked.board) {
        (Some(file), _) => answer(&load_question(&file)?)?,
        (None, Some(board)) => {
            let workshop = place.open().await?;
            let board = workshop.board_named(&board).await?;
            let advice = workshop.advise(&board).await?;
            workshop.close().await;
            advice
        }
        (None, None) => {
            return Err(Failure::bad_input(
                "there is no question",
                "name a question file or --board",
            ));
        }
    };
    if asked.json {
        shell::print_json(&advice)
    } else {
        shell::print(&output::advice(&advice))
    }
}
