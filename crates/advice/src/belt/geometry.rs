//! An open belt over two pulleys: lengths, wrap, teeth in mesh. All exact; handbook approximations are not used.

use std::f64::consts::{PI, TAU};

/// Pitch line differentials of curvilinear profiles by pitch, mm (radial distance from tooth tip to pitch line).
/// 3, 5 and 8 mm: profile H of ISO 13050, as a belt maker's tables give them; 2 mm and 14 mm: the same tables.
const PITCH_LINE: [(f64, f64); 5] = [
    (2.0, 0.254),
    (3.0, 0.381),
    (5.0, 0.5715),
    (8.0, 0.686),
    (14.0, 1.397),
];

/// From here on every tooth carries its share (rule of belt makers' guides).
const TEETH_FOR_FULL_LOAD: f64 = 6.0;
/// What each tooth that is missing takes off.
const LOSS_PER_TOOTH: f64 = 0.2;

/// Rounds of Newton's method at most; a handful do.
const MOST_ROUNDS: usize = 60;
/// Settled: a hundred-millionth of a millimetre.
const SETTLED: f64 = 1e-8;

/// Pitch diameter, mm: PD = z p / pi (ISO 5294 and ISO 13050, definition).
pub fn pitch_diameter(teeth: u32, pitch: f64) -> f64 {
    f64::from(teeth) * pitch / PI
}

/// Outside diameter across the tooth tips, mm: OD = PD - 2 PLD. None for a pitch whose profile is not known here.
pub fn outside_diameter(teeth: u32, pitch: f64) -> Option<f64> {
    let (_, differential) = PITCH_LINE
        .iter()
        .find(|(known, _)| (known - pitch).abs() < 1e-9)?;
    Some(pitch_diameter(teeth, pitch) - 2.0 * differential)
}

/// Two pulleys by their pitch diameters, mm, in either order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pulleys {
    small: f64,
    large: f64,
}

impl Pulleys {
    /// Two pulleys; diameters above 0.
    pub fn new(one: f64, other: f64) -> Self {
        Self {
            small: one.min(other),
            large: one.max(other),
        }
    }

    /// The least distance between the axes, mm: the pitch circles touch.
    pub fn closest(&self) -> f64 {
        (self.small + self.large) / 2.0
    }

    /// Angle of the belt to the line of centres, rad: asin((R - r) / C).
    fn slant(&self, centre_distance: f64) -> f64 {
        ((self.large - self.small) / (2.0 * centre_distance)).asin()
    }

    /// Pitch length of the belt, mm: L = 2 C cos a + pi (R + r) + 2 a (R - r), with sin a = (R - r) / C.
    pub fn belt_length(&self, centre_distance: f64) -> f64 {
        let slant = self.slant(centre_distance);
        2.0 * centre_distance * slant.cos()
            + PI * (self.large + self.small) / 2.0
            + slant * (self.large - self.small)
    }

    /// Free length of belt on each side, mm: C cos a.
    pub fn free_span(&self, centre_distance: f64) -> f64 {
        centre_distance * self.slant(centre_distance).cos()
    }

    /// Belt wrap on the smaller pulley, rad: pi - 2 a.
    pub fn wrap(&self, centre_distance: f64) -> f64 {
        PI - 2.0 * self.slant(centre_distance)
    }

    /// Teeth of the smaller pulley that the belt is in: z (pi - 2 a) / (2 pi).
    pub fn teeth_in_mesh(&self, small_teeth: u32, centre_distance: f64) -> f64 {
        f64::from(small_teeth) * self.wrap(centre_distance) / TAU
    }

    /// Change of the belt's path for each mm between the axes: dL/dC = 2 cos a.
    pub fn path_per_centre_distance(&self, centre_distance: f64) -> f64 {
        2.0 * self.slant(centre_distance).cos()
    }

    /// Distance between the axes at which a belt of this pitch length is just straight, mm, by Newton's method on the
    /// exact length. None for a belt too short for the pulleys to clear each other.
    pub fn centre_distance(&self, belt_length: f64) -> Option<f64> {
        if !(belt_length > self.belt_length(self.closest())) {
            return None;
        }
        // The length grows with the distance and bends upwards ever less, so that a start that is too far away comes
        // back and one that is too near walks out; neither leaves the range.
        let mut distance = belt_length / 2.0;
        for _ in 0..MOST_ROUNDS {
            let step = (belt_length - self.belt_length(distance)) / self.path_per_centre_distance(distance);
            distance = (distance + step).max(self.closest());
            if step.abs() < SETTLED {
                return Some(distance);
            }
        }
        None
    }
}

/// What the teeth in mesh carry against six or more: 1 from six on, 1 - 0.2 (6 - n) below, n rounded down; never below 0.
/// The six-tooth rule of belt makers' guides, read second-hand.
pub fn mesh_factor(teeth_in_mesh: f64) -> f64 {
    let missing = (TEETH_FOR_FULL_LOAD - teeth_in_mesh.floor()).max(0.0);
    (1.0 - LOSS_PER_TOOTH * missing).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn five(small: u32, large: u32) -> Pulleys {
        Pulleys::new(pitch_diameter(small, 5.0), pitch_diameter(large, 5.0))
    }

    /// Pitch and outside diameters by definition (ISO 5294, ISO 13050) with the pitch line differentials of a belt
    /// maker's tables; the numbers computed apart from this program.
    #[test]
    fn diameters_are_the_published_ones() {
        for (teeth, pitch, pd, od) in [
            (15, 5.0, 23.8732, 22.7302),
            (16, 5.0, 25.4648, 24.3218),
            (36, 5.0, 57.2958, 56.1528),
            (40, 5.0, 63.6620, 62.5190),
            (44, 5.0, 70.0282, 68.8852),
            (20, 3.0, 19.0986, 18.3366),
            (22, 8.0, 56.0225, 54.6505),
        ] {
            assert!(
                (pitch_diameter(teeth, pitch) - pd).abs() < 1e-4,
                "{teeth} x {pitch}"
            );
            let got = outside_diameter(teeth, pitch).unwrap();
            assert!((got - od).abs() < 1e-4, "{teeth} x {pitch}: {got}");
        }
        assert_eq!(outside_diameter(20, 4.0), None);
    }

    /// Length, wrap, teeth in mesh and span by the formulas of belt makers' guides; the numbers computed apart.
    #[test]
    fn lengths_and_wraps_are_the_published_ones() {
        for (small, large, centre, length, wrap, teeth, span) in [
            (15, 36, 100.0, 330.2992, 160.7600, 6.698, 98.5938),
            (16, 40, 90.0, 324.0683, 155.4966, 6.911, 87.9502),
            (16, 72, 120.0, 476.7477, 136.4008, 6.062, 111.4186),
            (20, 20, 100.0, 300.0, 180.0, 10.0, 100.0),
        ] {
            let pulleys = five(small, large);
            assert!((pulleys.belt_length(centre) - length).abs() < 1e-4);
            assert!((pulleys.wrap(centre).to_degrees() - wrap).abs() < 1e-4);
            assert!((pulleys.teeth_in_mesh(small, centre) - teeth).abs() < 1e-3);
            assert!((pulleys.free_span(centre) - span).abs() < 1e-4);
        }
    }

    /// Belt of 53 teeth on 15/36 and of 65 teeth on 16/40: exact centre distances, computed apart.
    #[test]
    fn centre_distances_are_the_published_ones_and_undo_the_length() {
        assert!((five(15, 36).centre_distance(265.0).unwrap() - 66.6436).abs() < 1e-3);
        assert!((five(16, 40).centre_distance(325.0).unwrap() - 90.4767).abs() < 1e-3);
        for teeth in 45..200 {
            let pulleys = five(16, 60);
            let length = f64::from(teeth) * 5.0;
            match pulleys.centre_distance(length) {
                Some(centre) => assert!((pulleys.belt_length(centre) - length).abs() < 1e-6),
                None => assert!(length <= pulleys.belt_length(pulleys.closest()) + 1e-6, "{teeth}"),
            }
        }
        assert_eq!(five(16, 60).centre_distance(f64::NAN), None);
    }

    /// Belt makers' six-tooth rule, read second-hand.
    #[test]
    fn fewer_than_six_teeth_carry_less() {
        for (teeth, factor) in [(5.9, 0.8), (6.06, 1.0), (3.0, 0.4), (9.0, 1.0), (0.5, 0.0)] {
            assert!((mesh_factor(teeth) - factor).abs() < 1e-12, "{teeth}");
        }
    }

    #[test]
    fn the_path_grows_as_its_derivative_says() {
        let pulleys = five(16, 60);
        for centre in [90.0, 112.0, 300.0] {
            let h = 1e-4;
            let slope = (pulleys.belt_length(centre + h) - pulleys.belt_length(centre - h)) / (2.0 * h);
            assert!((slope - pulleys.path_per_centre_distance(centre)).abs() < 1e-8);
        }
    }
}
