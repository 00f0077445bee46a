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
use shimwright_phrase::Phrase;
use shimwright_say::say;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;
use tokio::sync::Notify;

/// The job file that a check leaves whose edges are still to be marked.
const JOB: &str = "job.json";
/// Longest part of a photo's name that its file is called by, bytes: file systems take 255, and a number goes before it.
const LONGEST_NAME: usize = 200;

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
            say!("nothing was measured"),
            say!("start again and press Measure on the phone"),
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
    let outcome = loop {
        tokio::select! {
            _ = receiving.ended() => return Ok(()),
            () = arrived.notified() => {
                let written = out.write(check).await;
                if written.is_err() {
                    break written;
                }
            }
            () = check.told_result() => break Ok(()),
            _ = tokio::signal::ctrl_c() => break Ok(()),
        }
    };
    // Also after trouble with the folder, so that the stop is written down.
    receiving.stop();
    receiving.ended().await;
    outcome
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
            .map(|(place, (name, bytes))| (format!("{:02}-{}", place + 1, file_name(&name)), bytes))
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
        let text = serde_json::to_vec_pretty(job)
            .map_err(|error| Failure::internal(Phrase::foreign(error.to_string())))?;
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
                say!("no photo arrived"),
                say!("start again and take the photos on the phone"),
            )),
        }
    }
}

/// What a photo's file is called: of the phone's name, what every file system takes, with its end, where the kind stands.
fn file_name(name: &str) -> String {
    let plain = |sign: char| sign.is_alphanumeric() || matches!(sign, '.' | '-' | '_' | ' ' | '(' | ')');
    let plain: String = name
        .chars()
        .map(|sign| if plain(sign) { sign } else { '_' })
        .collect();
    let too_long = plain.len().saturating_sub(LONGEST_NAME);
    let start = (too_long..plain.len()).find(|at| plain.is_char_boundary(*at));
    plain[start.unwrap_or(0)..]
        .trim_end_matches(['.', ' '])
        .to_owned()
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
        targets: fixed.map(|fixed| JobTargets {
            fixed: Some(fixed.to_owned()),
            turning: None,
        }),
        print_scale,
        ..Job::of(asked.check.into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_phone_names_no_file_that_cannot_be_written() {
        assert_eq!(file_name("IMG_0001 (2).jpg"), "IMG_0001 (2).jpg");
        assert_eq!(file_name("a:b<c>|d?.jpg"), "a_b_c__d_.jpg");
        assert_eq!(file_name("a.jpg. ."), "a.jpg");
        let long = file_name(&format!("{}.jpg", "\u{6f22}".repeat(116)));
        assert!(long.len() <= LONGEST_NAME && long.ends_with(".jpg"), "{long}");
    }
}
