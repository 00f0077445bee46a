//! `stock`.

use super::Place;
use crate::output;
use crate::shell;
use shimwright_app::bridge::Failure;
use shimwright_app::record::SpacerStock;
use shimwright_app::told::millimetres;

/// Adds rings of a size, or changes the line with that label.
pub async fn add(
    label: String,
    thickness: &str,
    u95: &str,
    count: u32,
    place: &Place,
) -> Result<(), Failure> {
    let line = SpacerStock {
        label,
        thickness: millimetres("the thickness", thickness)?,
        u95: millimetres("--u95", u95)?,
        count,
    };
    let workshop = place.open().await?;
    let mut stock = workshop.stock().await?;
    match stock.iter_mut().find(|known| known.label == line.label) {
        Some(known) => *known = line,
        None => stock.push(line),
    }
    workshop.save_stock(&stock).await?;
    workshop.close().await;
    shell::print(&output::stock(&stock))
}

/// Lists the rings.
pub async fn list(json: bool, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let stock = workshop.stock().await?;
    workshop.close().await;
    if json {
        shell::print_json(&stock)
    } else {
        shell::print(&output::stock(&stock))
    }
}
