//! Directions told by the screws that a person sees.

use shimwright_record::ScrewPlace;
use shimwright_say::say;

/// Places that have a name between one screw and the next: the screw itself, a quarter, the middle, three quarters.
const NAMES_PER_SECTOR: u32 = 4;

/// Screws evenly around a pulley, numbered clockwise from screw 1, seen from the hub ring's printed side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Screws {
    pub count: u32,
    /// Direction of screw 1 in the ring's frame, degrees counter-clockwise from its x axis.
    pub first: f64,
}

impl Screws {
    /// A direction of the ring's frame as degrees clockwise from screw 1, 0 up to 360.
    pub fn clockwise(&self, direction: f64) -> f64 {
        (self.first - direction).rem_euclid(360.0)
    }

    /// The named place nearest to a direction of the ring's frame, and the one across from it.
    pub fn across(&self, direction: f64) -> (ScrewPlace, ScrewPlace) {
        let names = self.count * NAMES_PER_SECTOR;
        let step = 360.0 / f64::from(names);
        // Below `names` after the remainder, and never negative.
        let nearest = (self.clockwise(direction) / step).round() as u32 % names;
        // A whole number of names lies half way around, because a sector has four of them.
        let opposite = (nearest + names / 2) % names;
        (self.place(nearest, step), self.place(opposite, step))
    }

    fn place(&self, name: u32, step: f64) -> ScrewPlace {
        let screw = name / NAMES_PER_SECTOR + 1;
        let next = screw % self.count + 1;
        ScrewPlace {
            name: match name % NAMES_PER_SECTOR {
                0 => say!("screw {screw}"),
                1 => say!("the place a quarter of the way from screw {screw} to screw {next}"),
                2 => say!("the middle between screws {screw} and {next}"),
                _ => say!("the place a quarter of the way from screw {next} to screw {screw}"),
            },
            clockwise_from_screw_1: f64::from(name) * step,
        }
    }

    /// How far a named place may lie from the direction it stands for, degrees.
    pub fn coarseness(&self) -> f64 {
        180.0 / f64::from(self.count * NAMES_PER_SECTOR)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn five_screws_by_hand() {
        // Screw 1 at 90 degrees (12 o'clock); screw 2 lies 72 degrees clockwise from it, at 18 degrees.
        let screws = Screws {
            count: 5,
            first: 90.0,
        };
        let (from, toward) = screws.across(18.0);
        assert_eq!(from.name, "screw 2");
        assert_eq!(toward.name, "the middle between screws 4 and 5");
        assert!((from.clockwise_from_screw_1 - 72.0).abs() < 1e-12);
        assert!((toward.clockwise_from_screw_1 - 252.0).abs() < 1e-12);
        let (from, _) = screws.across(18.0 - 18.0);
        assert_eq!(
            from.name,
            "the place a quarter of the way from screw 2 to screw 3"
        );
        let (from, _) = screws.across(90.0 + 18.0);
        assert_eq!(
            from.name,
            "the place a quarter of the way from screw 1 to screw 5"
        );
    }

    #[test]
    fn places_lie_across_and_near_for_every_count_and_direction() {
        for count in 3..=8 {
            for first in [-170.0, 0.0, 33.3, 359.0] {
                let screws = Screws { count, first };
                for tenth in -3600..3600 {
                    let direction = f64::from(tenth) / 10.0;
                    let (from, toward) = screws.across(direction);
                    let (a, b) = (from.clockwise_from_screw_1, toward.clockwise_from_screw_1);
                    assert!(((a - b).rem_euclid(360.0) - 180.0).abs() < 1e-9);
                    let off = (a - screws.clockwise(direction) + 180.0).rem_euclid(360.0) - 180.0;
                    assert!(
                        off.abs() <= screws.coarseness() + 1e-9,
                        "{count} {direction} {off}"
                    );
                }
            }
        }
    }
}
