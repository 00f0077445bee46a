//! What the connections of one server share.

use crate::guests::Guests;
use crate::locked;
use crate::pairing::{Pairing, Tried};
use crate::uploads::{Place, Uploads};
use crate::{Bench, Event, Limits, Page, ReceivedPhoto, Refusal, StopReason};
use shimwright_say::say;
use std::net::IpAddr;
use std::sync::{Arc, Mutex};
use std::time::Instant;
use tokio::sync::{Semaphore, watch};

/// One server's state.
pub(crate) struct Room<B> {
    pub(crate) limits: Limits,
    /// Address and port as a browser names them.
    pub(crate) authority: String,
    /// Of the certificate, as browsers show it.
    pub(crate) fingerprint: String,
    pub(crate) page: Page,
    pub(crate) bench: Arc<B>,
    pub(crate) pairing: Mutex<Pairing>,
    pub(crate) uploads: Mutex<Uploads>,
    pub(crate) guests: Arc<Guests>,
    /// One picture is looked at at a time.
    pub(crate) looking: Semaphore,
    pub(crate) last_used: Mutex<Instant>,
    pub(crate) stop: watch::Sender<Option<StopReason>>,
}

impl<B: Bench> Room<B> {
    /// Tries a code; what follows from it is done here.
    pub(crate) fn pair(&self, typed: &str, from: IpAddr, now: Instant) -> Tried {
        let tried = locked(&self.pairing).try_code(typed, now);
        match &tried {
            Tried::Paired(_) => {
                self.is_used(now);
                self.guests.keep_seats_for(from);
                self.bench.hear(&Event::Paired { from });
            }
            Tried::Wrong { left } => {
                self.bench.hear(&Event::WrongCode { from, left: *left });
                if *left == 0 {
                    close(&self.stop, StopReason::WrongCodes);
                }
            }
            Tried::Spent | Tried::Over => {}
        }
        tried
    }

    /// Whether a request with this token comes from the paired phone.
    pub(crate) fn admits(&self, token: &str) -> bool {
        locked(&self.pairing).is_token(token)
    }

    /// Notes that the phone did something.
    pub(crate) fn is_used(&self, now: Instant) {
        *locked(&self.last_used) = now;
    }

    /// Closes when nobody paired in time, or the phone did nothing for too long.
    pub(crate) fn close_if_overdue(&self, now: Instant) {
        let pairing = locked(&self.pairing);
        if pairing.is_overdue(now) {
            close(&self.stop, StopReason::NobodyPaired);
        }
        let silent = now.saturating_duration_since(*locked(&self.last_used));
        if pairing.is_paired() && silent >= self.limits.idle {
            close(&self.stop, StopReason::Idle);
        }
    }

    /// Hands a photo on. It runs to its end though the connection that brought the last piece may be gone.
    pub(crate) async fn hand_on(self: Arc<Self>, photo: ReceivedPhoto) -> Place {
        let sha256 = photo.sha256.clone();
        let (room, bench) = (self.clone(), self.bench.clone());
        let whole = tokio::spawn(async move {
            // In a task of its own, so that a fault in the bench leaves no photo that is looked at for ever.
            let outcome = tokio::spawn(async move { bench.keep(photo).await }).await;
            let place = match outcome {
                Ok(Ok(said)) => Place::Kept { said },
                Ok(Err(failure)) => Place::Refused { failure },
                Err(_) => Place::Refused { failure: fault() },
            };
            locked(&room.uploads).settle(&sha256, place.clone());
            room.bench.hear(&match place {
                Place::Kept { .. } => Event::Kept { sha256 },
                _ => Event::Refused { sha256 },
            });
            place
        });
        whole
            .await
            .unwrap_or_else(|_| Place::Refused { failure: fault() })
    }
}

/// Closes a server for a reason, unless it has one.
pub(crate) fn close(stop: &watch::Sender<Option<StopReason>>, reason: StopReason) {
    stop.send_if_modified(|now| {
        let open = now.is_none();
        if open {
            *now = Some(reason);
        }
        open
    });
}

fn fault() -> Refusal {
    Refusal {
        code: "internal".into(),
        message: say!("the bench failed on this photo"),
        hint: say!("take another one"),
    }
}
