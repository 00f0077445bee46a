//! Everything that could be fitted, and what it would do at each measured corner.

use super::case::{Case, Fitted};
use super::predict::{Fit, fitting, staying};
use crate::Error;

/// The most stacks that are looked at.
const MOST_STACKS: usize = 200_000;

/// All stacks that the stock's sizes make, whether or not there are rings enough.
pub(super) struct Options {
    /// Sorted places in the stock, thinner stacks not necessarily first.
    pub stacks: Vec<Vec<usize>>,
    /// For each measured corner what each stack would do, in the order of `stacks`. Where something unknown to the
    /// stock is fitted, leaving that is one more option at the end.
    pub fits: Vec<Vec<Fit>>,
}

impl Options {
    /// Predicts every option.
    pub fn predict(case: &Case) -> Result<Self, Error> {
        let (sizes, stack_limit) = (case.stock.len(), case.drive.stack_limit);
        if stacks_of(sizes, stack_limit as usize) > MOST_STACKS {
            return Err(Error::TooManyStacks {
                sizes,
                stack_limit,
                most: MOST_STACKS,
            });
        }
        let stacks = all_stacks(sizes, stack_limit as usize);
        let fits = case
            .sides
            .iter()
            .map(|side| {
                let left_alone = matches!(side.fitted, Fitted::Unknown { .. }).then(|| staying(case, side));
                stacks
                    .iter()
                    .map(|rings| fitting(case, side, rings))
                    .chain(left_alone)
                    .collect()
            })
            .collect();
        Ok(Self { stacks, fits })
    }

    /// The rings of an option; none from the stock where something unknown stays.
    pub fn rings(&self, option: usize) -> &[usize] {
        self.stacks.get(option).map_or(&[], Vec::as_slice)
    }
}

/// Counts the stacks of 1 to `limit` rings out of `sizes`, repeats allowed: C(sizes + n - 1, n) for each n.
fn stacks_of(sizes: usize, limit: usize) -> usize {
    let mut of_this_height = 1_usize;
    (1..=limit)
        .map(|height| {
            of_this_height = of_this_height.saturating_mul(sizes + height - 1) / height;
            of_this_height
        })
        .fold(0, usize::saturating_add)
}

fn all_stacks(sizes: usize, limit: usize) -> Vec<Vec<usize>> {
    let mut stacks: Vec<Vec<usize>> = (0..sizes).map(|ring| vec![ring]).collect();
    let mut lower = 0;
    for _ in 1..limit {
        let upper = stacks.len();
        for place in lower..upper {
            let top = stacks[place].last().copied().unwrap_or(0);
            for ring in top..sizes {
                let mut higher = stacks[place].clone();
                higher.push(ring);
                stacks.push(higher);
            }
        }
        lower = upper;
    }
    stacks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_stack_is_there_once() {
        for (sizes, limit, count) in [(0, 3, 0), (4, 1, 4), (3, 2, 9), (4, 3, 34), (40, 2, 860)] {
            let stacks = all_stacks(sizes, limit);
            assert_eq!(stacks.len(), count);
            assert_eq!(stacks_of(sizes, limit), count);
            let different: std::collections::BTreeSet<_> = stacks.iter().collect();
            assert_eq!(different.len(), count);
            assert!(
                stacks
                    .iter()
                    .all(|rings| rings.is_sorted() && (1..=limit).contains(&rings.len()))
            );
        }
    }
}
