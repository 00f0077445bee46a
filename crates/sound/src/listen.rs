//! A whole recording: every pluck by itself, and what they say together.

use crate::floor::Floor;
use crate::onset::onsets;
use crate::pluck::{Ear, Pitch, Unclear};
use crate::steady::without_steady_tones;
use crate::track::Track;
use crate::{Known, Recording, Tone};
use shimwright_phrase::Phrase;
use shimwright_say::say;

/// Most plucks that are looked at; the first ones count.
const MOST_PLUCKS: usize = 40;
/// Plucks of one span agree within this share.
const AGREE: f64 = 0.03;
/// Share of the clear plucks that must agree.
const MAJORITY: f64 = 0.6;
/// Least evidence for a pitch from all its plucks together: one pluck that is barely clear by itself does not make it.
const SURE: f64 = 12.0;
/// No pluck has a louder voice than this evidence gives it.
const LOUDEST_VOICE: f64 = 20.0;
/// Largest standard uncertainty of the pitch, as a share of it: its 95 % interval then lies within one percent.
const SHARP: f64 = 0.0051;
/// Spread of plucks by one hand before any was heard, as a share: a harder pluck sounds higher.
const USUAL_SPREAD: f64 = 0.003;
/// How many plucks that prior knowledge is worth.
const USUAL_WORTH: f64 = 3.0;

/// A pluck in a recording.
#[derive(Clone, Debug, PartialEq)]
pub struct Pluck {
    /// When it was struck, s from the start of the recording.
    pub at_s: f64,
    /// Its pitch, or why that is not clear.
    pub heard: Result<Pitch, Unclear>,
}

impl Pluck {
    /// The fundamental that it sounds like most, clear or not, Hz.
    fn likeliest_hz(&self) -> Option<f64> {
        match self.heard {
            Ok(Pitch { frequency_hz, .. }) | Err(Unclear::Blunt { frequency_hz, .. }) => Some(frequency_hz),
            Err(Unclear::Either { first_hz: hz, .. } | Unclear::TwoSounds { string_hz: hz, .. }) => Some(hz),
            Err(Unclear::NoRing | Unclear::Faint) => None,
        }
    }

    /// How much of its voice speaks for a fundamental: all, half where it may be another as well, or none.
    fn share_for(&self, centre_hz: f64) -> f64 {
        let near = |hz: f64| (hz / centre_hz).ln().abs() < AGREE;
        match self.heard {
            Err(Unclear::Either { first_hz, second_hz }) if near(first_hz) || near(second_hz) => 0.5,
            Err(Unclear::Either { .. }) => 0.0,
            _ => f64::from(u8::from(self.likeliest_hz().is_some_and(near))),
        }
    }
}

/// What a recording says of a span.
#[derive(Clone, Debug, PartialEq)]
pub struct Heard {
    /// Fundamental, Hz: the mean over the plucks that count, each weighted by how sharp it is.
    pub frequency_hz: f64,
    /// Standard uncertainty of that mean from noise, Hz.
    pub noise_hz: f64,
    /// Standard uncertainty of that mean from the spread of the plucks, Hz.
    pub spread_hz: f64,
    /// Inharmonicity B, the weighted mean over the plucks.
    pub stiffness: f64,
    /// Its standard uncertainty.
    pub stiffness_sigma: f64,
    /// Every pluck, in order of time.
    pub plucks: Vec<Pluck>,
    /// Which of them count.
    pub used: Vec<usize>,
}

impl Heard {
    /// Standard uncertainty of the frequency, Hz.
    pub fn sigma_hz(&self) -> f64 {
        self.noise_hz.hypot(self.spread_hz)
    }

    /// What a span's tension follows from.
    pub fn tone(&self) -> Tone {
        Tone {
            frequency_hz: self.frequency_hz,
            noise_hz: self.noise_hz,
            spread_hz: self.spread_hz,
            stiffness: Known {
                value: self.stiffness,
                u: self.stiffness_sigma,
            },
        }
    }

    /// The pitches of the plucks that count.
    pub fn pitches(&self) -> impl Iterator<Item = &Pitch> {
        self.used
            .iter()
            .filter_map(|&k| self.plucks[k].heard.as_ref().ok())
    }
}

/// Why a recording says nothing of a span.
#[derive(Clone, Debug, PartialEq, thiserror::Error, shimwright_say::Halves)]
#[non_exhaustive]
pub enum NotClear {
    /// Nothing but silence.
    #[error("the recording is silent; allow the microphone, and record again")]
    Silent,
    /// Nothing was struck.
    #[error("no pluck stands out of the noise; record in a quiet place, closer to the span")]
    NoPluck,
    /// Plucks, and none of them clear.
    #[error("{} was heard and its pitch is not clear: {}; hold the phone close to the middle of the span and pluck it again", count(plucks.len()), reasons(plucks))]
    NoneClear {
        /// The plucks.
        plucks: Vec<Pluck>,
    },
    /// Plucks that agree, and are too faint to be sure.
    #[error(
        "a pitch near {frequency_hz:.0} Hz is likely and not sure; pluck it more often, closer to the phone, in a quieter place"
    )]
    Unsure {
        /// Their fundamental, Hz.
        frequency_hz: f64,
    },
    /// Plucks that agree, and are not sharp enough together.
    #[error(
        "the pitch near {frequency_hz:.0} Hz is known to {:.1} Hz only; pluck it more often, each time alike, closer to the phone",
        1.96 * sigma_hz
    )]
    Blunt {
        /// Their fundamental, Hz.
        frequency_hz: f64,
        /// Its standard uncertainty, Hz.
        sigma_hz: f64,
    },
    /// Clear plucks that do not agree.
    #[error(
        "the plucks differ ({}); pluck the same span each time, with the wheel held still",
        listed(frequencies_hz)
    )]
    Differ {
        /// Their fundamentals, Hz.
        frequencies_hz: Vec<f64>,
    },
}

/// Listens to a recording of one or more plucks of a span.
///
/// # Errors
/// [`NotClear`] rather than a number that may be wrong.
pub fn listen(recording: &Recording) -> Result<Heard, NotClear> {
    let track = Track::of(recording);
    if track.samples.iter().all(|sample| sample.abs() < 1e-9) {
        return Err(NotClear::Silent);
    }
    let plucks = plucks(&without_steady_tones(&track));
    if plucks.is_empty() {
        return Err(NotClear::NoPluck);
    }
    let clear: Vec<(usize, &Pitch)> = plucks
        .iter()
        .enumerate()
        .filter_map(|(k, pluck)| Some((k, pluck.heard.as_ref().ok()?)))
        .collect();
    if clear.is_empty() {
        return Err(NotClear::NoneClear { plucks });
    }
    let agreeing = best_agreeing(&clear);
    let centre = clear[agreeing[0]].1.frequency_hz;
    let (for_it, all) = votes(&plucks, centre);
    if for_it < MAJORITY * all {
        return Err(NotClear::Differ {
            frequencies_hz: plucks.iter().filter_map(Pluck::likeliest_hz).collect(),
        });
    }
    if evidence(&clear, &agreeing) < SURE {
        return Err(NotClear::Unsure { frequency_hz: centre });
    }
    let together = Together::of(&agreeing.iter().map(|&k| clear[k].1).collect::<Vec<_>>());
    let sigma_hz = together.noise_hz.hypot(together.spread_hz);
    if sigma_hz > SHARP * together.frequency_hz {
        return Err(NotClear::Blunt {
            frequency_hz: together.frequency_hz,
            sigma_hz,
        });
    }
    let used = agreeing.iter().map(|&k| clear[k].0).collect();
    Ok(Heard {
        frequency_hz: together.frequency_hz,
        noise_hz: together.noise_hz,
        spread_hz: together.spread_hz,
        stiffness: together.stiffness,
        stiffness_sigma: together.stiffness_sigma,
        plucks,
        used,
    })
}

/// Votes for a pitch and all votes: each pluck's voice is as loud as its evidence, within limits. One that is not clear still
/// speaks for or against it, with half of the loudest voice.
fn votes(plucks: &[Pluck], centre_hz: f64) -> (f64, f64) {
    let heard = plucks.iter().filter(|pluck| pluck.likeliest_hz().is_some());
    heard.fold((0.0, 0.0), |(for_it, all), pluck| {
        let voice = pluck
            .heard
            .as_ref()
            .map_or(0.5 * LOUDEST_VOICE, |pitch| pitch.evidence.min(LOUDEST_VOICE));
        (for_it + voice * pluck.share_for(centre_hz), all + voice)
    })
}

fn plucks(track: &Track) -> Vec<Pluck> {
    let floor = Floor::of(track);
    let ear = Ear::new(track, &floor);
    let onsets = onsets(track);
    let ends = onsets.iter().skip(1).copied().chain([track.samples.len()]);
    onsets
        .iter()
        .zip(ends)
        .take(MOST_PLUCKS)
        .map(|(&onset, until)| {
            let (start, heard) = ear.hear(onset, until);
            Pluck {
                at_s: start as f64 / track.rate_hz,
                heard,
            }
        })
        .collect()
}

/// Evidence for the pitch of a group of plucks.
fn evidence(clear: &[(usize, &Pitch)], group: &[usize]) -> f64 {
    group.iter().map(|&k| clear[k].1.evidence).sum()
}

/// The group of plucks within a share of one of them for which there is most evidence.
fn best_agreeing(clear: &[(usize, &Pitch)]) -> Vec<usize> {
    let near = |centre: usize| -> Vec<usize> {
        (0..clear.len())
            .filter(|&k| {
                (clear[k].1.frequency_hz / clear[centre].1.frequency_hz)
                    .ln()
                    .abs()
                    < AGREE
            })
            .collect()
    };
    // The first of equally good groups, so that the order of plucks alone decides.
    (0..clear.len())
        .map(near)
        .reduce(|best, next| {
            if evidence(clear, &next) > evidence(clear, &best) {
                next
            } else {
                best
            }
        })
        .unwrap_or_default()
}

struct Together {
    frequency_hz: f64,
    noise_hz: f64,
    spread_hz: f64,
    stiffness: f64,
    stiffness_sigma: f64,
}

impl Together {
    fn of(pitches: &[&Pitch]) -> Self {
        let n = pitches.len() as f64;
        let middle = pitches.iter().map(|p| p.frequency_hz).sum::<f64>() / n;
        let squares: f64 = pitches.iter().map(|p| (p.frequency_hz - middle).powi(2)).sum();
        // A spread from few plucks is itself uncertain: what is usual counts as some plucks more.
        let usual = (USUAL_SPREAD * middle).powi(2);
        let variance = (squares + USUAL_WORTH * usual) / (n - 1.0 + USUAL_WORTH);
        // A sharp pluck counts for more than a blunt one, and none for more than the spread allows.
        let shares = shares(pitches.iter().map(|p| 1.0 / (p.sigma_hz.powi(2) + variance)));
        let sum = |of: &dyn Fn(&Pitch) -> f64| -> f64 {
            pitches.iter().zip(&shares).map(|(p, share)| share * of(p)).sum()
        };
        let together = |of: &dyn Fn(&Pitch) -> f64| -> f64 {
            pitches
                .iter()
                .zip(&shares)
                .map(|(p, share)| (share * of(p)).powi(2))
                .sum::<f64>()
                .sqrt()
        };
        let weight = |p: &&Pitch| 1.0 / p.stiffness_sigma.powi(2).max(1e-12);
        let weights: f64 = pitches.iter().map(weight).sum();
        Self {
            frequency_hz: sum(&|p| p.frequency_hz),
            noise_hz: together(&|p| p.sigma_hz),
            spread_hz: together(&|_| variance.sqrt()),
            stiffness: pitches.iter().map(|p| weight(p) * p.stiffness).sum::<f64>() / weights,
            stiffness_sigma: weights.sqrt().recip(),
        }
    }
}

/// Weights as shares of their sum.
fn shares(weights: impl Iterator<Item = f64>) -> Vec<f64> {
    let weights: Vec<f64> = weights.collect();
    let sum: f64 = weights.iter().sum();
    weights.into_iter().map(|weight| weight / sum).collect()
}

fn count(plucks: usize) -> Phrase {
    match plucks {
        1 => say!("one pluck"),
        n => say!("{n} plucks, of which none is clear,"),
    }
}

fn listed(frequencies_hz: &[f64]) -> String {
    let list: Vec<String> = frequencies_hz.iter().map(|f| format!("{f:.1}")).collect();
    format!("{} Hz", list.join(", "))
}

/// The commonest kind of reason in words, with the numbers of its first pluck.
fn reasons(plucks: &[Pluck]) -> Phrase {
    let unclear = |pluck: &Pluck| pluck.heard.as_ref().err().copied();
    let first = plucks
        .iter()
        .filter_map(unclear)
        .max_by_key(|reason| match reason {
            Unclear::NoRing => 0,
            Unclear::Faint => 1,
            Unclear::Blunt { .. } => 2,
            Unclear::TwoSounds { .. } => 3,
            Unclear::Either { .. } => 4,
        });
    match first {
        None | Some(Unclear::NoRing) => say!("nothing rings after it"),
        Some(Unclear::Faint) => say!("it is too faint over the noise"),
        Some(Unclear::Blunt {
            frequency_hz,
            sigma_hz,
        }) => {
            say!(
                "near {frequency_hz:.0} Hz it dies away too fast to be told better than {:.1} Hz",
                1.96 * sigma_hz
            )
        }
        Some(Unclear::TwoSounds { string_hz, other_hz }) => {
            say!("beside {string_hz:.0} Hz another sound at {other_hz:.0} Hz is as loud")
        }
        Some(Unclear::Either { first_hz, second_hz }) => {
            say!("it may be {first_hz:.0} Hz or {second_hz:.0} Hz")
        }
    }
}
