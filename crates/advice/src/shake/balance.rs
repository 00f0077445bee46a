//! Rigid rotors: unbalance, force and balance grade. Relations of ISO 21940-11:2016 (from memory, not read).

use std::f64::consts::{PI, TAU};

/// Balance grades, mm/s, and what they are for.
pub const GRADES: [f64; 11] = [
    4000.0, 1600.0, 630.0, 250.0, 100.0, 40.0, 16.0, 6.3, 2.5, 1.0, 0.4,
];

/// Angular speed, rad/s, of so many turns a minute.
pub fn angular_speed(rpm: f64) -> f64 {
    rpm * TAU / 60.0
}

/// Turns a minute of a wheel of this diameter, mm, at a speed in km/h, rolling without slip.
pub fn wheel_rpm(speed: f64, diameter: f64) -> f64 {
    let metres_a_minute = speed * 1000.0 / 60.0;
    metres_a_minute / (PI * diameter / 1000.0)
}

/// Permissible specific unbalance of a grade, um (the same number in g mm/kg): e = 1000 G / omega.
pub fn permissible_specific(grade: f64, omega: f64) -> f64 {
    1000.0 * grade / omega
}

/// Permissible unbalance of a grade, g mm, for a rotor of so many kg: U = 1000 G m / omega.
pub fn permissible(grade: f64, mass: f64, omega: f64) -> f64 {
    permissible_specific(grade, omega) * mass
}

/// Force that turns with the rotor, N: F = U omega^2, unbalance in g mm.
pub fn force(unbalance: f64, omega: f64) -> f64 {
    unbalance * 1e-6 * omega * omega
}

/// Velocity at which the centre of a free rotor circles, mm/s: e omega with e = U / m, the number that grades are named by.
pub fn velocity(unbalance: f64, mass: f64, omega: f64) -> f64 {
    unbalance / mass * 1e-3 * omega
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 21940-11 relations; numbers computed apart from this program: G 6.3 at 3000 rpm 20.0535 um, G 40 127.324 um.
    #[test]
    fn specific_unbalance_of_grades() {
        let omega = angular_speed(3000.0);
        assert!((permissible_specific(6.3, omega) - 20.0535).abs() < 1e-4);
        assert!((permissible_specific(40.0, omega) - 127.324).abs() < 1e-3);
    }

    /// The standard's own example (from memory): 3600 kg, G 2.5, 3000 rpm, 28.6e3 to 28.8e3 g mm; exactly 28,648.
    #[test]
    fn the_standards_example() {
        let unbalance = permissible(2.5, 3600.0, angular_speed(3000.0));
        assert!((unbalance - 28_648.0).abs() < 0.5, "{unbalance}");
        // 0.2 kg, G 16, 2300 rpm.
        assert!((permissible(16.0, 0.2, angular_speed(2300.0)) - 13.286).abs() < 1e-3);
    }

    /// An 83 mm wheel at 10 m/s turns at 240.964 rad/s (2301.0 rpm). 0.2 kg 0.1 mm off: 1.16127 N and 24.1 mm/s; 1 g at 40 mm:
    /// 2.3225 N. By hand.
    #[test]
    fn a_small_wheel_by_hand() {
        let rpm = wheel_rpm(36.0, 83.0);
        let omega = angular_speed(rpm);
        assert!((rpm - 2301.0).abs() < 0.05 && (omega - 240.964).abs() < 1e-3);
        assert!((force(200.0 * 0.1, omega) - 1.16127).abs() < 1e-5);
        assert!((velocity(200.0 * 0.1, 0.2, omega) - 24.0964).abs() < 1e-4);
        assert!((force(40.0, omega) - 2.3225).abs() < 1e-4);
    }
}
