//! `receive`.

use super::Place;
use super::measure::print_result;
use crate::arguments::Receive;
use crate::output;
use crate::shell;
use shimwright_app::bridge::{Failure, MeasureRequest};
use shimwright_app::receive::{Limits, Page, Receiving, Setup, receive as start};
use shimwright_app::record::Job;
use shimwright_app::{PhoneCheck, phone_identity, system_clock, write_files};
use std::path::Path;
use std::sync::Arc;

/// The built page for phones, by path; empty when it was not built before this program.
const PAGE: &[(&str, &[u8])] = include!(concat!(env!("OUT_DIR"), "/phone_page.rs"));

/// Lets a phone take the photos of a check, measures it, and prints the result.
pub async fn receive(asked: Receive, place: &Place) -> Result<(), Failure> {
    if PAGE.is_empty() {
        return Err(Failure::internal(
            "this program was built without its page for phones",
        ));
    }
    let workshop = Arc::new(place.open().await?);
    let board = workshop.board_named(&asked.board).await?;
    let request = MeasureRequest {
        board_id: board.id,
        corner: asked.corner.into(),
        job: job(&asked),
    };
    let check = PhoneCheck::new(workshop.clone(), request, |event| {
        shell::say(&output::event(event))
    })?;
    let check = Arc::new(check);
    let setup = Setup {
        address: asked.address,
        port: asked.port,
        identity: phone_identity(&place.folder()?, asked.address, system_clock())?,
        page: Page::new(
            PAGE.iter()
                .map(|(path, bytes)| ((*path).to_owned(), bytes.to_vec())),
        ),
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
