//! Torque facts that spacer work needs. Common practice, no source: the board maker's value goes first.

use crate::wording::torque;

/// Each of five small screws that hold a wheel pulley, N m. Common practice, no source.
const PULLEY_SCREW: f64 = 0.55;

/// What is known of the screws that hold the wheel pulley.
pub(crate) fn pulley_screws() -> String {
    format!(
        "Where there is none: {} is common practice, no source, for a pulley with five small screws.",
        torque(PULLEY_SCREW)
    )
}

/// How the axle nut is tightened.
pub(crate) const AXLE_NUT: &str = "Turn the axle nut only until the wheel's play is gone and the wheel still spins \
                                   freely, no further (common practice, no source; your board maker's word goes first).";
