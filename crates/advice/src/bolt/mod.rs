//! Bolted joints: torque and preload, the order and the stages of tightening.

mod joint;
mod star;

pub use joint::{Friction, Joint, SteelClass, nut_factor_torque, preload_ratio_95};
pub use star::{passes, star_order};

/// Permissible deviation of a hand torque wrench up to 10 N m, as a share of what it is set to: ISO 6789-1:2017, from
/// memory, not read in the standard; 4 % above.
const WRENCH_UP_TO_10: f64 = 0.06;
const WRENCH_ABOVE_10: f64 = 0.04;
const WRENCH_STEP: f64 = 10.0;

/// What a wrench that is right by its standard gives when it is set to a torque, N m: lowest and highest.
pub fn wrench_gives(torque: f64) -> [f64; 2] {
    let share = wrench_share(torque);
    [torque * (1.0 - share), torque * (1.0 + share)]
}

/// The permissible deviation for a torque, as a share.
pub(crate) fn wrench_share(torque: f64) -> f64 {
    if torque <= WRENCH_STEP {
        WRENCH_UP_TO_10
    } else {
        WRENCH_ABOVE_10
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 6789-1:2017 (from memory): 6 % up to 10 N m, 4 % above.
    #[test]
    fn small_torques_have_the_wider_wrench() {
        let [low, high] = wrench_gives(0.55);
        assert!((low - 0.517).abs() < 1e-12 && (high - 0.583).abs() < 1e-12);
        let [low, high] = wrench_gives(25.0);
        assert!((low - 24.0).abs() < 1e-12 && (high - 26.0).abs() < 1e-12);
    }
}
