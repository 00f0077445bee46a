//! Whether all photos show the same thing: a card that slipped, a wheel that moved, a mark on another edge.

use super::refine::Refined;
use super::seek::{Frame, Movable, Seek};
use crate::Error;
use crate::observe::Observed;
use shimwright_solve::FeatureId;

/// Share of the mount's edge that a photo must show where the other photos put it.
const LEAST_MOUNT: f64 = 0.5;
/// The same of the rim, whose contrast changes with the light around it.
const LEAST_RIM: f64 = 0.3;
/// An edge shifted as a whole by more than this in one photo does not fit the others, px.
const MOST_SHIFT: f64 = 0.45;

/// Refuses photos that do not show one scene.
pub(crate) fn check(photos: &[Observed], refined: &Refined) -> Result<(), Error> {
    let state = &refined.solution.state;
    let (Some(line), Some(circle)) = (state.line, state.circle) else {
        return Ok(());
    };
    let frame = Frame::of(&line);
    let seek = Seek {
        photos,
        start: &refined.start,
        state,
        frame: &frame,
        marks: &[],
    };
    for (k, &i) in refined.start.used.iter().enumerate() {
        let shift = state.photos[k].edge_shift;
        let mount = shows(
            &seek,
            k,
            &line,
            refined.mount_range,
            LEAST_MOUNT,
            shift[FeatureId::Line as usize],
        );
        let rim = shows(
            &seek,
            k,
            &circle,
            refined.rim_range,
            LEAST_RIM,
            shift[FeatureId::Circle as usize],
        );
        if !mount || !rim {
            let (name, edge) = (&photos[i].name, if mount { "rim" } else { "mount's edge" });
            return Err(Error::unmeasurable(
                Some(name),
                format!("{name} does not show the {edge} where the other photos put it"),
                "the card or the wheel moved between the photos, or a mark lies on another edge: fix the card, do \
                 not touch the wheel, take the photos again, and check the marks",
            ));
        }
    }
    Ok(())
}

fn shows<C: Movable>(
    seek: &Seek,
    photo: usize,
    feature: &C,
    range: (f64, f64),
    least: f64,
    shift: f64,
) -> bool {
    shift.abs() <= MOST_SHIFT
        && seek
            .seen_in(photo, feature, range)
            .is_none_or(|seen| seen >= least)
}
