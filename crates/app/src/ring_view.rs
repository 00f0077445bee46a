//! What single photos show by the planes of their targets: rough directions on the hub ring for the page's guidance and for the
//! marked screw, and where a mark lies in another photo.
//!
//! Nothing is measured by these: they come from the targets' planes alone, without lens and parallax.

use shimwright_geom::Vec2;
use shimwright_measure::FoundInPhoto;

/// The target on the wheel.
const RING: &str = "hub-ring";
/// The mark that names screw 1 of the pulley: one point. The engine knows no such mark, only the screw's direction.
pub(crate) const SCREW_1: &str = "screw_1";

/// Direction from the ring's centre to what shows at a pixel, in the ring's frame: degrees counter-clockwise from its x
/// axis seen from its printed side, 0 to 360. `None` when the ring is not in view.
pub(crate) fn direction_on_ring(found: &FoundInPhoto, at: [f64; 2]) -> Option<f64> {
    let ring = found.targets.iter().find(|target| target.name == RING)?;
    Some(counter_clockwise(ring.place_at(&Vec2::new(at[0], at[1]))?))
}

/// Where a mark of one photo lies in another, by the plane of a target in view in both: the hub ring's for a screw, which
/// turns with it, else one that stands still.
pub(crate) fn carried(from: &FoundInPhoto, to: &FoundInPhoto, mark: &str, at: [f64; 2]) -> Option<[f64; 2]> {
    let turns = mark == SCREW_1;
    let here = from
        .targets
        .iter()
        .filter(|target| (target.name == RING) == turns);
    let mut pairs = here.filter_map(|a| Some((a, to.targets.iter().find(|b| b.name == a.name)?)));
    let (a, b) = pairs.next()?;
    let seen = b.seen_at(&a.place_at(&Vec2::new(at[0], at[1]))?)?;
    Some([seen.x, seen.y])
}

/// The frames' y axes point down as printed.
fn counter_clockwise(way: Vec2) -> f64 {
    (-way.y).atan2(way.x).to_degrees().rem_euclid(360.0)
}
