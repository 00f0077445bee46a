//! What the page may ask about the care of a board: advice on its drive, torques, and service checks by hand.

use crate::Shop;
use shimwright_app::bridge::{DriveForm, Failure};
use shimwright_app::record::{
    AddedMass, BeltAdvice, Board, Corner, Day, DriveDescription, RecentreAdvice, ServiceAdvice, ServiceDone,
    ShakeAdvice, SpacerAdvice, TorqueAdvice,
};
use tauri::State;

type Answer<T> = Result<T, Failure>;

/// What the fields of a drive's description mean, with starting values.
#[tauri::command]
pub async fn drive_form(shop: State<'_, Shop>) -> Answer<DriveForm> {
    Ok(shop.workshop()?.drive_form())
}

/// Describes a board's drive anew.
#[tauri::command]
pub async fn describe_drive(
    shop: State<'_, Shop>,
    board_id: String,
    description: DriveDescription,
) -> Answer<Board> {
    shop.workshop()?.describe_drive(&board_id, description).await
}

/// Spacers for a board's newest gaps.
#[tauri::command]
pub async fn advise_spacer(shop: State<'_, Shop>, board_id: String) -> Answer<SpacerAdvice> {
    let workshop = shop.workshop()?;
    workshop.advise(&workshop.board(&board_id).await?.board).await
}

/// Which way and how far to push a pulley, from the newest saved turn check of a corner.
#[tauri::command]
pub async fn advise_recentre(
    shop: State<'_, Shop>,
    board_id: String,
    corner: Corner,
) -> Answer<RecentreAdvice> {
    let workshop = shop.workshop()?;
    let board = workshop.board(&board_id).await?.board;
    workshop.advise_recentre(&board, corner).await
}

/// Belt geometry and alignment.
#[tauri::command]
pub async fn advise_belt(shop: State<'_, Shop>, board_id: String) -> Answer<BeltAdvice> {
    let workshop = shop.workshop()?;
    workshop
        .advise_belt(&workshop.board(&board_id).await?.board)
        .await
}

/// What the newest measured eccentricity of a corner, and added masses, mean up to a top speed (km/h).
#[tauri::command]
pub async fn advise_shake(
    shop: State<'_, Shop>,
    board_id: String,
    corner: Corner,
    top_speed: f64,
    added: Vec<AddedMass>,
) -> Answer<ShakeAdvice> {
    let workshop = shop.workshop()?;
    let board = workshop.board(&board_id).await?.board;
    workshop.advise_shake(&board, corner, top_speed, added).await
}

/// The torque table, with the values of the board's own maker where they are known.
#[tauri::command]
pub async fn torque_table(shop: State<'_, Shop>, board_id: String) -> Answer<TorqueAdvice> {
    let workshop = shop.workshop()?;
    workshop.torque_table(Some(&workshop.board(&board_id).await?.board))
}

/// Service checks with their due dates.
#[tauri::command]
pub async fn service(
    shop: State<'_, Shop>,
    board_id: String,
    odometer_km: Option<f64>,
) -> Answer<ServiceAdvice> {
    let workshop = shop.workshop()?;
    workshop
        .service(&workshop.board(&board_id).await?.board, odometer_km)
        .await
}

/// Writes down that a service check was done; without a day, today.
#[tauri::command]
pub async fn service_done(
    shop: State<'_, Shop>,
    board_id: String,
    check: String,
    day: Option<Day>,
    odometer_km: Option<f64>,
    note: String,
) -> Answer<()> {
    let workshop = shop.workshop()?;
    let day = day.map_or_else(|| workshop.today(), Ok)?;
    let done = ServiceDone {
        check,
        day,
        odometer_km,
        note,
    };
    workshop.service_done(&board_id, &done).await
}
