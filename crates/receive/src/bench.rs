//! What a server needs of whoever finds targets and measures.

use serde::Serialize;
use shimwright_phrase::Phrase;
use std::future::Future;
use std::net::{IpAddr, SocketAddr};

/// A reduced grey picture of the phone's camera.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Frame {
    /// Width, px.
    pub width: u32,
    /// Height, px.
    pub height: u32,
    /// Width of the photo that would be kept of it, px.
    pub photo_width: u32,
    /// A byte a pixel, row by row from the top left: `width * height` of them.
    pub grey: Vec<u8>,
}

/// A photo that arrived whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReceivedPhoto {
    /// What the phone calls it: words to show, never a path.
    pub name: String,
    /// SHA-256 of its bytes, lower-case hexadecimal; the bytes were compared with it.
    pub sha256: String,
    /// Whether the camera took it without a press.
    pub by_itself: bool,
    /// Its bytes, unchanged.
    pub bytes: Vec<u8>,
}

/// A refusal, as the page shows it: the shape of every failure.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Refusal {
    /// A code to act on.
    pub code: String,
    /// What is wrong, with its number and limit.
    pub message: Phrase,
    /// What to do next.
    pub hint: Phrase,
}

impl Refusal {
    /// Bad input.
    pub fn bad_input(message: Phrase, hint: Phrase) -> Self {
        Self {
            code: "bad-input".into(),
            message,
            hint,
        }
    }
}

/// The check that a phone shoots for. Answers are JSON: what is in them is the bench's to say and the page's to read.
pub trait Bench: Send + Sync + 'static {
    /// Where the check stands: photos, what is still wanted, the result when it is measured.
    fn standing(&self) -> impl Future<Output = serde_json::Value> + Send;

    /// Looks at a picture of the running camera.
    ///
    /// # Errors
    /// A picture that cannot be looked at.
    fn look(&self, frame: Frame) -> impl Future<Output = Result<serde_json::Value, Refusal>> + Send;

    /// Takes in a photo. It is called once for each that arrives whole, and runs to its end whatever the connection does.
    ///
    /// # Errors
    /// A photo that is refused.
    fn keep(&self, photo: ReceivedPhoto) -> impl Future<Output = Result<serde_json::Value, Refusal>> + Send;

    /// Measures what was kept; the result is told by [`Bench::standing`].
    ///
    /// # Errors
    /// What cannot be measured, and why.
    fn measure(&self) -> impl Future<Output = Result<serde_json::Value, Refusal>> + Send;

    /// Hears what happens, for the log.
    fn hear(&self, event: &Event);
}

/// What happens at a server.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    /// It listens.
    Started {
        /// Where.
        address: SocketAddr,
    },
    /// A code was wrong.
    WrongCode {
        /// From where it came.
        from: IpAddr,
        /// Tries that are left.
        left: u32,
    },
    /// A phone gave the right code.
    Paired {
        /// From where.
        from: IpAddr,
    },
    /// A photo arrived whole and was taken in.
    Kept {
        /// Its SHA-256.
        sha256: String,
    },
    /// A photo arrived whole and was refused.
    Refused {
        /// Its SHA-256.
        sha256: String,
    },
    /// It listens no more.
    Stopped(StopReason),
}

/// Why a server stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StopReason {
    /// Whoever started it wanted so.
    Asked,
    /// Nobody gave the code in time.
    NobodyPaired,
    /// Too many wrong codes.
    WrongCodes,
    /// The phone did nothing for too long.
    Idle,
}
