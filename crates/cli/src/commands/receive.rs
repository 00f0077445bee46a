//! `receive`.

use super::Place;
use super::measure::print_result;
use crate::arguments::{Receive, ShotCheck};
use crate::output;
use crate::shell;
use shimwright_app::bridge::{Failure, MeasureRequest};
use shimwright_app::receive::{Event, Limits, Receiving, Setup, receive as start};
use shimwright_app::record::{Job, JobPhoto, JobTargets, PrintScale};
use shimwright_app::{PhoneCheck, PhoneLog, phone_identity, phone_page, system_clock, write_files};
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;
use tokio::sync::Notify;

/// The job file that a check leaves whose edges are still to be marked.
const JOB: &str = "job.json";

/// Lets a phone take the photos of a check, measures it, and prints the result; or leaves photos and job file to be marked.
pub async fn receive(asked: Receive, place: &Place) -> Result<(), Failure> {
    let page = phone_page(shimwright_phone_page::FILES)?;
    let job = job(&asked);
    let workshop = Arc::new(place.open().await?);
    let board = workshop.board_named(&asked.board).await?;
    let folder = place.folder()?;
    let log = PhoneLog::open(&folder, system_clock)?;
    let arrived = Arc::new(Notify::new());
    let kept = arrived.clone();
    let hear = move |event: &Event| {
        log.hear(event);
        shell::say(&output::event(event));
        if matches!(event, Event::Kept { .. }) {
            kept.notify_one();
        }
    };
    let check = if is_marked(asked.check) {
        PhoneCheck::for_desk(workshop.clone(), job.check, hear)?
    } else {
        let request = MeasureRequest {
            board_id: board.id,
            corner: asked.corner.into(),
            job: job.clone(),
        };
        PhoneCheck::new(workshop.clone(), request, hear)?
    };
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
    let mut out = Out {
        folder: asked.out.clone(),
        job: is_marked(asked.check).then_some(job),
        written: Vec::new(),
    };
    until_the_end(&mut receiving, &check, &arrived, &mut out).await?;
    out.write(&check).await?;
    if is_marked(asked.check) {
        workshop.close().await;
        return out.told();
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

/// Whether edges are marked before such a check can be measured.
fn is_marked(check: ShotCheck) -> bool {
    matches!(check, ShotCheck::Gap | ShotCheck::Alignment | ShotCheck::Part)
}

/// Waits for a result that the phone was told, for the server's own end, or for Ctrl-C; photos are written meanwhile.
async fn until_the_end(
    receiving: &mut Receiving,
    check: &PhoneCheck,
    arrived: &Notify,
    out: &mut Out,
) -> Result<(), Failure> {
    loop {
        tokio::select! {
            _ = receiving.ended() => return Ok(()),
            () = arrived.notified() => out.write(check).await?,
            () = check.told_result() => break,
            _ = tokio::signal::ctrl_c() => break,
        }
    }
    receiving.stop();
    receiving.ended().await;
    Ok(())
}

/// The folder that photos are written into, when one was named.
struct Out {
    folder: Option<PathBuf>,
    /// The job that is left there for marks.
    job: Option<Job>,
    /// Names of the photos that are there already.
    written: Vec<String>,
}

impl Out {
    /// Writes the photos that are new, and the job file anew.
    async fn write(&mut self, check: &PhoneCheck) -> Result<(), Failure> {
        let Some(folder) = &self.folder else { return Ok(()) };
        let new = check
            .photos()
            .await?
            .into_iter()
            .enumerate()
            .skip(self.written.len());
        // Phones give many photos one name, so a number goes before it.
        let named: Vec<(String, Arc<[u8]>)> = new
            .map(|(place, (name, bytes))| (format!("{:02}-{name}", place + 1), bytes))
            .collect();
        write_files(
            folder,
            named.iter().map(|(name, bytes)| (name.as_str(), &bytes[..])),
        )?;
        self.written.extend(named.into_iter().map(|(name, _)| name));
        let Some(job) = &mut self.job else { return Ok(()) };
        let photos = self.written.iter().map(|name| JobPhoto {
            file: name.clone(),
            marks: BTreeMap::new(),
        });
        job.photos = photos.collect();
        let text = serde_json::to_vec_pretty(job).map_err(|error| Failure::internal(error.to_string()))?;
        write_files(folder, [(JOB, &text[..])].into_iter())?;
        Ok(())
    }

    /// Says where photos and job file lie.
    fn told(&self) -> Result<(), Failure> {
        match &self.folder {
            Some(folder) if !self.written.is_empty() => {
                let count = self.written.len();
                let job = folder.join(JOB).display().to_string();
                shell::say(&format!(
                    "{count} photos; put the marks into {job} and measure it"
                ));
                println!("{job}");
                Ok(())
            }
            _ => Err(Failure::bad_input(
                "no photo arrived",
                "start again and take the photos on the phone",
            )),
        }
    }
}

fn job(asked: &Receive) -> Job {
    let fixed = match asked.check {
        ShotCheck::Gap | ShotCheck::Alignment => Some("mount-card"),
        ShotCheck::Part => Some("bench-sheet"),
        ShotCheck::Turn | ShotCheck::Play => None,
    };
    let print_scale = asked.print_scale.as_deref().and_then(|given| match given {
        [x, y, u95] => Some(PrintScale {
            x: *x,
            y: *y,
            u95: *u95,
        }),
        _ => None,
    });
    Job {
        check: asked.check.into(),
        photos: Vec::new(),
        targets: fixed.map(|fixed| JobTargets {
            fixed: Some(fixed.to_owned()),
            turning: None,
        }),
        print_scale,
        camera: None,
        drive: None,
        height: None,
        sound: None,
        belt: None,
        trials: None,
    }
}
