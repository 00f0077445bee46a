//! What a tension job must say, in the units of the physics.

use crate::Error;
use shimwright_record::conformity::COVERAGE_95;
use shimwright_record::{EarlierTension, Job, JobBelt, Stated, TensionRange};
use shimwright_say::say;
use shimwright_sound::{Known, Span};

/// Free spans that a board can have, mm.
const SPANS_MM: [f64; 2] = [15.0, 1_500.0];
/// Belts that a board can have, g/m.
const MASSES_G_PER_M: [f64; 2] = [2.0, 500.0];
/// Bending stiffnesses that a belt can have, N mm^2.
const STIFFNESSES: [f64; 2] = [0.0, 1e6];
/// Tensions that a belt can have, N.
const TENSIONS_N: [f64; 2] = [0.1, 20_000.0];
/// Pitches that can have been heard, Hz.
const PITCHES_HZ: [f64; 2] = [1.0, 2_000.0];

/// A checked tension job.
pub(super) struct Problem {
    /// The span, SI.
    pub span: Span,
    pub allowed: Option<TensionRange>,
    pub earlier: Option<EarlierTension>,
}

impl Problem {
    pub fn check(job: &Job) -> Result<Self, Error> {
        crate::refuse_trials(job)?;
        let belt = job.belt.as_ref().ok_or_else(|| {
            Error::bad(
                Some("belt"),
                say!("the tension job says nothing of the belt"),
                say!("give `belt` with `span` (mm) and `mass_per_length` (g/m), each with `value` and `u95`"),
            )
        })?;
        if !job.photos.is_empty() {
            return Err(Error::bad(
                Some("photos"),
                say!(
                    "the tension job names {} photos, and a tension is heard",
                    job.photos.len()
                ),
                say!("leave `photos` out"),
            ));
        }
        if let Some(range) = belt.allowed {
            check_range(range)?;
        }
        if let Some(earlier) = belt.earlier {
            check("belt.earlier.tension", earlier.tension, TENSIONS_N, "N")?;
            if let Some(frequency) = earlier.frequency {
                check("belt.earlier.frequency", frequency, PITCHES_HZ, "Hz")?;
            }
        }
        Ok(Self {
            span: span(belt)?,
            allowed: belt.allowed,
            earlier: belt.earlier,
        })
    }
}

fn span(belt: &JobBelt) -> Result<Span, Error> {
    let bending_n_m2 = match belt.stiffness {
        Some(stiffness) => Some(check("belt.stiffness", stiffness, STIFFNESSES, "N mm^2")?),
        None => None,
    };
    Ok(Span {
        length_m: scaled(check("belt.span", belt.span, SPANS_MM, "mm")?, 1e-3),
        mass_kg_per_m: scaled(
            check(
                "belt.mass_per_length",
                belt.mass_per_length,
                MASSES_G_PER_M,
                "g/m",
            )?,
            1e-3,
        ),
        bending_n_m2: bending_n_m2.map(|stiffness| scaled(stiffness, 1e-6)),
    })
}

fn scaled(known: Known, factor: f64) -> Known {
    Known {
        value: known.value * factor,
        u: known.u * factor,
    }
}

/// A stated number that makes sense, with its standard uncertainty.
fn check(name: &str, stated: Stated, [least, most]: [f64; 2], unit: &str) -> Result<Known, Error> {
    if !(least..=most).contains(&stated.value) {
        return Err(Error::bad(
            Some(name),
            say!(
                "`{name}` is {} {unit}, which is not between {least} and {most}",
                stated.value
            ),
            say!("give it in {unit}"),
        ));
    }
    let largest = stated.value.max(least);
    if !(stated.u95 >= 0.0 && stated.u95 <= largest) {
        return Err(Error::bad(
            Some(name),
            say!(
                "the u95 of `{name}` is {}, which is not between 0 and its value",
                stated.u95
            ),
            say!("give its uncertainty at 95 % in {unit}"),
        ));
    }
    Ok(Known {
        value: stated.value,
        u: stated.u95 / COVERAGE_95,
    })
}

fn check_range(range: TensionRange) -> Result<(), Error> {
    let ends = [range.least, range.most];
    let odd = ends
        .iter()
        .flatten()
        .find(|end| !(TENSIONS_N[0]..=TENSIONS_N[1]).contains(*end));
    let message = match (odd, ends) {
        (Some(odd), _) => say!("an end of `belt.allowed` is {odd} N, which no belt is tightened to"),
        (None, [None, None]) => say!("`belt.allowed` has neither `least` nor `most`"),
        (None, [Some(least), Some(most)]) if least > most => {
            say!("`belt.allowed` goes from {least} N down to {most} N")
        }
        _ => return Ok(()),
    };
    Err(Error::bad(
        Some("belt.allowed"),
        message,
        say!("give the maker's range in newtons, or leave it out"),
    ))
}
