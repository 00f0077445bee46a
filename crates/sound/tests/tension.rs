//! Tension from pitch, against values worked out by hand from the formulas' sources.
// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use shimwright_sound::{Known, Span, Tone};
use std::f64::consts::PI;

fn exact(value: f64) -> Known {
    Known { value, u: 0.0 }
}

fn span(mass: f64, length: f64) -> Span {
    Span {
        length_m: exact(length),
        mass_kg_per_m: exact(mass),
        bending_n_m2: None,
    }
}

fn tone(frequency_hz: f64) -> Tone {
    Tone {
        frequency_hz,
        noise_hz: 0.0,
        spread_hz: 0.0,
        stiffness: exact(0.0),
    }
}

/// T = 4 m L^2 f^2, the ideal string (Mersenne); belt makers print it as T = 4 S^2 M W f^2 1e-9 with S in mm, M in g/m for
/// each mm of width and W in mm (from memory). The numbers are computed from the formula.
#[test]
fn an_ideal_string() {
    for (mass, length, frequency, newtons) in [
        (0.0585, 0.100, 150.0, 52.65),
        (0.0585, 0.09, 200.0, 75.816),
        (0.0585, 0.100, 206.72, 100.0),
    ] {
        let tension = span(mass, length).tension(&tone(frequency));
        assert!(
            (tension.newtons / newtons - 1.0).abs() < 1e-4,
            "{} N",
            tension.newtons
        );
        let maker = 4.0 * (1e3 * length).powi(2) * 3.9 * 15.0 * frequency.powi(2) * 1e-9;
        assert!((tension.newtons - maker).abs() < 1e-9);
    }
}

/// T = 4 m L^2 f^2 - pi^2 E I / L^2 for a stiff string on hinges (textbook, from memory): 52.65 N less
/// pi^2 0.001 / 0.01 = 0.98696 N.
#[test]
fn a_stated_stiffness_is_taken_off() {
    let stiff = Span {
        bending_n_m2: Some(Known { value: 1e-3, u: 2e-4 }),
        ..span(0.0585, 0.1)
    };
    let tension = stiff.tension(&tone(150.0));
    assert!((tension.newtons - (52.65 - 0.986_960)).abs() < 1e-5);
    assert!((tension.parts.stiffness - 0.197_392).abs() < 1e-5);
    // The same string by its inharmonicity B = pi^2 E I / (T L^2).
    let heard = Tone {
        stiffness: exact(0.986_960 / tension.newtons),
        ..tone(150.0)
    };
    let by_ear = span(0.0585, 0.1).tension(&heard);
    assert!((by_ear.newtons - tension.newtons).abs() < 1e-4);
}

/// (u_T / T)^2 = (u_m / m)^2 + (2 u_L / L)^2 + (2 u_f / f)^2, computed by hand: 3 %, 2 x 1 %, 2 x 0.5 %, so 3.742 %.
#[test]
fn uncertainties_add_in_squares() {
    let span = Span {
        length_m: Known { value: 0.1, u: 0.001 },
        mass_kg_per_m: Known {
            value: 0.05,
            u: 0.0015,
        },
        bending_n_m2: None,
    };
    let heard = Tone {
        noise_hz: 0.3,
        spread_hz: 0.4,
        ..tone(100.0)
    };
    let tension = span.tension(&heard);
    assert!((tension.u() / tension.newtons - 0.037_416_6).abs() < 1e-6);
}

/// Derivatives against differences, with a stated stiffness, where the length acts twice.
#[test]
fn the_parts_are_the_derivatives() {
    let at = |length: f64, mass: f64, bending: f64, frequency: f64| {
        4.0 * mass * (length * frequency).powi(2) - PI * PI * bending / (length * length)
    };
    let (length, mass, bending, frequency, h) = (0.08, 0.06, 2e-3, 180.0, 1e-6);
    let span = Span {
        length_m: Known { value: length, u: h },
        mass_kg_per_m: Known { value: mass, u: h },
        bending_n_m2: Some(Known { value: bending, u: h }),
    };
    let heard = Tone {
        noise_hz: h,
        ..tone(frequency)
    };
    let parts = span.tension(&heard).parts;
    let truth = at(length, mass, bending, frequency);
    for (part, moved) in [
        (parts.length, at(length + h, mass, bending, frequency)),
        (parts.mass, at(length, mass + h, bending, frequency)),
        (parts.stiffness, at(length, mass, bending + h, frequency)),
        (parts.noise, at(length, mass, bending, frequency + h)),
    ] {
        let difference = (moved - truth).abs();
        assert!(
            (part / difference - 1.0).abs() < 1e-3,
            "{part} against {difference}"
        );
    }
}

/// Between hinge and clamp (Fletcher 1964, from memory): with B = 0.001 a clamped string of the same pitch has
/// 1 / (1.020537)^2 of the tension, 3.984 % less.
#[test]
fn how_the_ends_are_held_is_in_the_uncertainty() {
    let heard = Tone {
        stiffness: exact(0.001),
        ..tone(150.0)
    };
    let tension = span(0.0585, 0.1).tension(&heard);
    let share = tension.parts.ends * 3f64.sqrt() / tension.newtons;
    assert!((share - 0.039_84).abs() < 2e-4, "{share}");
    assert_eq!(span(0.0585, 0.1).tension(&tone(150.0)).parts.ends, 0.0);
}
