//! Belt geometry: diameters, lengths, wrap, alignment, and what published limits say of them.

mod advise;
mod geometry;
mod runout;

pub use advise::belt_advice;
pub use geometry::{Pulleys, mesh_factor, outside_diameter, pitch_diameter};
pub use runout::{RunoutLimits, iso_5294};

/// The outside diameter, or the pitch diameter where the profile is not known, mm.
pub(crate) fn outside_or_pitch_diameter(teeth: u32, pitch: f64) -> f64 {
    outside_diameter(teeth, pitch).unwrap_or_else(|| pitch_diameter(teeth, pitch))
}
