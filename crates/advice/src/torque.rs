//! Torque facts that spacer work needs. Common practice, no source: the board maker's value goes first.

use crate::wording::torque;
use shimwright_record::Phrase;
use shimwright_say::say;

/// Each of five small screws that hold a wheel pulley, N m. Common practice, no source.
const PULLEY_SCREW: f64 = 0.55;

/// What is known of the screws that hold the wheel pulley.
pub(crate) fn pulley_screws() -> Phrase {
    say!(
        "Where there is none: {} is common practice, no source, for a pulley with five small screws.",
        torque(PULLEY_SCREW)
    )
}

/// Small body screws and the hanger's pivot nut, N m. Common practice, no source.
const BODY_SCREW: f64 = 0.8;
const PIVOT_NUT: f64 = 4.6;

/// The torques in use, for whoever meets these screws on the way.
pub(crate) fn torques_in_use() -> Phrase {
    say!(
        "Torques (common practice, no source; your board maker's value goes first): wheel pulley's five screws {} in \
         star order, small body screws {}, the hanger's pivot nut {}.",
        torque(PULLEY_SCREW),
        torque(BODY_SCREW),
        torque(PIVOT_NUT)
    )
}

/// How the axle nut is tightened.
pub(crate) fn axle_nut() -> Phrase {
    say!(
        "Turn the axle nut only until the wheel's play is gone and the wheel still spins \
                                   freely, no further (common practice, no source; your board maker's word goes first)."
    )
}
