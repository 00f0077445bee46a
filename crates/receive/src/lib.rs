//! A small TLS server by which a phone's browser takes photos for one check.
//!
//! It listens on one address of the local network, lets in the phone that gives the code shown at the bench, and hands
//! on what that phone sends: reduced pictures to be looked at, and photos, each whole once or not at all. It reads no
//! file, keeps no photo, and knows neither targets nor history: a [`Bench`] does. Nothing that the bench does not tell can
//! be read through it. Messages and limits are told in DEVELOPERS.md.
//!
//! ```
//! use shimwright_receive::{Identity, Page};
//!
//! let identity = Identity::new([192, 168, 1, 20].into(), (2026, 3, 8))?;
//! assert_eq!(identity.fingerprint().split(':').count(), 32);
//! let page = Page::new([("index.html".to_owned(), b"<!doctype html>".to_vec())]);
//! # let _ = page;
//! # Ok::<(), shimwright_receive::Error>(())
//! ```

mod addresses;
mod answer;
mod bench;
mod digest;
mod error;
mod gate;
mod guests;
mod identity;
mod invitation;
mod limits;
mod page;
mod pairing;
mod room;
mod routes;
mod server;
mod uploads;

pub use addresses::local_addresses;
pub use bench::{Bench, Event, Frame, ReceivedPhoto, Refusal, StopReason};
pub use error::Error;
pub use identity::Identity;
pub use invitation::{Invitation, Qr};
pub use limits::Limits;
pub use page::Page;
pub use server::{Receiving, Setup, receive};

use std::sync::{Mutex, MutexGuard, PoisonError};

/// Locks; a thread that failed while it held the lock left nothing half done.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
