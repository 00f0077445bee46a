//! All that the pixels of a piece of edge say, in one table: the cost of each place of the edge, under each share of
//! light that the chamfer may throw back, at each blur.

use crate::Strip;
use crate::band::{Band, FREE, Noise, add_level_priors};
use crate::sums::{Sums, Weighed};
use nalgebra::SVector;

/// Places and shares over which a table is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TableGrid {
    /// Largest distance of the edge's place from the guess, px.
    pub reach: f64,
    /// Distance between places, px.
    pub step: f64,
    /// Number of shares: multiples of `share_step` from zero.
    pub shares: usize,
    /// Distance between shares.
    pub share_step: f64,
    /// Whether the chamfer's light is a share of that beyond the band (positive side) and not of that before it.
    pub of_beyond: bool,
}

impl TableGrid {
    /// Number of places.
    pub fn places(&self) -> usize {
        (2.0 * self.reach / self.step).round() as usize + 1
    }
}

/// Chi-squared of a strip over blurs, places and shares, every level of light at its best.
#[derive(Clone, Debug)]
pub struct BandTable {
    /// Costs, share by share within place by place within blur by blur.
    pub cost: Vec<f32>,
    /// Degrees of freedom.
    pub freedom: f64,
}

/// Fills a table for a band `width` px wide. `None` when the strip does not determine its levels.
pub fn band_table(
    strip: &Strip,
    noise: &Noise,
    width: f64,
    blurs: &[f64],
    grid: &TableGrid,
) -> Option<BandTable> {
    let weighed = Weighed::new(strip, noise);
    let places = grid.places();
    let mut cost = Vec::with_capacity(blurs.len() * places * grid.shares);
    for &blur in blurs {
        let band = Band {
            width,
            blur,
            shade: None,
        };
        let first = cost.len();
        for i in 0..places {
            if i % 2 == 0 || i + 1 == places {
                let sums = Sums::at(&weighed, grid.step * i as f64 - grid.reach, &band);
                push_shares(&sums, grid, &mut cost)?;
            } else {
                // Filled in below: costs bend over the length of the blur, which is many steps.
                cost.resize(cost.len() + grid.shares, 0.0);
            }
        }
        fill_between(&mut cost[first..], grid.shares);
    }
    Some(BandTable {
        cost,
        freedom: (strip.bins.len() as f64 - 6.0).max(1.0),
    })
}

/// Costs of every second place from those beside it: by the cubic through two on either side, at the ends by the
/// parabola through the next three.
fn fill_between(cost: &mut [f32], shares: usize) {
    let places = cost.len() / shares;
    for i in (1..places.saturating_sub(1)).step_by(2) {
        for k in 0..shares {
            let at = |place: usize| cost[place * shares + k];
            let (before, after) = (at(i - 1), at(i + 1));
            let between = match (i.checked_sub(3).map(at), (i + 3 < places).then(|| at(i + 3))) {
                (Some(a), Some(d)) => (9.0 * (before + after) - a - d) / 16.0,
                (Some(a), None) => (3.0 * after + 6.0 * before - a) / 8.0,
                (None, Some(d)) => (3.0 * before + 6.0 * after - d) / 8.0,
                (None, None) => (before + after) / 2.0,
            };
            cost[i * shares + k] = between.max(0.0);
        }
    }
}

/// The costs of all shares at one place and blur. A share is one more row in the least squares, so its cost follows
/// from the solution without it (Sherman and Morrison's formula for a change of rank one).
fn push_shares(sums: &Sums, grid: &TableGrid, cost: &mut Vec<f32>) -> Option<()> {
    let mut normal = sums.normal;
    add_level_priors(&mut normal, sums.top, FREE, None);
    let factor = normal.cholesky()?;
    let levels = factor.solve(&sums.right);
    let least = sums.square - levels.dot(&sums.right);
    let neighbour = if grid.of_beyond { 2 } else { 0 };
    let unit = |k: usize| SVector::<f64, 5>::from_fn(|i, _| f64::from(u8::from(i == k)));
    let (of_band, of_neighbour) = (factor.solve(&unit(1)), factor.solve(&unit(neighbour)));
    let weight = 1.0 / (0.3 * grid.share_step * sums.top).powi(2);
    for k in 0..grid.shares {
        let share = grid.share_step * k as f64;
        let miss = levels[1] - share * levels[neighbour];
        let spread = of_band[1] - 2.0 * share * of_band[neighbour] + share * share * of_neighbour[neighbour];
        let extra = weight * miss * miss / (1.0 + weight * spread);
        cost.push((least + extra).max(0.0) as f32);
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Bin, Shade};

    /// The quick way agrees with solving for every share anew; where it goes between two places, to a hundredth.
    #[test]
    fn agrees_with_one_fit_a_share() {
        let strip = Strip {
            bins: (0..40)
                .map(|i| {
                    let across = f64::from(i) * 0.25 - 5.0;
                    Bin {
                        across,
                        value: 0.1 + 0.3 / (1.0 + (-2.0 * across).exp()) + 0.01 * (across * 3.0).sin(),
                        count: 5.0,
                        variance: 1e-5,
                    }
                })
                .collect(),
        };
        let noise = Noise::measure(&strip, 2.5).unwrap();
        let grid = TableGrid {
            reach: 1.0,
            step: 0.125,
            shares: 4,
            share_step: 0.3,
            of_beyond: true,
        };
        let table = band_table(&strip, &noise, 1.4, &[0.8], &grid).unwrap();
        let band = Band {
            width: 1.4,
            blur: 0.8,
            shade: None,
        };
        let weighed = Weighed::new(&strip, &noise);
        for place in 0..grid.places() {
            let sums = Sums::at(&weighed, grid.step * place as f64 - grid.reach, &band);
            let most = if place % 2 == 0 { 1e-3 } else { 0.01 };
            for share in 0..4 {
                let quick = f64::from(table.cost[place * 4 + share]);
                let shade = Shade {
                    of_beyond: true,
                    share: 0.3 * share as f64,
                    sigma: 0.09,
                };
                let mut normal = sums.normal;
                add_level_priors(&mut normal, sums.top, FREE, Some(shade));
                let levels = normal.cholesky().unwrap().solve(&sums.right);
                let other = sums.square - levels.dot(&sums.right);
                assert!(
                    (quick - other).abs() < most * other.max(1.0),
                    "{place}: {quick} {other}"
                );
            }
        }
    }
}
