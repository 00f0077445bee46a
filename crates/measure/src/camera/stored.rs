//! Between the upright picture and the stored one.

use crate::Error;
use crate::observe::Observed;
use shimwright_geom::Vec2;
use shimwright_photo::PhotoFacts;
use shimwright_say::say;

/// Refuses mirrored pictures, which no camera writes.
pub(super) fn check_orientation(photo: &Observed) -> Result<(), Error> {
    match photo.found.facts.orientation {
        1 | 3 | 6 | 8 => Ok(()),
        mirrored => Err(Error::bad(
            Some(&photo.name),
            say!("{} is mirrored (EXIF orientation {mirrored})", photo.name),
            say!("use the original photo as the camera wrote it"),
        )),
    }
}

/// A place of the upright picture in the stored one, px.
pub(super) fn to_stored(facts: &PhotoFacts, at: &Vec2) -> Vec2 {
    let last = Vec2::new(f64::from(facts.width) - 1.0, f64::from(facts.height) - 1.0);
    match facts.orientation {
        // Turned by half a turn.
        3 => last - at,
        // The stored picture was turned clockwise to stand upright: stored (x, y) shows at (h-1-y, x).
        6 => Vec2::new(at.y, last.x - at.x),
        // Turned counter-clockwise: stored (x, y) shows at (y, w-1-x).
        8 => Vec2::new(last.y - at.y, at.x),
        _ => *at,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_photo::Format;

    fn facts(orientation: u8) -> PhotoFacts {
        let across = orientation >= 5;
        PhotoFacts {
            make: None,
            model: None,
            lens: None,
            focal_mm: None,
            focal_35mm: None,
            width: if across { 3 } else { 4 },
            height: if across { 4 } else { 3 },
            stored_width: 4,
            stored_height: 3,
            orientation,
            taken: None,
            has_gps: false,
            format: Format::Jpeg,
        }
    }

    /// Where the first stored pixel shows in the upright picture by EXIF (JEITA CP-3451, tag 0x0112): top left,
    /// bottom right, top right, bottom left.
    #[test]
    fn the_first_stored_pixel() {
        for (orientation, x, y) in [(1, 0.0, 0.0), (3, 3.0, 2.0), (6, 2.0, 0.0), (8, 0.0, 3.0)] {
            let facts = facts(orientation);
            assert_eq!(
                to_stored(&facts, &Vec2::new(x, y)),
                Vec2::zeros(),
                "{orientation}"
            );
        }
        // The next pixel of the first stored row.
        for (orientation, x, y) in [(1, 1.0, 0.0), (3, 2.0, 2.0), (6, 2.0, 1.0), (8, 0.0, 2.0)] {
            let facts = facts(orientation);
            assert_eq!(
                to_stored(&facts, &Vec2::new(x, y)),
                Vec2::new(1.0, 0.0),
                "{orientation}"
            );
        }
    }
}
