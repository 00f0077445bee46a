//! How results are told: quantities, photo lines, sentences.

use crate::observe::Observed;
use shimwright_detect::FoundTarget;
use shimwright_record::{Drawn, Quantity};

/// A quantity in millimetres.
pub(crate) fn mm(value: f64, u95: f64) -> Quantity {
    Quantity {
        value,
        u95,
        unit: "mm".into(),
    }
}

/// A quantity in degrees.
pub(crate) fn deg(value: f64, u95: f64) -> Quantity {
    Quantity {
        value,
        u95,
        unit: "deg".into(),
    }
}

/// What is drawn for a target found in a photo.
pub(crate) fn drawn_target(found: &FoundTarget) -> Drawn {
    Drawn {
        what: "corner".into(),
        points: found.corners.iter().map(|c| [c.at.x, c.at.y]).collect(),
    }
}

/// Names of photos as a list for a sentence.
pub(crate) fn list_of<'a>(photos: impl Iterator<Item = &'a Observed>) -> String {
    photos.map(|p| p.name.as_str()).collect::<Vec<_>>().join(", ")
}
