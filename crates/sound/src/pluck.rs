//! One pluck: its fundamental, or why that is not clear.

use crate::floor::Floor;
use crate::fourier::Transform;
use crate::ring::{LEAST_STRENGTH, Partial, Ring, SAME_PLACE};
use crate::series::{BASS_HZ, Hearing, Series};
use crate::track::Track;

/// Longest piece looked at after a pluck, s.
const LONGEST_S: f64 = 0.75;
/// Shortest piece in which a span can be heard, s.
const SHORTEST_S: f64 = 0.06;
/// Steps in which the start is looked for, s.
const START_STEP_S: f64 = 0.007;
/// Number of those steps: as long as the frame in which the onset was seen.
const START_STEPS: usize = 8;
/// How long a finger takes to let go, s.
const FINGER_S: f64 = 0.002;
/// Fundamentals looked for, Hz.
pub(crate) const RANGE_HZ: [f64; 2] = [17.0, 480.0];
/// By how much (logarithm of likelihood) the best guess must lead a different one.
const LEAST_LEAD: f64 = 3.0;
/// Least strength of the members together.
const LEAST_TOGETHER: f64 = 45.0;
/// Least evidence (logarithm of likelihood against chance) for a string from one pluck.
const LEAST_EVIDENCE: f64 = 4.0;
/// Strengths of plucks spread over this range (logarithm): a factor of a million, from the faintest to the closest.
const LOUDNESS_RANGE: f64 = 14.0;
/// Partials that do not belong to the string may have this much of its power; with more it is not clear which string was
/// meant.
const OTHER_SOUNDS: f64 = 0.5;
/// The same where the evidence for the string is this strong, and where what remains makes no second string.
const OTHER_CLUTTER: f64 = 0.8;
const STRONG_EVIDENCE: f64 = 25.0;
const NO_STRING: f64 = 6.0;
/// So many partials that only a lower string has speak for it.
const HIDDEN: usize = 2;
/// Together they have at least this much of the power of the partials that were found, or they are another string that rings
/// along: a string's lowest partials are its loudest.
const HIDDEN_POWER: f64 = 0.25;
/// So many times the power of the odd partials is more than a pluck gives the even ones.
const EVEN_POWER: f64 = 2.0;
/// Largest standard deviation of one pluck's fundamental, as a share of it; several plucks together are sharper.
const LARGEST_SIGMA: f64 = 0.01;

/// Why a pluck is not clear.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Unclear {
    /// Nothing in it rings and dies away.
    NoRing,
    /// It rings too faintly over the noise.
    Faint,
    /// Two fundamentals explain it about equally well.
    Either {
        /// The likelier one, Hz.
        first_hz: f64,
        /// The other, Hz.
        second_hz: f64,
    },
    /// Two strings sound about equally loud, or a knock covers the string.
    TwoSounds {
        /// The string's fundamental, Hz.
        string_hz: f64,
        /// The partial that does not belong to it, Hz.
        other_hz: f64,
    },
    /// The pitch is not sharp enough: it died away too fast.
    Blunt {
        /// The fundamental, Hz.
        frequency_hz: f64,
        /// Its standard deviation, Hz.
        sigma_hz: f64,
    },
}

/// A pluck's pitch.
#[derive(Clone, Debug, PartialEq)]
pub struct Pitch {
    /// Fundamental, Hz.
    pub frequency_hz: f64,
    /// Its standard deviation from noise and from how well the partials keep to one string, Hz.
    pub sigma_hz: f64,
    /// Inharmonicity B of f_n = n f0 sqrt(1 + B n^2).
    pub stiffness: f64,
    /// Its standard deviation.
    pub stiffness_sigma: f64,
    /// Partial numbers that were heard.
    pub partials: Vec<u32>,
    /// Quality of the strongest: pi f over its decay in 1/s.
    pub quality: f64,
    /// Evidence for it: logarithm of how much likelier this string makes what was heard, and how loud, than chance does.
    pub evidence: f64,
}

/// What is needed to hear plucks of a track.
pub(crate) struct Ear<'a> {
    pub track: &'a Track,
    pub floor: &'a Floor,
    pub transform: Transform,
}

impl<'a> Ear<'a> {
    pub fn new(track: &'a Track, floor: &'a Floor) -> Self {
        Self {
            track,
            floor,
            transform: Transform::of_at_least(track.index(LONGEST_S) * 3 / 2),
        }
    }

    fn ring(&self, from: usize, until: usize) -> Ring<'_> {
        Ring {
            samples: &self.track.samples[from..until],
            rate_hz: self.track.rate_hz,
            floor: self.floor,
            band_hz: [RANGE_HZ[0] * 0.9, self.track.highest_hz()],
            transform: &self.transform,
        }
    }

    /// Where the ring begins that was seen in the frame from `onset`: where the strongest partial stands highest, and
    /// a little later, because the first moments are the finger's.
    fn start(&self, onset: usize, until: usize) -> usize {
        let step = self.track.index(START_STEP_S).max(4);
        let coarse = self.highest(onset, (0..=START_STEPS).map(|k| onset + k * step), until);
        let finer = (0..7).map(|k| (coarse + k * step / 4).saturating_sub(3 * step / 4));
        self.highest(coarse, finer, until) + self.track.index(FINGER_S)
    }

    fn highest(&self, otherwise: usize, starts: impl Iterator<Item = usize>, until: usize) -> usize {
        let mut best = (0.0, otherwise);
        for start in starts.filter(|start| start + self.track.index(SHORTEST_S) < until) {
            let strength = self.ring(start, self.end(start, until)).strongest();
            if strength > best.0 {
                best = (strength, start);
            }
        }
        best.1
    }

    fn end(&self, start: usize, until: usize) -> usize {
        until.min(start + self.track.index(LONGEST_S))
    }

    /// Hears the pluck seen at `onset`, not beyond `until`.
    pub fn hear(&self, onset: usize, until: usize) -> (usize, Result<Pitch, Unclear>) {
        let start = self.start(onset, until);
        let end = self.end(start, until);
        if end < start + self.track.index(SHORTEST_S) {
            return (start, Err(Unclear::NoRing));
        }
        let ring = self.ring(start, end);
        let (partials, residual) = ring.partials();
        (start, self.judge(&ring, &partials, &residual))
    }

    fn judge(&self, ring: &Ring, partials: &[Partial], residual: &[f64]) -> Result<Pitch, Unclear> {
        if partials.is_empty() {
            return Err(Unclear::NoRing);
        }
        let floor = |f: f64| self.floor.at(f);
        let hearing = Hearing {
            partials,
            range_hz: RANGE_HZ,
            highest_hz: self.track.highest_hz(),
            floor: &floor,
            rate_hz: self.track.rate_hz,
        };
        let strings = hearing.strings();
        let Some(best) = strings.first() else {
            return Err(Unclear::Faint);
        };
        let together: f64 = best
            .members
            .iter()
            .map(|member| partials[member.1].strength)
            .sum();
        let evidence = best.score + by_loudness(best, partials);
        if together < LEAST_TOGETHER || evidence < LEAST_EVIDENCE {
            return Err(Unclear::Faint);
        }
        let frequency_hz = best.partial_hz(1);
        let second = strings.get(1);
        if let Some(other) = second.filter(|other| best.total() - other.total() < LEAST_LEAD) {
            return Err(Unclear::Either {
                first_hz: frequency_hz,
                second_hz: other.partial_hz(1),
            });
        }
        if !best.is_anchored() {
            return Err(Unclear::Faint);
        }
        if let Some(second_hz) = hidden_below(ring, partials, residual, best) {
            return Err(Unclear::Either {
                first_hz: frequency_hz,
                second_hz,
            });
        }
        if frequency_hz > BASS_HZ && even_are_louder(partials, best) {
            return Err(Unclear::Either {
                first_hz: frequency_hz,
                second_hz: 2.0 * frequency_hz,
            });
        }
        no_other_string(partials, best)?;
        let sigma_hz = best.sigma() * frequency_hz;
        if best.sigma() > LARGEST_SIGMA {
            return Err(Unclear::Blunt {
                frequency_hz,
                sigma_hz,
            });
        }
        let strongest = best
            .members
            .iter()
            .map(|member| &partials[member.1])
            .max_by(|a, b| a.strength.total_cmp(&b.strength));
        Ok(Pitch {
            frequency_hz,
            sigma_hz,
            stiffness: best.stiffness,
            stiffness_sigma: best.covariance[1][1].max(0.0).sqrt(),
            partials: best.members.iter().map(|member| member.0).collect(),
            quality: strongest.map_or(0.0, Partial::quality),
            evidence,
        })
    }
}

/// Power of a partial at the start, up to a common factor: the string that was plucked begins loudest, while one that
/// only rings along may ring longer.
fn loudness(partial: &Partial) -> f64 {
    partial.amplitude.powi(2)
}

/// A fundamental of which the best one is a multiple, when partials ring that only it has: a string with many of them, or one
/// in a room that rumbles, may hide its lowest under the strongest that were looked for.
fn hidden_below(ring: &Ring, partials: &[Partial], residual: &[f64], best: &Series) -> Option<f64> {
    let own: Vec<&Partial> = best.members.iter().map(|member| &partials[member.1]).collect();
    let decay = own.first().map_or(1.0, |partial| partial.decay);
    let power: f64 = own.iter().map(|partial| loudness(partial)).sum();
    let rings = |hz: f64| {
        let there = |partial: &&Partial| (partial.frequency_hz / hz - 1.0).abs() < SAME_PLACE;
        let found = partials.iter().find(there).copied();
        found.or_else(|| ring.rings_at(residual, hz, decay))
    };
    [2, 3].into_iter().find_map(|divisor| {
        let lower_hz = best.partial_hz(1) / f64::from(divisor);
        let hidden: Vec<f64> = (1..2 * divisor)
            .filter(|number| number % divisor != 0)
            .filter_map(|number| rings(f64::from(number) * lower_hz))
            .map(|partial| loudness(&partial))
            .collect();
        let loud = hidden.iter().sum::<f64>() > HIDDEN_POWER * power;
        (lower_hz >= RANGE_HZ[0] && hidden.len() >= HIDDEN && loud).then_some(lower_hz)
    })
}

/// Whether the even partials have more power than a pluck gives them: they are then as well those of a string an octave higher,
/// beside another one. A pluck anywhere within a span gives the even ones no more than the odd ones, sum of (sin(pi n p) / n)^2.
fn even_are_louder(partials: &[Partial], best: &Series) -> bool {
    let power = |rest: u32| -> f64 {
        let members = best.members.iter().filter(|member| member.0 % 2 == rest);
        members.map(|member| loudness(&partials[member.1])).sum()
    };
    power(0) > EVEN_POWER * power(1)
}

/// Evidence from how loud the string's strongest partial is over the noise beside it.
///
/// A pluck may be faint or loud: every strength S is as likely in its logarithm. What chance makes reaches S with a
/// likelihood that is taken to fall as 1/S, which is slow: noise itself falls as exp(-S), steps and speech do not.
fn by_loudness(best: &Series, partials: &[Partial]) -> f64 {
    let strongest = best
        .members
        .iter()
        .map(|member| partials[member.1].strength)
        .fold(LEAST_STRENGTH, f64::max);
    (strongest / LEAST_STRENGTH).ln() - LOUDNESS_RANGE.ln()
}

fn no_other_string(partials: &[Partial], best: &Series) -> Result<(), Unclear> {
    let member = |k: usize| best.members.iter().any(|member| member.1 == k);
    let (own, others): (Vec<usize>, Vec<usize>) = (0..partials.len()).partition(|&k| member(k));
    let together = |which: &[usize]| which.iter().map(|&k| loudness(&partials[k])).sum::<f64>();
    let loudest = others
        .iter()
        .max_by(|&&a, &&b| loudness(&partials[a]).total_cmp(&loudness(&partials[b])));
    let allowed = if best.score > STRONG_EVIDENCE && best.others < NO_STRING {
        OTHER_CLUTTER
    } else {
        OTHER_SOUNDS
    };
    match loudest {
        Some(&other) if together(&others) > allowed * together(&own) => Err(Unclear::TwoSounds {
            string_hz: best.partial_hz(1),
            other_hz: partials[other].frequency_hz,
        }),
        _ => Ok(()),
    }
}
