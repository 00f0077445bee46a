//! The sound of a plucked belt span: samples in, pitch and tension out.
//!
//! It knows nothing of files, microphones or boards. A recording holds one pluck or several; each is judged by itself,
//! and a pitch is given only where it is clear: otherwise [`NotClear`] says why, because a wrong pitch makes a
//! tension that is wrong by its square.
//!
//! The steps, one file each: lower the rate (`track`), take off steady tones (`steady`), find the plucks (`onset`) and the
//! room's noise (`floor`), hear what rings after each pluck (`ring`), find the string whose partials these are (`series`),
//! judge the pluck (`pluck`), and all plucks together (`listen`). `span` turns a pitch into a tension.
//!
//! ```
//! use shimwright_sound::{Known, Limits, Recording, Span, Tone, listen};
//!
//! // Half a second of quiet, then a string of 100 Hz that dies away.
//! let rate = 16_000.0;
//! let samples = (0..24_000).map(|k| {
//!     let t = f64::from(k) / rate - 0.5;
//!     let rings = if t < 0.0 { 0.0 } else { (-8.0 * t).exp() * (628.3 * t).sin() };
//!     0.3 * rings + 1e-4 * (f64::from(k * k % 1009) / 504.0 - 1.0)
//! });
//! let recording = Recording::new(samples.collect(), rate, &Limits::default())?;
//! let heard = listen(&recording).expect("a clear pluck");
//! assert!((heard.frequency_hz - 100.0).abs() < 0.5);
//!
//! let span = Span {
//!     length_m: Known { value: 0.100, u: 0.001 },
//!     mass_kg_per_m: Known { value: 0.0585, u: 0.003 },
//!     bending_n_m2: None,
//! };
//! let tension = span.tension(&heard.tone());
//! assert!((tension.newtons - 23.4).abs() < 2.0 * tension.u());
//! # Ok::<(), shimwright_sound::Error>(())
//! ```

mod error;
mod floor;
mod fourier;
mod listen;
mod onset;
mod pluck;
mod recording;
mod ring;
mod series;
mod span;
mod steady;
mod track;
mod wav;

pub use error::Error;
pub use listen::{Heard, NotClear, Pluck, listen};
pub use pluck::{Pitch, Unclear};
pub use recording::{Limits, Recording};
pub use span::{Known, Parts, Span, Tension, Tone};
