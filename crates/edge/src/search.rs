//! Which edge is meant: looks for a smooth edge within some pixels of a rough guess.

use crate::{EdgeGuess, Strip};
use shimwright_geom::GreyPicture;
use std::sync::OnceLock;

/// How to search.
#[derive(Clone, Copy, Debug)]
pub struct SearchOptions {
    /// How far from the guess the edge may lie, px.
    pub reach: f64,
    /// How far a mark is usually off, px (standard deviation): nearer edges are preferred.
    pub usual: f64,
    /// Number of places along the edge that are moved on their own: 2 for a straight edge, 3 for a curved one.
    pub knots: usize,
    /// The most hypotheses to return.
    pub most: usize,
}

/// A place where a smooth edge was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Hypothesis {
    /// Offset from the guess at each knot, px along `side`.
    pub offsets: Vec<f64>,
    /// Mean step of encoded brightness across the edge (0..=1 scale), signed along `side`.
    pub step: f64,
    /// Step weighted by nearness to the guess; larger is better.
    pub score: f64,
}

impl Hypothesis {
    /// Offset at a share 0..=1 of the way along the edge: straight between two knots, a parabola through three.
    pub fn offset(&self, share: f64) -> f64 {
        match self.offsets[..] {
            [a, b] => a + (b - a) * share,
            [a, b, c] => {
                let (x, y, z) = (
                    (1.0 - share) * (1.0 - 2.0 * share),
                    4.0 * share * (1.0 - share),
                    share * (2.0 * share - 1.0),
                );
                a * x + b * y + c * z
            }
            _ => self.offsets.first().copied().unwrap_or(0.0),
        }
    }
}

/// Distance between offsets that are tried, px.
const GRID: f64 = 1.0;
/// Sampling of edge responses across, px.
const FINE: f64 = 0.5;
/// Width of each side that is averaged for the step, px.
const SIDE: f64 = 2.5;

/// Entries of the table of encoded brightness.
const ENCODED_STEPS: usize = 1024;

/// Encoded brightness of linear light 0..=1, to 1e-4: its power 1/2.2, tabled over its square root, with which it goes
/// nearly straight.
fn encoded(linear: f64) -> f64 {
    static TABLE: OnceLock<Vec<f64>> = OnceLock::new();
    let table = TABLE.get_or_init(|| {
        let value = |i: usize| (i as f64 / ENCODED_STEPS as f64).powf(2.0 / 2.2);
        (0..=ENCODED_STEPS + 1).map(value).collect()
    });
    let at = linear.clamp(0.0, 1.0).sqrt() * ENCODED_STEPS as f64;
    let i = at as usize;
    table[i] + (table[i + 1] - table[i]) * (at - i as f64)
}

/// How the encoded brightness steps across a guess, for every offset within reach.
#[derive(Clone, Debug)]
pub struct StepProfile {
    reach: f64,
    values: Vec<f32>,
}

impl StepProfile {
    /// Measures the steps within `reach` px of a guess. `None` when the strip leaves the picture.
    pub fn measure(picture: &GreyPicture, guess: &EdgeGuess, reach: f64) -> Option<Self> {
        let far = reach + SIDE + 1.0;
        let strip = Strip::collect(picture, guess, -far, far)?;
        // Encoded brightness: an edge in the dark counts as much as one in the light.
        let points: Vec<(f64, f64, f64)> = strip
            .bins
            .iter()
            .map(|b| (b.across, encoded(b.value), b.count))
            .collect();
        let mean = |from: f64, to: f64| {
            let (mut sum, mut count) = (0.0, 0.0);
            let start = points.partition_point(|p| p.0 < from);
            for p in points[start..].iter().take_while(|p| p.0 < to) {
                sum += p.1 * p.2;
                count += p.2;
            }
            if count > 0.0 { sum / count } else { f64::NAN }
        };
        let count = (2.0 * (reach + 0.5) / FINE).round() as i32;
        let values = (0..=count)
            .map(|i| {
                let at = -(reach + 0.5) + FINE * f64::from(i);
                (mean(at + 0.5, at + 0.5 + SIDE) - mean(at - 0.5 - SIDE, at - 0.5)) as f32
            })
            .collect();
        Some(Self { reach, values })
    }

    /// The step at an offset (px along `side`), signed; `None` out of reach or where nothing could be measured.
    pub fn at(&self, offset: f64) -> Option<f64> {
        if !(offset.abs() <= self.reach) {
            return None;
        }
        let value = f64::from(self.values[((offset + self.reach + 0.5) / FINE).round() as usize]);
        (!value.is_nan()).then_some(value)
    }

    /// The offsets at which the step is largest in its neighbourhood, each with how far it stands above that
    /// neighbourhood: slow changes of light step everywhere and stand out nowhere.
    pub fn ridges(&self) -> Vec<Ridge> {
        let size = |i: usize| f64::from(self.values[i].abs());
        let near = (1.5 / FINE) as usize;
        let far = (3.5 / FINE) as usize;
        (near..self.values.len().saturating_sub(near))
            .filter(|&i| (i - near..=i + near).all(|j| size(j) <= size(i) || self.values[j].is_nan()))
            .filter_map(|i| {
                let around = [i.checked_sub(far), Some(i + far)].into_iter().flatten();
                let around: Vec<f64> = around.filter(|&j| j < self.values.len()).map(size).collect();
                let base = around.iter().sum::<f64>() / around.len().max(1) as f64;
                let height = size(i) - base;
                (height > 0.0).then(|| Ridge {
                    offset: -(self.reach + 0.5) + FINE * i as f64,
                    height,
                })
            })
            .collect()
    }
}

/// A place across a guess where the brightness steps more than beside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ridge {
    /// Where, px along `side`.
    pub offset: f64,
    /// How much more than beside it, encoded brightness 0..=1.
    pub height: f64,
}

/// Searches along the guesses (in order along the edge, evenly spaced); best first. Guesses that leave the picture
/// are left out of the score.
pub fn search(picture: &GreyPicture, guesses: &[EdgeGuess], options: &SearchOptions) -> Vec<Hypothesis> {
    let responses: Vec<_> = guesses
        .iter()
        .map(|guess| StepProfile::measure(picture, guess, options.reach))
        .collect();
    if responses.iter().filter(|r| r.is_some()).count() < 3 {
        return Vec::new();
    }
    let steps = (options.reach / GRID).floor() as i32;
    let mut found = Vec::new();
    let mut offsets = vec![0i32; options.knots];
    each_combination(&mut offsets, 0, steps, &mut |offsets| {
        let hypothesis = Hypothesis {
            offsets: offsets.iter().map(|&k| f64::from(k) * GRID).collect(),
            step: 0.0,
            score: 0.0,
        };
        if bends_too_much(&hypothesis.offsets, options.reach) {
            return;
        }
        if let Some(scored) = score(hypothesis, &responses, options) {
            found.push(scored);
        }
    });
    found.sort_by(|a, b| b.score.total_cmp(&a.score));
    distinct(found, options.most)
}

fn each_combination(offsets: &mut Vec<i32>, knot: usize, steps: i32, visit: &mut impl FnMut(&[i32])) {
    if knot == offsets.len() {
        visit(offsets);
        return;
    }
    for k in -steps..=steps {
        offsets[knot] = k;
        each_combination(offsets, knot + 1, steps, visit);
    }
}

/// A mark that is off bends a curve by no more than it is off.
fn bends_too_much(offsets: &[f64], reach: f64) -> bool {
    matches!(offsets, [a, b, c] if (a + c - 2.0 * b).abs() > 1.5 * reach)
}

fn score(
    mut hypothesis: Hypothesis,
    responses: &[Option<StepProfile>],
    options: &SearchOptions,
) -> Option<Hypothesis> {
    let last = (responses.len() - 1).max(1) as f64;
    let (mut sum, mut count, mut away) = (0.0f64, 0.0f64, 0.0f64);
    let mut positive = 0.0;
    for (i, response) in responses.iter().enumerate() {
        let Some(profile) = response else { continue };
        let offset = hypothesis.offset(i as f64 / last);
        if offset.abs() > options.reach {
            return None;
        }
        let Some(value) = profile.at(offset) else { continue };
        // A single glaring place must not carry the rest.
        sum += value.clamp(-0.25, 0.25);
        positive += f64::from(value > 0.0);
        count += 1.0;
        away += offset * offset;
    }
    if count < 3.0 {
        return None;
    }
    hypothesis.step = sum / count;
    let agreement = (2.0 * positive / count - 1.0).abs();
    let nearness = (-0.5 * away / count / (options.usual * options.usual)).exp();
    hypothesis.score = hypothesis.step.abs() * agreement * nearness;
    Some(hypothesis)
}

/// Keeps the best of each bundle of nearly equal hypotheses.
fn distinct(sorted: Vec<Hypothesis>, most: usize) -> Vec<Hypothesis> {
    let mut kept: Vec<Hypothesis> = Vec::new();
    for hypothesis in sorted {
        let near = |other: &Hypothesis| {
            hypothesis
                .offsets
                .iter()
                .zip(&other.offsets)
                .all(|(a, b)| (a - b).abs() <= 2.5)
        };
        if !kept.iter().any(near) {
            kept.push(hypothesis);
            if kept.len() == most {
                break;
            }
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_of_encoded_light_agrees() {
        for i in 0..=10_000 {
            let linear = f64::from(i) / 10_000.0;
            assert!(
                (encoded(linear) - linear.powf(1.0 / 2.2)).abs() < 1e-4,
                "{linear}"
            );
        }
        assert_eq!((encoded(-0.1), encoded(7.0)), (0.0, 1.0));
    }
}
