//! What a single photo shows of the hub ring's place: rough directions for the page's guidance and for the marked screw.
//!
//! Nothing is measured by these: they come from the targets' planes alone, without lens and parallax.

use shimwright_geom::Vec2;
use shimwright_measure::FoundInPhoto;

/// The target on the wheel and the one on the mount.
const RING: &str = "hub-ring";
const CARD: &str = "mount-card";
/// A place on the ring's x axis, mm from its centre.
const ON_THE_AXIS: f64 = 20.0;

/// Roughly how far the wheel is turned: direction of the ring's x axis as the card sees it, degrees counter-clockwise from the
/// card's x axis, 0 to 360. `None` unless both targets are in view.
pub(crate) fn wheel_angle(found: &FoundInPhoto) -> Option<f64> {
    let [ring, card] = [RING, CARD].map(|name| found.targets.iter().find(|target| target.name == name));
    let (ring, card) = (ring?, card?);
    let [centre, out] = [0.0, ON_THE_AXIS].map(|x| card.place_at(&ring.seen_at(&Vec2::new(x, 0.0))?));
    Some(counter_clockwise(out? - centre?))
}

/// Direction from the ring's centre to what shows at a pixel, in the ring's frame: degrees counter-clockwise from its x
/// axis seen from its printed side, 0 to 360. `None` when the ring is not in view.
pub(crate) fn direction_on_ring(found: &FoundInPhoto, at: [f64; 2]) -> Option<f64> {
    let ring = found.targets.iter().find(|target| target.name == RING)?;
    Some(counter_clockwise(ring.place_at(&Vec2::new(at[0], at[1]))?))
}

/// The frames' y axes point down as printed.
fn counter_clockwise(way: Vec2) -> f64 {
    (-way.y).atan2(way.x).to_degrees().rem_euclid(360.0)
}
