//! Edges of parts in a photo, located to a small part of a pixel.
//!
//! Two stages. [`search`] finds which edge near rough marks is meant, pixels away from them. [`fit_band`] then
//! measures it: real edges are chamfered, so a photo shows *two* lines a known distance apart with a band of
//! unknown brightness between them; fitting one step instead lands somewhere between the two, repeatably and wrongly.
//! The band model takes the distance of the lines from the geometry and solves for the rest in linear light.
//!
//! Knows nothing of cameras or space: all lengths are pixels.

mod band;
mod gaussian;
mod search;
mod strip;
mod sums;
mod table;

pub use band::{Band, BandCost, Noise, Shade, fit_band, fit_band_near_blur, fit_band_shades};
pub use gaussian::normal_cdf;
pub use search::{Hypothesis, Ridge, SearchOptions, StepProfile, search};
pub use strip::{Bin, EdgeGuess, Strip};
pub use table::{BandTable, TableGrid, band_table};
