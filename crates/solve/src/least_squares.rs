//! Dense Levenberg-Marquardt with robust weights and a covariance that can be split by source.

use crate::Error;
use nalgebra::{DMatrix, DVector};

/// How strongly a residual may pull (residuals are in standard deviations).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Loss {
    /// Plain squares.
    Squares,
    /// Cauchy with the given scale: pulls less and less from about `scale` standard deviations on.
    Cauchy(f64),
}

impl Loss {
    /// Cost and weight (derivative of cost by squared residual) for a squared residual.
    pub(crate) fn cost_and_weight(self, r2: f64) -> (f64, f64) {
        match self {
            Self::Squares => (r2, 1.0),
            Self::Cauchy(scale) => {
                let c2 = scale * scale;
                (c2 * (r2 / c2).ln_1p(), 1.0 / (1.0 + r2 / c2))
            }
        }
    }
}

/// What a model is asked for at a state: weighted residuals and their derivatives, by group.
pub struct Residuals {
    normal: Vec<DMatrix<f64>>,
    gradient: DVector<f64>,
    cost: f64,
    plain_cost: f64,
    count: usize,
    with_derivatives: bool,
    /// Residuals in order of pushing, when they are kept.
    kept: Option<Vec<f64>>,
    /// What is added to each residual, in order of pushing; empty for nothing.
    added: Vec<f64>,
}

impl Residuals {
    fn new(parameters: usize, groups: usize, with_derivatives: bool) -> Self {
        let normal = if with_derivatives {
            vec![DMatrix::zeros(parameters, parameters); groups]
        } else {
            vec![]
        };
        Self {
            normal,
            gradient: DVector::zeros(parameters),
            cost: 0.0,
            plain_cost: 0.0,
            count: 0,
            with_derivatives,
            kept: None,
            added: Vec::new(),
        }
    }

    /// Adds one residual, already divided by its standard deviation, with its derivatives by parameter index.
    pub fn push(&mut self, group: usize, loss: Loss, residual: f64, derivatives: &[(usize, f64)]) {
        if let Some(kept) = &mut self.kept {
            kept.push(residual);
        }
        let residual = residual + self.added.get(self.count).unwrap_or(&0.0);
        let (cost, weight) = loss.cost_and_weight(residual * residual);
        self.cost += cost;
        self.plain_cost += residual * residual;
        self.count += 1;
        if !self.with_derivatives {
            return;
        }
        let size = self.gradient.len();
        let normal = self.normal[group].as_mut_slice();
        for (k, &(i, di)) in derivatives.iter().enumerate() {
            let weighted = weight * di;
            self.gradient[i] += weighted * residual;
            let column = &mut normal[size * i..size * (i + 1)];
            for &(j, dj) in &derivatives[..k] {
                column[j] += weighted * dj;
            }
            // Half of what stands on the diagonal, because `complete` adds the mirror image.
            column[i] += 0.5 * weighted * di;
        }
    }

    /// Whether derivatives are wanted; a model may skip computing them otherwise.
    pub fn wants_derivatives(&self) -> bool {
        self.with_derivatives
    }
}

/// A least-squares model: residuals as a function of a state that steps move.
pub trait Model {
    /// The state being solved for.
    type State: Clone;
    /// Number of parameters of a step.
    fn parameters(&self) -> usize;
    /// Number of residual groups, for splitting the covariance by source.
    fn groups(&self) -> usize;
    /// The state moved by a step.
    fn moved(&self, state: &Self::State, step: &DVector<f64>) -> Self::State;
    /// Pushes every residual at a state. Returns false when the state is impossible (a point behind a camera).
    fn residuals(&self, state: &Self::State, out: &mut Residuals) -> bool;
}

/// When to stop.
#[derive(Clone, Copy, Debug)]
pub struct Options {
    /// Most iterations.
    pub iterations: usize,
    /// Stops when the cost falls by less than this share.
    pub relative_fall: f64,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            iterations: 60,
            relative_fall: 1e-12,
        }
    }
}

/// A solution with what is needed for its covariance.
#[derive(Clone, Debug)]
pub struct Solution<S> {
    /// The best state.
    pub state: S,
    /// Robust cost at it.
    pub cost: f64,
    /// Sum of squared residuals at it.
    pub plain_cost: f64,
    /// Number of residuals.
    pub residuals: usize,
    /// Iterations taken.
    pub iterations: usize,
    /// By how much the last of them lowered the cost.
    pub last_fall: f64,
    /// Normal matrix of each residual group at it.
    pub normal_by_group: Vec<DMatrix<f64>>,
}

impl<S> Solution<S> {
    /// The solution, when it came to rest within the steps that it was allowed. Residuals are in standard deviations, so that
    /// a fall of the cost far below one is far less than what the observations leave open.
    ///
    /// # Errors
    /// [`Error::StillMoving`] when the last step allowed was taken and still mattered.
    pub fn at_rest(self, options: &Options) -> Result<Self, Error> {
        const STILL: f64 = 0.01;
        if self.iterations < options.iterations || self.last_fall < STILL {
            return Ok(self);
        }
        Err(Error::StillMoving {
            steps: self.iterations,
        })
    }

    /// Covariance of the parameters of a step about the state: the inverse of the normal matrix. The residuals were
    /// divided by their standard deviations, so it needs no further scale.
    ///
    /// # Errors
    /// [`Error::Degenerate`] when some combination of parameters is not determined.
    pub fn covariance(&self) -> Result<DMatrix<f64>, Error> {
        let size = self.normal_by_group.first().map_or(0, |m| m.nrows());
        let total = self
            .normal_by_group
            .iter()
            .fold(DMatrix::zeros(size, size), |sum, m| sum + m);
        invert_scaled(&total).ok_or(Error::Degenerate {
            what: "a combination of parameters",
        })
    }

    /// Splits the variance of a scalar with gradient `by_parameter` by residual group; the parts add up to the
    /// whole, since the normal matrix is the sum of the groups'.
    pub fn variance_by_group(&self, covariance: &DMatrix<f64>, by_parameter: &DVector<f64>) -> Vec<f64> {
        let lever = covariance * by_parameter;
        self.normal_by_group
            .iter()
            .map(|normal| (lever.transpose() * normal * &lever)[(0, 0)])
            .collect()
    }
}

/// Inverts a symmetric positive matrix after scaling its diagonal to one, which keeps pixels and radians apart.
fn invert_scaled(matrix: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let scale = matrix
        .diagonal()
        .map(|d| if d > 0.0 { 1.0 / d.sqrt() } else { 0.0 });
    let scaled = DMatrix::from_fn(matrix.nrows(), matrix.ncols(), |i, j| {
        matrix[(i, j)] * scale[i] * scale[j]
    });
    let eigen = scaled.clone().symmetric_eigen();
    if eigen.eigenvalues.iter().any(|e| !(*e > 1e-13)) {
        return None;
    }
    let inverse = scaled.cholesky()?.inverse();
    Some(DMatrix::from_fn(matrix.nrows(), matrix.ncols(), |i, j| {
        inverse[(i, j)] * scale[i] * scale[j]
    }))
}

/// Every residual of a model at a state, in the order in which the model pushes them; `None` where it is impossible.
pub(crate) fn residuals_at<M: Model>(model: &M, state: &M::State) -> Option<Vec<f64>> {
    let mut out = Residuals::new(model.parameters(), model.groups(), false);
    out.kept = Some(Vec::new());
    if !model.residuals(state, &mut out) {
        return None;
    }
    out.kept
}

/// Minimises the model's robust cost from a start.
///
/// # Errors
/// [`Error::NotFinite`] when the start itself is impossible.
pub fn solve<M: Model>(model: &M, start: M::State, options: &Options) -> Result<Solution<M::State>, Error> {
    solve_disturbed(model, start, options, &[])
}

/// As [`solve`], with a number added to each residual, in the order in which the model pushes them.
pub(crate) fn solve_disturbed<M: Model>(
    model: &M,
    start: M::State,
    options: &Options,
    added: &[f64],
) -> Result<Solution<M::State>, Error> {
    let size = model.parameters();
    let evaluate = |state: &M::State, derivatives: bool| {
        let mut out = Residuals::new(size, model.groups(), derivatives);
        out.added = added.to_vec();
        (model.residuals(state, &mut out) && out.cost.is_finite()).then_some(out)
    };
    let mut state = start;
    let mut here = evaluate(&state, true).ok_or(Error::NotFinite)?;
    let mut damping = 1e-4;
    let mut iterations = 0;
    let mut last_fall = 0.0;
    'outer: while iterations < options.iterations {
        iterations += 1;
        let mut normal = here
            .normal
            .iter()
            .fold(DMatrix::zeros(size, size), |sum, m| sum + m);
        complete(&mut normal);
        // The first step tried is mostly taken, and its derivatives are wanted then.
        let mut first = true;
        loop {
            let mut damped = normal.clone();
            for i in 0..size {
                damped[(i, i)] += damping * normal[(i, i)].max(1e-12);
            }
            let step = damped.cholesky().map(|factor| -factor.solve(&here.gradient));
            let next = step.and_then(|step| {
                let moved = model.moved(&state, &step);
                evaluate(&moved, first)
                    .filter(|out| out.cost < here.cost)
                    .map(|out| (moved, out))
            });
            match next {
                Some((moved, there)) => {
                    let fall = here.cost - there.cost;
                    last_fall = fall;
                    let enough = fall > options.relative_fall * here.cost;
                    state = moved;
                    here = if first {
                        there
                    } else {
                        evaluate(&state, true).ok_or(Error::NotFinite)?
                    };
                    damping = (damping * 0.2_f64).max(1e-12);
                    if !enough {
                        break 'outer;
                    }
                    break;
                }
                None => {
                    first = false;
                    damping *= 10.0;
                    if damping > 1e8 {
                        break 'outer;
                    }
                }
            }
        }
    }
    here.normal.iter_mut().for_each(complete);
    Ok(Solution {
        state,
        cost: here.cost,
        plain_cost: here.plain_cost,
        residuals: here.count,
        iterations,
        last_fall,
        normal_by_group: here.normal,
    })
}

/// Adds a normal matrix's mirror image: [`Residuals::push`] takes each two parameters in one order only.
fn complete(normal: &mut DMatrix<f64>) {
    for i in 0..normal.nrows() {
        for j in 0..=i {
            let sum = normal[(i, j)] + normal[(j, i)];
            normal[(i, j)] = sum;
            normal[(j, i)] = sum;
        }
    }
}

/// Derivatives of `value(state)` by each step parameter, by central differences; `value` must be smooth at the state.
pub(crate) fn gradient<M: Model>(
    model: &M,
    state: &M::State,
    value: impl Fn(&M::State) -> f64,
) -> DVector<f64> {
    let size = model.parameters();
    DVector::from_fn(size, |k, _| {
        let h = 1e-6;
        let mut step = DVector::zeros(size);
        step[k] = h;
        let up = value(&model.moved(state, &step));
        step[k] = -h;
        (up - value(&model.moved(state, &step))) / (2.0 * h)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// y = b1 (1 - exp(-b2 x)): NIST StRD nonlinear set Misra1a.
    struct Misra1a;

    const X: [f64; 14] = [
        77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0,
    ];
    const Y: [f64; 14] = [
        10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78,
    ];

    impl Model for Misra1a {
        type State = [f64; 2];
        fn parameters(&self) -> usize {
            2
        }
        fn groups(&self) -> usize {
            1
        }
        fn moved(&self, s: &[f64; 2], step: &DVector<f64>) -> [f64; 2] {
            [s[0] + step[0], s[1] + step[1]]
        }
        fn residuals(&self, s: &[f64; 2], out: &mut Residuals) -> bool {
            for (x, y) in X.iter().zip(Y) {
                let e = (-s[1] * x).exp();
                out.push(
                    0,
                    Loss::Squares,
                    s[0] * (1.0 - e) - y,
                    &[(0, 1.0 - e), (1, s[0] * x * e)],
                );
            }
            true
        }
    }

    #[test]
    fn a_solve_that_runs_out_of_steps_says_so_with_their_number() {
        let short = Options {
            iterations: 2,
            ..Options::default()
        };
        let solve =
            |options: &Options| solve(&Misra1a, [500.0, 1e-4], options).and_then(|s| s.at_rest(options));
        assert_eq!(
            solve(&short).map(|s| s.iterations),
            Err(Error::StillMoving { steps: 2 })
        );
        assert!(solve(&Options::default()).is_ok());
    }

    /// Certified values of NIST StRD Misra1a (https://www.itl.nist.gov/div898/strd/): both starts, parameters
    /// to 1e-6, standard deviations to 1e-5, residual sum of squares to 1e-8.
    #[test]
    fn nist_misra1a() {
        for start in [[500.0, 1e-4], [250.0, 5e-4]] {
            let found = solve(
                &Misra1a,
                start,
                &Options {
                    iterations: 500,
                    ..Options::default()
                },
            )
            .unwrap();
            assert!(
                (found.state[0] / 238.942_129_18 - 1.0).abs() < 1e-6,
                "{:?}",
                found.state
            );
            assert!((found.state[1] / 5.501_564_318_1e-4 - 1.0).abs() < 1e-6);
            assert!((found.plain_cost / 1.245_513_889_4e-1 - 1.0).abs() < 1e-8);
            let scale = (found.plain_cost / 12.0).sqrt();
            let covariance = found.covariance().unwrap();
            assert!((scale * covariance[(0, 0)].sqrt() / 2.707_007_524_1 - 1.0).abs() < 1e-5);
            assert!((scale * covariance[(1, 1)].sqrt() / 7.266_868_843_6e-6 - 1.0).abs() < 1e-5);
        }
    }

    struct Free;
    impl Model for Free {
        type State = [f64; 2];
        fn parameters(&self) -> usize {
            2
        }
        fn groups(&self) -> usize {
            1
        }
        fn moved(&self, s: &[f64; 2], step: &DVector<f64>) -> [f64; 2] {
            [s[0] + step[0], s[1] + step[1]]
        }
        fn residuals(&self, s: &[f64; 2], out: &mut Residuals) -> bool {
            out.push(0, Loss::Squares, s[0] + s[1] - 1.0, &[(0, 1.0), (1, 1.0)]);
            true
        }
    }

    #[test]
    fn a_free_combination_is_named_not_inverted() {
        let found = solve(&Free, [0.0, 0.0], &Options::default()).unwrap();
        assert!(matches!(found.covariance(), Err(Error::Degenerate { .. })));
    }
}
