//! A search for the least cost of a curve's place that asks for nothing but the cost.

use nalgebra::DMatrix;

/// First and last step of the search, in legs.
const FIRST_STEP: f64 = 0.5;
const LAST_STEP: f64 = 0.02;
/// Most sweeps over all directions: where the pixels leave a direction open the search would creep along it.
const MOST_SWEEPS: usize = 120;
/// What a step costs in a direction is taken to be no less than this part of what it costs in the dearest: nothing may run off
/// where the pixels say nothing.
const LEAST_DEAR: f64 = 1e-3;

/// Directions that do not disturb each other, in the space that some steps span. A rim that is seen in one photo looks alike
/// higher and larger, or aside and leaning: steps along one of these at a time lead nowhere, both together do.
///
/// `metric` is what a step costs near the least cost, but for a factor; each direction costs as much as `unit`.
pub(super) fn undisturbed(span: &[Vec<f64>], metric: &DMatrix<f64>, unit: &[f64]) -> Vec<Vec<f64>> {
    let (size, count) = (unit.len(), span.len());
    let span = DMatrix::from_fn(size, count, |i, j| span[j][i]);
    let unit = DMatrix::from_column_slice(size, 1, unit);
    let dear = (unit.transpose() * metric * &unit)[(0, 0)];
    let eigen = (span.transpose() * metric * &span).symmetric_eigen();
    let most = eigen.eigenvalues.max();
    (0..count)
        .filter_map(|k| {
            let direction = &span * eigen.eigenvectors.column(k);
            // Steps of the span that depend on each other make a direction of no length.
            let is_one = direction.norm() > 1e-6 * span.norm();
            let cost = eigen.eigenvalues[k].max(LEAST_DEAR * most);
            is_one.then(|| (direction * (dear / cost).sqrt()).as_slice().to_vec())
        })
        .collect()
}

/// Steps along each direction in turn while that lowers the cost, then in smaller steps.
pub(super) fn compass(
    mut at: Vec<f64>,
    directions: &[Vec<f64>],
    leg: f64,
    cost: &mut impl FnMut(&[f64]) -> f64,
) -> (f64, Vec<f64>) {
    let mut here = cost(&at);
    let mut size = FIRST_STEP * leg;
    for _ in 0..MOST_SWEEPS {
        if size <= LAST_STEP * leg {
            break;
        }
        let mut moved = false;
        for direction in directions {
            for sign in [1.0, -1.0] {
                let there: Vec<f64> = at
                    .iter()
                    .zip(direction)
                    .map(|(a, d)| a + sign * size * d)
                    .collect();
                let by = cost(&there);
                if by < here {
                    (here, at) = (by, there);
                    moved = true;
                    break;
                }
            }
        }
        if !moved {
            size /= 2.0;
        }
    }
    (here, at)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A valley that lies aslant, as a rim's height and its size do in one photo: steps along one parameter at a time stop on
    /// its wall when the cost is made of straight pieces, steps along and across it reach its end.
    #[test]
    fn directions_that_disturb_nothing_reach_the_end_of_a_slanting_valley() {
        let mut cost = |at: &[f64]| 40.0 * (at[0] + at[1] - 0.1).abs() + (at[0] - at[1]).abs();
        let metric = DMatrix::from_row_slice(2, 2, &[1601.0, 1599.0, 1599.0, 1601.0]);
        let axes = [vec![1.0, 0.0], vec![0.0, 1.0]];
        let directions = undisturbed(&axes, &metric, &axes[0]);
        let start = vec![1.0, -0.9];
        let (stuck, _) = compass(start.clone(), &axes, 0.2, &mut cost);
        let (found, at) = compass(start, &directions, 0.2, &mut cost);
        println!("stuck at {stuck}, found {found} at {at:?}");
        assert!(
            stuck > 1.8,
            "the axes alone were to get nowhere, and reached {stuck}"
        );
        assert!(found < 0.2, "{found} at {at:?}");
    }

    /// Steps that depend on each other span a plane, and make two directions of it.
    #[test]
    fn what_depends_on_each_other_makes_no_direction_of_its_own() {
        let span = [vec![1.0, 0.0, 0.0], vec![0.0, 1.0, 0.0], vec![1.0, 1.0, 0.0]];
        let directions = undisturbed(&span, &DMatrix::identity(3, 3), &[1.0, 0.0, 0.0]);
        assert_eq!(directions.len(), 2);
        assert!(directions.iter().all(|d| d[2].abs() < 1e-9));
    }
}
