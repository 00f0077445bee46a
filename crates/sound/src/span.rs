//! From the pitch of a span to its tension.

use std::f64::consts::PI;

/// A number with its standard uncertainty, in one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// The number.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
}

/// A free span of belt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Free length between the points where the belt leaves the pulleys, m.
    pub length_m: Known,
    /// Mass of the belt for each metre, kg/m.
    pub mass_kg_per_m: Known,
    /// Bending stiffness E I, N m^2, when somebody measured it. Absent, the partials tell it.
    pub bending_n_m2: Option<Known>,
}

/// What was heard of a span.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tone {
    /// Fundamental, Hz.
    pub frequency_hz: f64,
    /// Standard uncertainty of it from noise, Hz.
    pub noise_hz: f64,
    /// Standard uncertainty of it from the spread of the plucks, Hz.
    pub spread_hz: f64,
    /// Inharmonicity B of f_n = n f0 sqrt(1 + B n^2), with its standard uncertainty.
    pub stiffness: Known,
}

/// A tension and the parts of its uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tension {
    /// Tension, N.
    pub newtons: f64,
    /// Standard uncertainties of the tension by their cause, N.
    pub parts: Parts,
}

/// Standard uncertainties by their cause, N.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parts {
    /// Noise in the recording.
    pub noise: f64,
    /// Spread of the plucks.
    pub spread: f64,
    /// Length of the span.
    pub length: f64,
    /// Mass of the belt.
    pub mass: f64,
    /// Bending stiffness.
    pub stiffness: f64,
    /// How the pulleys hold the ends.
    pub ends: f64,
}

impl Tension {
    /// Standard uncertainty of the tension, N.
    pub fn u(&self) -> f64 {
        let p = &self.parts;
        [p.noise, p.spread, p.length, p.mass, p.stiffness, p.ends]
            .iter()
            .map(|part| part * part)
            .sum::<f64>()
            .sqrt()
    }
}

impl Span {
    /// Tension of the span that sounds like `tone`, by linear propagation (JCGM 100, 5.1.2).
    ///
    /// An ideal string has T = 4 m L^2 f^2 (Mersenne). A belt also resists bending, which makes it sound higher: a stiff
    /// string on hinged ends has T = 4 m L^2 f^2 - pi^2 E I / L^2 (textbook, from memory), which is
    /// 4 m L^2 f^2 / (1 + B) with B = pi^2 E I / (T L^2).
    ///
    /// A pulley holds the belt's end less freely than a hinge and more freely than a clamp. A clamped string sounds
    /// higher by 1 + (2 / pi) sqrt(B) + (4 / pi^2) B (Fletcher 1964, from memory), so the tension lies between the
    /// hinge's and the clamp's: the difference over sqrt(3), on top of the hinge's value, is a part of the uncertainty.
    pub fn tension(&self, tone: &Tone) -> Tension {
        let (length, mass) = (self.length_m.value, self.mass_kg_per_m.value);
        let ideal = 4.0 * mass * (length * tone.frequency_hz).powi(2);
        let (newtons, bending, u_stiffness) = match self.bending_n_m2 {
            Some(bending) => {
                let less = PI * PI / (length * length);
                (
                    ideal - less * bending.value,
                    less * bending.value,
                    less * bending.u,
                )
            }
            None => {
                let newtons = ideal / (1.0 + tone.stiffness.value);
                (
                    newtons,
                    ideal - newtons,
                    newtons / (1.0 + tone.stiffness.value) * tone.stiffness.u,
                )
            }
        };
        // With a bending stiffness that is stated, a longer span also takes less off: dT/dL = 2 (ideal + bending) / L.
        let by_length = match self.bending_n_m2 {
            Some(_) => 2.0 * (ideal + bending),
            None => 2.0 * newtons,
        };
        let heard = if self.bending_n_m2.is_some() {
            ideal
        } else {
            newtons
        };
        Tension {
            newtons,
            parts: Parts {
                noise: 2.0 * heard * tone.noise_hz / tone.frequency_hz,
                spread: 2.0 * heard * tone.spread_hz / tone.frequency_hz,
                length: by_length * self.length_m.u / length,
                mass: heard * self.mass_kg_per_m.u / mass,
                stiffness: u_stiffness,
                ends: between_hinge_and_clamp(newtons, bending.max(0.0) + u_stiffness),
            },
        }
    }
}

/// The tension that a clamp would explain away, over sqrt(3), for a bending part of the apparent tension, N.
fn between_hinge_and_clamp(newtons: f64, bending: f64) -> f64 {
    if newtons <= 0.0 {
        return 0.0;
    }
    let stiffness = bending / newtons;
    let higher = 1.0 + 2.0 / PI * stiffness.sqrt() + 4.0 / (PI * PI) * stiffness;
    newtons * (1.0 - higher.powi(-2)) / 3f64.sqrt()
}
