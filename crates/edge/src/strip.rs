//! Pixels beside a guessed edge, sorted by their distance across it.

use shimwright_geom::{GreyPicture, Vec2, linear_light};

/// Where an edge is thought to run over a short length.
#[derive(Clone, Copy, Debug)]
pub struct EdgeGuess {
    /// A point of it, px.
    pub at: Vec2,
    /// Unit vector across it, px. Distances across are positive this way.
    pub side: Vec2,
    /// Curvature, 1/px: positive when the edge bends towards `side`.
    pub curvature: f64,
    /// Length along it to look at, px.
    pub length: f64,
}

/// Pixels with nearly the same distance across an edge.
#[derive(Clone, Copy, Debug)]
pub struct Bin {
    /// Their mean distance across, px.
    pub across: f64,
    /// Their mean value: linear light 0..=1.
    pub value: f64,
    /// Their number, each counting by its window.
    pub count: f64,
    /// Variance of their values.
    pub variance: f64,
}

/// The pixels beside a guessed edge, in bins across it. Raw pixels, not interpolated ones: interpolation would blur
/// the edge by an amount that depends on its sub-pixel place.
#[derive(Clone, Debug)]
pub struct Strip {
    /// Bins in order of distance; empty ones are left out.
    pub bins: Vec<Bin>,
}

/// Width of a bin, px.
const BIN: f64 = 0.25;
/// A bin with less than this in it says nothing.
const LEAST_COUNT: f64 = 0.05;
/// A turn of the light by this share of the edge's own step is another feature.
const TURN_SHARE: f64 = 0.06;

impl Strip {
    /// Collects pixels from `from` to `to` px across the guess. `None` when the strip leaves the picture.
    pub fn collect(picture: &GreyPicture, guess: &EdgeGuess, from: f64, to: f64) -> Option<Self> {
        Self::gather(picture, guess, from, to, |_| 1.0)
    }

    /// As [`Strip::collect`], pixels counting less and less towards the ends of the length (by a raised cosine).
    /// Strips that begin in the middle of each other then count every pixel once in all, and a strip moved a little
    /// says nearly the same.
    pub fn collect_windowed(picture: &GreyPicture, guess: &EdgeGuess, from: f64, to: f64) -> Option<Self> {
        let half = guess.length / 2.0;
        Self::gather(picture, guess, from, to, |along| {
            0.5 * (1.0 + (std::f64::consts::PI * along / half).cos())
        })
    }

    fn gather(
        picture: &GreyPicture,
        guess: &EdgeGuess,
        from: f64,
        to: f64,
        window: impl Fn(f64) -> f64,
    ) -> Option<Self> {
        let along = Vec2::new(-guess.side.y, guess.side.x);
        let half = guess.length / 2.0;
        let corners = [(from, -half), (from, half), (to, -half), (to, half)]
            .map(|(d, l)| guess.at + guess.side * d + along * l);
        if corners.iter().any(|c| !picture.contains(c.x, c.y, 1.0)) {
            return None;
        }
        let min = corners.iter().fold(corners[0], |a, b| a.inf(b));
        let max = corners.iter().fold(corners[0], |a, b| a.sup(b));
        let count = ((to - from) / BIN).ceil() as usize;
        let mut sums = vec![[0.0f64; 4]; count];
        let lut = linear_light();
        for y in min.y.floor() as usize..=max.y.ceil() as usize {
            let row = picture.row(y);
            let dy = y as f64 - guess.at.y;
            let (first, last) = row_part(guess, &along, dy, (from, to, half));
            for x in first.max(min.x).floor() as usize..=last.min(max.x).ceil().max(0.0) as usize {
                let dx = x as f64 - guess.at.x;
                let l = dx * along.x + dy * along.y;
                if l.abs() > half {
                    continue;
                }
                let d = dx * guess.side.x + dy * guess.side.y - 0.5 * guess.curvature * l * l;
                if d < from || d >= to {
                    continue;
                }
                let slot = &mut sums[(((d - from) / BIN) as usize).min(count - 1)];
                let value = f64::from(lut[row[x] as usize]);
                let weight = window(l);
                slot[0] += weight;
                slot[1] += weight * d;
                slot[2] += weight * value;
                slot[3] += weight * value * value;
            }
        }
        let bins = sums
            .iter()
            .filter(|s| s[0] > LEAST_COUNT)
            .map(|s| {
                let value = s[2] / s[0];
                let variance = if s[0] > 1.0 {
                    (s[3] / s[0] - value * value).max(0.0)
                } else {
                    f64::NAN
                };
                Bin {
                    across: s[1] / s[0],
                    value,
                    count: s[0],
                    variance,
                }
            })
            .collect();
        Some(Self { bins })
    }

    /// The strip without what lies beyond a neighbouring feature. From the edge's own core (`from` to `to`) outward
    /// the light should settle; where it turns back instead, a groove, a highlight or another edge begins, and the
    /// strip is cut at the turn.
    pub fn trimmed(&self, from: f64, to: f64) -> Self {
        let core: Vec<&Bin> = self
            .bins
            .iter()
            .filter(|b| b.across >= from && b.across <= to)
            .collect();
        let (low, high) = core.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), b| {
            (l.min(b.value), h.max(b.value))
        });
        let limit = |bin: &Bin| {
            let noise = if bin.variance.is_finite() {
                (bin.variance / bin.count).sqrt()
            } else {
                0.0
            };
            (TURN_SHARE * (high - low)).max(4.0 * noise)
        };
        let outward = |bins: &mut dyn Iterator<Item = &Bin>, start: f64, sign: f64| {
            let mut cut = f64::INFINITY;
            let (mut trend, mut first, mut best): (f64, Option<f64>, Option<(f64, f64)>) = (0.0, None, None);
            for bin in bins {
                let away = sign * (bin.across - start);
                let Some(begin) = first else {
                    first = Some(bin.value);
                    best = Some((bin.value, away));
                    continue;
                };
                if trend == 0.0 && (bin.value - begin).abs() > limit(bin) {
                    trend = (bin.value - begin).signum();
                }
                let Some((value, at)) = best else { continue };
                if trend == 0.0 || (bin.value - value) * trend > 0.0 {
                    best = Some((bin.value, away));
                } else if (value - bin.value) * trend > limit(bin) {
                    cut = at;
                    break;
                }
            }
            start + sign * cut
        };
        let last = outward(&mut self.bins.iter().filter(|b| b.across > to), to, 1.0);
        let first = outward(
            &mut self.bins.iter().rev().filter(|b| b.across < from),
            from,
            -1.0,
        );
        let bins = self
            .bins
            .iter()
            .filter(|b| b.across >= first && b.across <= last)
            .copied()
            .collect();
        Self { bins }
    }
}

/// From where to where the pixels of a row may lie in a strip, px; the row runs `dy` below the guess, the strip from
/// `from` to `to` across it and `half` to either side along it.
fn row_part(guess: &EdgeGuess, along: &Vec2, dy: f64, (from, to, half): (f64, f64, f64)) -> (f64, f64) {
    let sag = 0.5 * guess.curvature.abs() * half * half;
    let bands = [
        (along.x, dy * along.y, -half, half),
        (guess.side.x, dy * guess.side.y, from - sag, to + sag),
    ];
    let mut part = (f64::NEG_INFINITY, f64::INFINITY);
    for (slope, base, low, high) in bands {
        // A band that runs along the row takes all of it or nothing, which its pixels tell.
        if slope.abs() > 1e-6 {
            let (a, b) = ((low - base) / slope, (high - base) / slope);
            part = (part.0.max(a.min(b)), part.1.min(a.max(b)));
        }
    }
    (guess.at.x + part.0, guess.at.x + part.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bins_keep_every_pixel_once() {
        let picture = GreyPicture::new(60, 60, vec![128; 3600]).unwrap();
        let guess = EdgeGuess {
            at: Vec2::new(30.3, 29.6),
            side: Vec2::new(0.8, 0.6),
            curvature: 0.0,
            length: 20.0,
        };
        let strip = Strip::collect(&picture, &guess, -6.0, 6.0).unwrap();
        let pixels: f64 = strip.bins.iter().map(|b| b.count).sum();
        assert!((pixels - 240.0).abs() < 20.0, "{pixels}");
        assert!(strip.bins.iter().all(|b| (b.value - 0.2158).abs() < 1e-3));
    }

    #[test]
    fn a_strip_over_the_border_is_refused() {
        let picture = GreyPicture::new(60, 60, vec![128; 3600]).unwrap();
        let guess = EdgeGuess {
            at: Vec2::new(3.0, 30.0),
            side: Vec2::new(1.0, 0.0),
            curvature: 0.0,
            length: 20.0,
        };
        assert!(Strip::collect(&picture, &guess, -6.0, 6.0).is_none());
    }
}
