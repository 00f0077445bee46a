//! What keeps a picture from being a good photo.

use serde::{Deserialize, Serialize};

/// One thing that is wrong with a picture, with its number and limit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "code", rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Trouble {
    /// Hardly any light.
    Dark {
        /// The brightest hundredth begins here, encoded grey level, 0 to 255.
        level: u8,
        /// Level that is asked for.
        limit: u8,
    },
    /// Edges are smeared, by focus or by motion.
    Blurred {
        /// Standard deviation across an edge, pixels of the picture.
        blur_px: f64,
        /// Largest blur that serves.
        limit_px: f64,
    },
    /// A target that is needed is not in view, or not to be read.
    NoTarget {
        /// Its name.
        wanted: String,
    },
    /// Another target is in view, and the one that is needed is not.
    WrongTarget {
        /// Name of the one in view.
        seen: String,
        /// Name of the one that is needed.
        wanted: String,
    },
    /// A target is too small in the photo.
    TooFar {
        /// Side of one cell of its tags, pixels of the photo.
        cell_px: f64,
        /// Smallest side that serves.
        limit_px: f64,
    },
    /// A target is looked at along its face.
    TooFlat {
        /// Angle between line of sight and the target's normal, degrees.
        tilt_deg: f64,
        /// Largest angle that serves.
        limit_deg: f64,
    },
    /// A part of a target lies outside of the picture.
    CutOff {
        /// The target's name.
        target: String,
        /// Share of its tags outside, 0 to 1.
        share: f64,
    },
    /// A lamp is mirrored in a target, or it is over-exposed.
    Glare {
        /// The target's name.
        target: String,
        /// Share of its tags that is lost to it, 0 to 1.
        share: f64,
    },
    /// Something lies over a target.
    Covered {
        /// The target's name.
        target: String,
        /// Share of its tags that is hidden, 0 to 1.
        share: f64,
    },
}
