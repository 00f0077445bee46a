//! A drawing as shapes and words: whoever shows it gives it its own colours, and says the words in its own language.

use crate::Phrase;
use serde::{Deserialize, Serialize};

/// A drawing. Its places are px from its top left corner, x to the right and y down.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Drawing {
    /// Width, px.
    pub width: f64,
    /// Height without the words below, px.
    pub height: f64,
    /// Shapes, the hindmost first.
    pub shapes: Vec<Shape>,
    /// What the drawing tells of this case: lines below it.
    pub told: Vec<Phrase>,
    /// What is said below it in every case.
    pub standing: Vec<Phrase>,
}

/// A shape.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "is", rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Shape {
    /// A circle.
    Circle {
        /// Its centre, px.
        at: [f64; 2],
        /// Its radius, px.
        radius: f64,
        /// What it stands for.
        look: ShapeLook,
    },
    /// A straight line.
    Line {
        /// One end, px.
        from: [f64; 2],
        /// The other, px.
        to: [f64; 2],
        /// What it stands for.
        look: ShapeLook,
    },
    /// A filled area with straight sides.
    Area {
        /// Its corners, px.
        corners: Vec<[f64; 2]>,
        /// What it stands for.
        look: ShapeLook,
    },
    /// A short word.
    Word {
        /// The middle of its lower edge, px.
        at: [f64; 2],
        /// It.
        word: Phrase,
        /// What it stands for.
        look: ShapeLook,
    },
}

/// What a shape stands for, and so its colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum ShapeLook {
    /// Where the pulley belongs.
    Belongs,
    /// The middle of that.
    Middle,
    /// Where the pulley stands.
    Pulley,
    /// A screw, or its number.
    Screw,
    /// The screw from which the others are counted, or its number.
    FirstScrew,
    /// Which comes when.
    Order,
    /// The push.
    Push,
}
