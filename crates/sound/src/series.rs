//! Which partials belong to one stiff string, and which of them is its fundamental.
//!
//! A string's partials lie at f_n = n f0 sqrt(1 + B n^2). Each guess (f0, B) is scored by how much likelier it makes
//! the partials heard than chance does: a partial where one is due counts for it; one that is due and not heard, while
//! higher ones are, counts against it, the more the louder it should have been. That keeps a guess an octave too low
//! (it misses every second partial) and one an octave too high (it leaves partials unexplained) from winning.

use crate::ring::{LEAST_STRENGTH, Partial};
use std::f64::consts::TAU;

/// Inharmonicities to start from; the fit goes on from there.
const STIFFNESSES: [f64; 6] = [0.0, 1e-4, 4e-4, 1.2e-3, 4e-3, 1.2e-2];
/// Standard deviation of B before anything is heard: covers every belt span that still sounds like a string.
const STIFFNESS_PRIOR: f64 = 0.006;
/// Highest partial number looked for.
const MOST_NUMBER: u32 = 12;
/// So many partials missing in a row end a string.
const LONGEST_SILENCE: u32 = 4;
/// Partials that are tried as members, loudest first.
const ANCHORS: usize = 4;
/// Two guesses are the same when their fundamentals differ by less than this (logarithm).
const SAME: f64 = 0.03;
/// Different guesses that are weighed against each other.
const MOST_STRINGS: usize = 8;
/// How exactly a real string keeps to the formula, as a share of the frequency (standard deviation).
const FORM: f64 = 0.003;
/// The same for the fundamental, which is the pitch itself: what is left is that it falls a little while it rings.
const FORM_OF_FIRST: f64 = 0.001;
/// Partials that belong to nothing, per Hz.
const CLUTTER_PER_HZ: f64 = 0.004;
/// Amplitudes of partials fall about as 1/n; standard deviation of their logarithm about that.
const AMPLITUDE_SPREAD: f64 = 1.1;
/// The same for partials that belong to nothing.
const CLUTTER_SPREAD: f64 = 2.5;
/// Chance that a partial is missing because the pluck or the microphone sat at its node.
const NODE_CHANCE: f64 = 0.15;
/// Chance that the fundamental is missing. No pluck within the span leaves it out, only a microphone that hears no bass.
const NO_FUNDAMENTAL: f64 = 0.015;
const NO_BASS: f64 = 0.08;
/// Counts against a guess of which only every second (third, ...) partial is heard: no one pluck leaves out all the
/// others, and a string higher by that factor says the same with less.
const ONLY_MULTIPLES: f64 = 3.0;
/// Below this a telephone's microphone may not hear, Hz.
pub(crate) const BASS_HZ: f64 = 70.0;

/// A string heard in a pluck.
#[derive(Clone, Debug)]
pub(crate) struct Series {
    /// Frequency of an ideal string of that tension, Hz.
    pub ideal_hz: f64,
    pub stiffness: f64,
    /// Covariance of ln f0 and B.
    pub covariance: [[f64; 2]; 2],
    /// Partial numbers with the place of the partial.
    pub members: Vec<(u32, usize)>,
    /// Logarithm of how much likelier it makes what was heard than chance does.
    pub score: f64,
    /// The same of the best string among the partials that it leaves.
    pub others: f64,
}

impl Series {
    /// Logarithm of how much likelier than chance everything heard is, with this string and what rings along.
    pub fn total(&self) -> f64 {
        self.score + self.others
    }

    /// Whether its members say which partials they are: the fundamental, or two neighbours, whose distance is the
    /// fundamental. Numbers with gaps between them fit a string of another pitch as well.
    pub fn is_anchored(&self) -> bool {
        let has = |number: u32| self.members.iter().any(|member| member.0 == number);
        has(1) || self.members.iter().any(|member| has(member.0 + 1))
    }

    /// Frequency of partial `n`, Hz.
    pub fn partial_hz(&self, n: u32) -> f64 {
        partial_hz(self.ideal_hz, self.stiffness, n)
    }

    /// Standard deviation of the fundamental, as a share of it.
    pub fn sigma(&self) -> f64 {
        let slope = 0.5 / (1.0 + self.stiffness);
        let [[ff, fb], [_, bb]] = self.covariance;
        (ff + 2.0 * slope * fb + slope * slope * bb).max(0.0).sqrt()
    }
}

fn partial_hz(ideal_hz: f64, stiffness: f64, n: u32) -> f64 {
    let n = f64::from(n);
    n * ideal_hz * (1.0 + stiffness * n * n).sqrt()
}

/// What the partials were heard in.
pub(crate) struct Hearing<'a> {
    pub partials: &'a [Partial],
    /// Fundamentals that are looked for, Hz.
    pub range_hz: [f64; 2],
    pub highest_hz: f64,
    /// Noise density at a frequency.
    pub floor: &'a dyn Fn(f64) -> f64,
    pub rate_hz: f64,
}

impl Hearing<'_> {
    /// The guesses that hold the loudest partial, best first; of guesses that are nearly the same, the best one only.
    ///
    /// A second string may ring along, so each guess is credited with the best string among the partials that it
    /// leaves: one string that takes some partials of another is worse than two that take their own.
    pub fn strings(&self) -> Vec<Series> {
        let Some(loudest) = self.by_amplitude().first().copied() else {
            return Vec::new();
        };
        let mut apart: Vec<Series> = Vec::new();
        for guess in self.guesses() {
            let holds = guess.members.iter().any(|member| member.1 == loudest);
            let new = |other: &Series| (other.partial_hz(1) / guess.partial_hz(1)).ln().abs() > SAME;
            if holds && apart.iter().all(new) {
                apart.push(guess);
            }
            if apart.len() == MOST_STRINGS {
                break;
            }
        }
        for guess in &mut apart {
            guess.others = self.left_by(guess);
        }
        apart.sort_by(|a, b| b.total().total_cmp(&a.total()));
        apart
    }

    /// Score of the best string among the partials that a guess leaves.
    fn left_by(&self, guess: &Series) -> f64 {
        let left: Vec<Partial> = (0..self.partials.len())
            .filter(|&k| guess.members.iter().all(|member| member.1 != k))
            .map(|k| self.partials[k])
            .collect();
        let others = Hearing {
            partials: &left,
            ..*self
        };
        others.guesses().first().map_or(0.0, |other| other.score.max(0.0))
    }

    fn by_amplitude(&self) -> Vec<usize> {
        let mut loudest: Vec<usize> = (0..self.partials.len()).collect();
        loudest.sort_by(|&a, &b| self.partials[b].amplitude.total_cmp(&self.partials[a].amplitude));
        loudest
    }

    /// Guesses grown from the loudest partials, best first.
    fn guesses(&self) -> Vec<Series> {
        let loudest = self.by_amplitude();
        let mut guesses: Vec<Series> = Vec::new();
        for &anchor in loudest.iter().take(ANCHORS) {
            for number in 1..=MOST_NUMBER {
                for start in STIFFNESSES {
                    let ideal = self.partials[anchor].frequency_hz / partial_hz(1.0, start, number);
                    guesses.extend(self.grown(ideal, start));
                }
            }
        }
        guesses.sort_by(|a, b| b.score.total_cmp(&a.score));
        guesses
    }

    /// Members for a first guess, fitted, found again with the fit, and scored.
    fn grown(&self, ideal_hz: f64, stiffness: f64) -> Option<Series> {
        let mut series = Series {
            ideal_hz,
            stiffness,
            covariance: [[0.0; 2]; 2],
            members: self.members(ideal_hz, stiffness, 2.0),
            score: 0.0,
            others: 0.0,
        };
        for _ in 0..2 {
            self.fit(&mut series)?;
            series.members = self.members(series.ideal_hz, series.stiffness, 1.0);
        }
        self.fit(&mut series)?;
        let fundamental = series.partial_hz(1);
        if !(fundamental >= self.range_hz[0] && fundamental <= self.range_hz[1]) {
            return None;
        }
        series.score = self.score(&series);
        Some(series)
    }

    /// Standard deviation with which partial `k` may miss its place, Hz.
    fn spread_hz(&self, k: usize) -> f64 {
        let partial = &self.partials[k];
        partial.sigma_hz.hypot(FORM * partial.frequency_hz)
    }

    /// For each number the strongest partial that is not too far; `wide` times three standard deviations.
    fn members(&self, ideal_hz: f64, stiffness: f64, wide: f64) -> Vec<(u32, usize)> {
        let mut members: Vec<(u32, usize)> = Vec::new();
        for n in 1..=MOST_NUMBER {
            let due = partial_hz(ideal_hz, stiffness, n);
            let miss = |k: usize| (self.partials[k].frequency_hz - due).abs() / self.spread_hz(k);
            let strongest = (0..self.partials.len())
                .filter(|&k| miss(k) < 3.0 * wide && members.iter().all(|member| member.1 != k))
                .max_by(|&a, &b| self.partials[a].strength.total_cmp(&self.partials[b].strength));
            members.extend(strongest.map(|k| (n, k)));
            // What lies beyond a long silence is there by chance, and high numbers would bend the fit most.
            let heard = members.last().map_or(0, |member| member.0);
            if heard > 0 && n - heard >= LONGEST_SILENCE {
                break;
            }
        }
        members
    }

    /// Weighted least squares for ln f0 and B, with the prior on B.
    fn fit(&self, series: &mut Series) -> Option<()> {
        if series.members.is_empty() {
            return None;
        }
        for _ in 0..3 {
            let b = series.stiffness;
            let (mut ff, mut fb, mut bb) = (0.0, 0.0, STIFFNESS_PRIOR.powi(-2));
            let (mut rf, mut rb) = (0.0, -b * STIFFNESS_PRIOR.powi(-2));
            for &(n, k) in &series.members {
                let heard = self.partials[k].frequency_hz;
                let form = if n == 1 { FORM_OF_FIRST } else { FORM };
                let weight = (heard / self.partials[k].sigma_hz.hypot(form * heard)).powi(2);
                let miss = (heard / series.partial_hz(n)).ln();
                let n2 = f64::from(n * n);
                let slope = 0.5 * n2 / (1.0 + b * n2);
                ff += weight;
                fb += weight * slope;
                bb += weight * slope * slope;
                rf += weight * miss;
                rb += weight * slope * miss;
            }
            let determinant = ff * bb - fb * fb;
            series.ideal_hz *= ((bb * rf - fb * rb) / determinant).clamp(-0.1, 0.1).exp();
            series.stiffness = (b + (ff * rb - fb * rf) / determinant).clamp(0.0, 0.03);
            series.covariance = [
                [bb / determinant, -fb / determinant],
                [-fb / determinant, ff / determinant],
            ];
        }
        Some(())
    }

    fn score(&self, series: &Series) -> f64 {
        let level = self.level(series);
        let decay = self.decay(series);
        let last = series.members.last().map_or(0, |member| member.0);
        // A soft finger and soft rubber leave out every partial above some number. Nobody knows which, so each is as likely.
        let (mut heard, mut missing, mut likelihood) = (0.0, 0.0, 0.0);
        for n in 1..=MOST_NUMBER {
            let due_hz = series.partial_hz(n);
            let log_amplitude = level - f64::from(n).ln();
            match series.members.iter().find(|member| member.0 == n) {
                Some(&(_, k)) => heard += self.for_it(k, due_hz, log_amplitude),
                None if due_hz > self.highest_hz => {}
                None => missing += self.against_it(n, due_hz, log_amplitude, decay),
            }
            if n >= last {
                likelihood += f64::exp(missing) / f64::from(MOST_NUMBER);
            }
        }
        heard + likelihood.ln()
            - 0.5 * (series.stiffness / STIFFNESS_PRIOR).powi(2)
            - if common_divisor(series) > 1 {
                ONLY_MULTIPLES
            } else {
                0.0
            }
    }

    /// Logarithm of the amplitude of the fundamental that the members together speak for.
    fn level(&self, series: &Series) -> f64 {
        let sum: f64 = series
            .members
            .iter()
            .map(|&(n, k)| self.partials[k].amplitude.ln() + f64::from(n).ln())
            .sum();
        sum / series.members.len() as f64
    }

    fn decay(&self, series: &Series) -> f64 {
        let sum: f64 = series
            .members
            .iter()
            .map(|&(_, k)| self.partials[k].decay.ln())
            .sum();
        (sum / series.members.len() as f64).exp()
    }

    /// A partial heard at its place: how much denser the string makes partials there than chance.
    fn for_it(&self, k: usize, due_hz: f64, log_amplitude: f64) -> f64 {
        let spread = self.spread_hz(k);
        let miss = (self.partials[k].frequency_hz - due_hz) / spread;
        let density = (-0.5 * miss * miss).exp() / (spread * TAU.sqrt());
        let louder = self.partials[k].amplitude.ln() - log_amplitude;
        let fits = -0.5 * (louder / AMPLITUDE_SPREAD).powi(2)
            + (CLUTTER_SPREAD / AMPLITUDE_SPREAD).ln()
            + 0.5 * (louder / CLUTTER_SPREAD).powi(2);
        (density / CLUTTER_PER_HZ).ln() + fits
    }

    /// A partial due and not heard: the chance of that.
    fn against_it(&self, n: u32, due_hz: f64, log_amplitude: f64, decay: f64) -> f64 {
        // Amplitude at which a partial of that decay reaches the least strength: E = A^2 / (8 g S / rate).
        let least = (8.0 * decay / self.rate_hz * LEAST_STRENGTH * (self.floor)(due_hz)).sqrt();
        let z = (least.ln() - log_amplitude) / AMPLITUDE_SPREAD;
        let absent = match n {
            1 if due_hz < BASS_HZ => NO_BASS,
            1 => NO_FUNDAMENTAL,
            _ => NODE_CHANCE,
        };
        (absent + (1.0 - absent) * logistic_normal(z)).ln()
    }
}

/// The largest number that divides the numbers of all members.
fn common_divisor(series: &Series) -> u32 {
    let divisor = |mut a: u32, mut b: u32| {
        while b > 0 {
            (a, b) = (b, a % b);
        }
        a
    };
    series
        .members
        .iter()
        .fold(0, |common, member| divisor(common, member.0))
}

/// The normal distribution function to about one percent, which is all that a score needs.
fn logistic_normal(z: f64) -> f64 {
    1.0 / (1.0 + (-1.702 * z).exp())
}
