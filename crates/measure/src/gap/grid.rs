//! The grid on which the five numbers of a search are tried.

use super::movable::Move;
use shimwright_detect::cores;

/// How finely the five numbers are tried: largest value and number of steps to each side.
pub(crate) struct Grid {
    pub each: [(f64, i32); 5],
    /// How near the feature must come to an edge to count it, px (standard deviation).
    pub nearness: f64,
}

impl Grid {
    /// The `i`-th value of a number.
    fn value(&self, number: usize, i: i32) -> f64 {
        let (most, steps) = self.each[number];
        if steps == 0 {
            0.0
        } else {
            most * f64::from(i) / f64::from(steps)
        }
    }

    /// How many moves there are.
    fn moves(&self) -> usize {
        self.each
            .iter()
            .map(|(_, steps)| (2 * steps + 1) as usize)
            .product()
    }

    /// Goes through the values of all numbers from one on.
    fn each_move(&self, number: usize, by: &mut Move, visit: &mut impl FnMut(&Move)) {
        if number == by.len() {
            visit(by);
            return;
        }
        let steps = self.each[number].1;
        for i in -steps..=steps {
            by[number] = self.value(number, i);
            self.each_move(number + 1, by, visit);
        }
    }
}

/// Fewer moves than this are not worth a second core.
const FEW: usize = 1000;

/// The move of a grid that scores best, on all cores; of several alike the first.
pub(crate) fn best_move(grid: &Grid, score: &(impl Fn(&Move) -> f64 + Sync)) -> (f64, Move) {
    let first = grid.each[0].1;
    let of_row = |row: usize| {
        let mut best = (f64::NEG_INFINITY, [0.0; 5]);
        let mut by = [0.0; 5];
        by[0] = grid.value(0, row as i32 - first);
        grid.each_move(1, &mut by, &mut |by| {
            let score = score(by);
            if score > best.0 {
                best = (score, *by);
            }
        });
        best
    };
    let rows = (2 * first + 1) as usize;
    let at_once = if grid.moves() < FEW { rows } else { 1 };
    let mut best = (f64::NEG_INFINITY, [0.0; 5]);
    for row in cores::map(rows, at_once, of_row) {
        if row.0 > best.0 {
            best = row;
        }
    }
    best
}
