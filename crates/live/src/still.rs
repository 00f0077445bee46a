//! Whether phone and wheel stand still.

use crate::look::Seen;
use shimwright_geom::Vec2;

/// Pictures in a row, one like the other, until everything is said to stand still.
const IN_A_ROW: u32 = 2;
/// Largest move of a target's corners from one picture to the next, as a share of the picture's width.
const MOST_MOVE: f64 = 0.005;

/// How still the last pictures of a camera were: the only thing that is remembered between them.
#[derive(Clone, Debug, Default)]
pub struct Stillness {
    before: Vec<(String, u32, Vec2)>,
    in_a_row: u32,
}

impl Stillness {
    /// Takes in what the next picture showed; true when the last ones were alike.
    pub fn after(&mut self, seen: &Seen) -> bool {
        let now: Vec<(String, u32, Vec2)> = seen
            .found
            .iter()
            .flat_map(|target| {
                target
                    .corners
                    .iter()
                    .map(|c| (target.name.clone(), c.index, c.at))
            })
            .collect();
        let limit = MOST_MOVE * seen.width as f64;
        let alike = self.largest_move(&now).is_some_and(|moved| moved < limit);
        self.in_a_row = if alike { self.in_a_row + 1 } else { 0 };
        self.before = now;
        self.in_a_row >= IN_A_ROW
    }

    /// The larger of the targets' median moves, px: a wheel may turn beside a card that stands. `None` without corners in common.
    fn largest_move(&self, now: &[(String, u32, Vec2)]) -> Option<f64> {
        let mut names: Vec<&String> = now.iter().map(|(name, ..)| name).collect();
        names.dedup();
        let move_of = |name: &String| {
            let moved = now
                .iter()
                .filter(|(of, ..)| of == name)
                .filter_map(|(of, index, at)| {
                    let then = self.before.iter().find(|(b, i, _)| b == of && i == index)?;
                    Some((at - then.2).norm())
                });
            median(moved.collect())
        };
        names
            .into_iter()
            .map(move_of)
            .try_fold(None, |most: Option<f64>, moved| {
                let moved = moved?;
                Some(Some(most.map_or(moved, |most| most.max(moved))))
            })?
    }
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}
