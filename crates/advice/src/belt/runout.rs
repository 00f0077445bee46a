//! Published limits of run-out for pulleys, full movement, by diameter.

/// The limits of one pulley, mm, full indicator movement over a turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunoutLimits {
    /// Radial.
    pub radial: f64,
    /// Axial.
    pub axial: f64,
}

/// Limits by outside diameter, mm, as ISO 5294:2012 is said to give them (from memory; a pulley maker's page that was
/// read agrees): radial 0.13 up to 203.2 mm, then 0.13 + 0.0005 (d - 203.2); axial 0.1 up to 101.6 mm, 0.001 d up to
/// 254 mm, then 0.25 + 0.0005 (d - 254).
pub fn iso_5294(diameter: f64) -> RunoutLimits {
    RunoutLimits {
        radial: 0.13 + 0.0005 * (diameter - 203.2).max(0.0),
        axial: match diameter {
            small if small <= 101.6 => 0.1,
            middle if middle <= 254.0 => 0.001 * middle,
            large => 0.25 + 0.0005 * (large - 254.0),
        },
    }
}
