//! Whether the photos are fine enough for a gap.

use super::start::Start;
use super::view::View;
use crate::Error;
use shimwright_say::say;

/// Fewest px that a millimetre must show as in the middle one of the photos. A flange has an edge on either side, and below
/// this the one towards the mount runs into the mount's own edge: the demo's gaps of 0.35 and 3 mm, reduced step by step, were
/// told right down to 6.6 px and wrong from 6.4 px on, as 1.92 and 3.23 mm, each with an interval that did not hold the truth.
const LEAST_PX_PER_MM: f64 = 7.0;

/// Refuses photos that are too coarse.
///
/// # Errors
/// Not measurable, with how many px a millimetre shows as.
pub(crate) fn check(start: &Start) -> Result<(), Error> {
    let mut scales: Vec<f64> = (0..start.used.len())
        .map(|k| start.px_per_mm(&View::of(&start.state, k)))
        .collect();
    scales.sort_by(f64::total_cmp);
    let scale = scales[scales.len() / 2];
    if scale >= LEAST_PX_PER_MM {
        return Ok(());
    }
    Err(Error::unmeasurable(
        None,
        say!(
            "a millimetre beside the card shows as {scale:.1} px in these photos, and {LEAST_PX_PER_MM:.0} px are needed to \
             tell the edges of the rim apart"
        ),
        say!(
            "come closer, or take larger photos: a running camera often gives smaller ones than the camera's own"
        ),
    ))
}
