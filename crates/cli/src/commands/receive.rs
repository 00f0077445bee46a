//! `receive`.

use super::Place;
use super::measure::print_result;
use crate::arguments::Receive;
use crate::output;
use crate::shell;
use shimwright_app::bridge::{Failure, MeasureRequest};
use shimwright_app::receive::{Limits, Receiving, Setup, receive as start};
use shimwright_app::record::Job;
use shimwright_app::{PhoneCheck, PhoneLog, phone_identity, phone_page, system_clock, write_files};
use std::path::Path;
use std::sync::Arc;

/// Lets a phone take the photos of a check, measures it, and prints the result.
pub async fn receive(asked: Receive, place: &Place) -> Result<(), Failure> {
    let page = phone_page(shimwright_phone_page::FILES)?;
    let workshop = Arc::new(place.open().await?);
    let board = workshop.board_named(&asked.board).await?;
    let request = MeasureRequest {
        board_id: board.id,
        corner: asked.corner.into(),
        job: job(&asked),
    };
    let folder = place.folder()?;
    let log = PhoneLog::open(&folder, system_clock)?;
    let check = PhoneCheck::new(workshop.clone(), request, move |event| {
        log.hear(event);
        shell::say(&output::event(event));
    })?;
    let check = Arc::new(check);
    let setup = Setup {
        address: asked.address,
        port: asked.port,
        identity: phone_identity(&folder, asked.address, system_clock())?,
        page,
        limits: Limits::default(),
    };
    let mut receiving = start(setup, check.clone()).await?;
    // On the error output, so that the result alone can be piped on.
    eprint!("{}", output::invitation(receiving.invitation()));
    until_the_end(&mut receiving, &check).await;
    if let Some(out) = &asked.out {
        write_photos(out, &check).await?;
    }
    let measured = check.outcome().unwrap_or_else(|| {
        Err(Failure::bad_input(
            "nothing was measured",
            "start again and press Measure on the phone",
        ))
    })?;
    if asked.save {
        workshop.save_check(&measured.draft_id, "").await?;
    }
    workshop.close().await;
    print_result(&measured.result, asked.form)
}

/// Waits for a result that the phone was told, for the server's own end, or for Ctrl-C.
async fn until_the_end(receiving: &mut Receiving, check: &PhoneCheck) {
    tokio::select! {
        _ = receiving.ended() => return,
        () = check.told_result() => {}
        _ = tokio::signal::ctrl_c() => {}
    }
    receiving.stop();
    receiving.ended().await;
}

async fn write_photos(out: &Path, check: &PhoneCheck) -> Result<(), Failure> {
    let photos = check.photos().await?;
    // Phones give many photos one name, so a number goes before it.
    let named: Vec<(String, Arc<[u8]>)> = photos
        .into_iter()
        .enumerate()
        .map(|(place, (name, bytes))| (format!("{:02}-{name}", place + 1), bytes))
        .collect();
    write_files(out, named.iter().map(|(name, bytes)| (name.as_str(), &bytes[..])))?;
    Ok(())
}

fn job(asked: &Receive) -> Job {
    Job {
        check: asked.check.into(),
        photos: Vec::new(),
        targets: None,
        print_scale: None,
        camera: None,
        drive: None,
        height: None,
        sound: None,
        belt: None,
    }
}
