//! The window's side: a server for one check that is open no longer than somebody looks at it.

use super::{PhoneCheck, PhoneLog, phone_identity};
use crate::bridge::{Failure, PhoneAtBench, PhoneInvitation, PhoneTold, PhoneWhat, PhotoAdded};
use crate::workshop::{Clock, Workshop};
use shimwright_receive::{Invitation, Limits, Page, Receiving, Setup, receive};
use shimwright_record::CheckKind;
use shimwright_say::say;
use std::net::IpAddr;
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// A page that does not ask for so long is gone, and the server with it.
const LONGEST_SILENCE: Duration = Duration::from_secs(30);
const TICK: Duration = Duration::from_secs(1);
/// How often, and how long, a stopped server is waited for.
const ENDING: (Duration, u32) = (Duration::from_millis(20), 150);

/// A server for the check that is open in the window.
pub struct PhoneDesk {
    check: Arc<PhoneCheck>,
    receiving: Arc<Receiving>,
    log: Arc<PhoneLog>,
    asked: Arc<Mutex<Instant>>,
}

impl PhoneDesk {
    /// Starts it at an address of this computer. It needs the runtime of tokio around it.
    ///
    /// # Errors
    /// Bad input for an address that is none of a local network or cannot be listened on, or for a check without photos;
    /// storage trouble with certificate or log.
    pub async fn open(
        workshop: Arc<Workshop>,
        kind: CheckKind,
        address: &str,
        page: Page,
        clock: Clock,
    ) -> Result<Self, Failure> {
        let desk = Self::begin(workshop, kind, address, page, clock).await?;
        desk.watch(LONGEST_SILENCE);
        Ok(desk)
    }

    async fn begin(
        workshop: Arc<Workshop>,
        kind: CheckKind,
        address: &str,
        page: Page,
        clock: Clock,
    ) -> Result<Self, Failure> {
        let address: IpAddr = address.parse().map_err(|_| {
            Failure::bad_input(
                say!("`{address}` is no address"),
                say!("choose one of this computer's own"),
            )
        })?;
        let folder = workshop.app_info().data_dir;
        let log = Arc::new(PhoneLog::open(Path::new(&folder), clock)?);
        let heard = log.clone();
        let check = Arc::new(PhoneCheck::for_desk(workshop, kind, move |event| {
            heard.hear(event)
        })?);
        let setup = Setup {
            address,
            port: 0,
            identity: phone_identity(Path::new(&folder), address, clock())?,
            page,
            limits: Limits::default(),
        };
        let receiving = Arc::new(receive(setup, check.clone()).await?);
        Ok(Self {
            check,
            receiving,
            log,
            asked: Arc::new(Mutex::new(Instant::now())),
        })
    }

    /// Stops the server when the page has not asked for so long.
    fn watch(&self, longest_silence: Duration) {
        let (watched, last) = (Arc::downgrade(&self.receiving), self.asked.clone());
        tokio::spawn(async move {
            loop {
                tokio::time::sleep(TICK.min(longest_silence)).await;
                let Some(receiving) = watched.upgrade() else { break };
                if locked(&last).elapsed() > longest_silence {
                    receiving.stop();
                    break;
                }
            }
        });
    }

    /// How a phone gets in.
    pub fn invitation(&self) -> PhoneInvitation {
        shown(self.receiving.invitation())
    }

    /// Where the server stands. `photos` are those that the check has by now; what arrived since is told once.
    pub fn standing(&self, photos: Vec<PhotoAdded>) -> PhoneAtBench {
        *locked(&self.asked) = Instant::now();
        let (arrived, wished) = self.check.since(photos);
        let lines = self.log.lines();
        let paired = lines.iter().find(|line| line.what == PhoneWhat::Paired);
        PhoneAtBench {
            open: is_open(&self.log),
            paired: paired.map(|line| line.about.clone()),
            arrived,
            wished,
            log: self.log.with_earlier(),
        }
    }

    /// What the phone is told of the check from now on.
    pub fn tell(&self, told: PhoneTold) {
        self.check.tell(told);
    }

    /// Stops it and waits until it listens no more.
    pub async fn close(&self) {
        self.receiving.stop();
        let (pause, times) = ENDING;
        for _ in 0..times {
            if !is_open(&self.log) {
                break;
            }
            tokio::time::sleep(pause).await;
        }
    }
}

fn is_open(log: &PhoneLog) -> bool {
    use PhoneWhat::{Ended, Idle, NobodyPaired, WrongCodes};
    let stopped = |what| matches!(what, Ended | Idle | NobodyPaired | WrongCodes);
    !log.lines().iter().any(|line| stopped(line.what))
}

fn shown(invitation: &Invitation) -> PhoneInvitation {
    let qr = &invitation.qr;
    let row = |row: &[bool]| row.iter().map(|dark| if *dark { '1' } else { '0' }).collect();
    PhoneInvitation {
        address: invitation.address.clone(),
        code: invitation.code.clone(),
        fingerprint: invitation.fingerprint.clone(),
        qr: qr.dark.chunks(qr.side.max(1)).map(row).collect(),
    }
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::system_clock;

    async fn desk(folder: &Path) -> PhoneDesk {
        let workshop = Arc::new(Workshop::open(folder).await.unwrap());
        PhoneDesk::begin(
            workshop,
            CheckKind::Gap,
            "127.0.0.1",
            Page::default(),
            system_clock,
        )
        .await
        .unwrap()
    }

    fn whats(seen: &PhoneAtBench) -> Vec<PhoneWhat> {
        seen.log.iter().map(|line| line.what).collect()
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn it_is_open_until_it_is_closed_and_both_are_written_down() {
        let dir = tempfile::tempdir().unwrap();
        let desk = desk(dir.path()).await;
        let shown = desk.invitation();
        assert_eq!(shown.qr.len(), shown.qr[0].len());
        assert!(shown.address.starts_with("https://127.0.0.1:"));
        let seen = desk.standing(Vec::new());
        assert!(seen.open && seen.paired.is_none() && seen.arrived.is_empty());
        assert_eq!(whats(&seen), [PhoneWhat::Started]);
        desk.close().await;
        let seen = desk.standing(Vec::new());
        assert!(!seen.open);
        assert_eq!(whats(&seen), [PhoneWhat::Started, PhoneWhat::Ended]);
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn a_page_that_is_gone_leaves_no_server_behind() {
        let dir = tempfile::tempdir().unwrap();
        let desk = desk(dir.path()).await;
        desk.watch(Duration::from_millis(300));
        for _ in 0..6 {
            tokio::time::sleep(Duration::from_millis(100)).await;
            assert!(desk.standing(Vec::new()).open, "it closed while the page asked");
        }
        tokio::time::sleep(Duration::from_millis(1500)).await;
        assert!(!is_open(&desk.log), "nobody asked, and it is open");
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn every_check_from_photos_lets_a_phone_in() {
        use CheckKind::{Alignment, Camera, Gap, Part, Play, Turn};
        let dir = tempfile::tempdir().unwrap();
        let workshop = Arc::new(Workshop::open(dir.path()).await.unwrap());
        for kind in [Gap, Turn, Play, Alignment, Part, Camera] {
            let desk = PhoneDesk::begin(workshop.clone(), kind, "127.0.0.1", Page::default(), system_clock);
            let desk = desk.await.unwrap();
            assert!(desk.standing(Vec::new()).open, "{kind:?}");
            desk.close().await;
        }
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn other_addresses_and_checks_without_photos_are_refused() {
        let dir = tempfile::tempdir().unwrap();
        let workshop = Arc::new(Workshop::open(dir.path()).await.unwrap());
        for (kind, address) in [
            (CheckKind::Gap, "0.0.0.0"),
            (CheckKind::Gap, "here"),
            (CheckKind::Tension, "127.0.0.1"),
        ] {
            let opened =
                PhoneDesk::open(workshop.clone(), kind, address, Page::default(), system_clock).await;
            assert!(opened.is_err(), "{address}");
        }
    }
}
