//! What a screw by itself bears, computed: a ceiling, never a recommendation.

use super::torque_units;
use crate::bolt::{Friction, Joint, SteelClass};
use shimwright_record::{ScrewSize, TorqueUnits};

/// What a steel screw bears at one friction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScrewLimit {
    /// Preload at the limit, N.
    pub preload: f64,
    /// Torque at the limit.
    pub torque: TorqueUnits,
}

/// Preload and torque that use up 90 % of a screw's yield stress (VDI 2230, from memory). Threads in aluminium or plastic
/// give way earlier.
pub fn screw_limit(size: ScrewSize, class: SteelClass, friction: Friction) -> ScrewLimit {
    let joint = Joint {
        size,
        class,
        friction,
    };
    ScrewLimit {
        preload: joint.preload(),
        torque: torque_units(joint.most_torque()),
    }
}
