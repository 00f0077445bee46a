//! Uncertainty by Monte Carlo trials (JCGM 101:2008): everything that was told is disturbed at random and solved again.
//! Trials need no straight line between what was told and what is measured; they cost a solve each.

use crate::told::mm;
use crate::{Error, Watch};
use nalgebra::{Matrix2, Vector2};
use shimwright_geom::Random;
use shimwright_record::{Job, Phrase, Quantity};
use shimwright_say::say;
use shimwright_solve::{Model, Options, Solution, Trials, solve_again};

/// Fewest and most trials that may be asked for. JCGM 101, 7.2.2, has 10^6 as a rule for two digits; 200 tell the
/// standard uncertainty to 5 %.
const FEWEST: u32 = 200;
const MOST: u32 = 100_000;
/// Share of the trials that may have no solution.
const MOST_LOST: f64 = 0.02;
/// Trials between two looks at whether the user wants to stop.
const AT_ONCE: u32 = 20;
/// The same job gives the same trials.
const SEED: u64 = 0x7472_6961;
/// Each trial begins at the solution, so few rounds bring it to rest. Costs are sums of squares in standard deviations,
/// some thousands of them: what falls by less than this share is far below what one of them leaves open.
const OPTIONS: Options = Options {
    iterations: 30,
    relative_fall: 1e-6,
};
/// Coverage factor of a normally distributed quantity at 95 %.
const COVERAGE: f64 = 1.96;
/// Standard deviation of an end of the symmetric 95 % interval of n trials of a normal distribution, times the root of n, as
/// a multiple of theirs: sqrt(p (1 - p)) over the density at the quantile, p = 0.025 (David and Nagaraja, Order
/// Statistics, chapter 10; from memory).
const END_SCATTER: f64 = 2.671;
/// Standard deviations by which an end may be off by chance before it is said that trials and budget disagree.
const CHANCE: f64 = 3.0;

/// The number of trials that a job asks for.
///
/// # Errors
/// Too few, or too many.
pub(crate) fn asked(job: &Job) -> Result<Option<u32>, Error> {
    match job.trials {
        Some(count) if !(FEWEST..=MOST).contains(&count) => Err(Error::bad(
            Some("trials"),
            say!("`trials` is {count}, which is not between {FEWEST} and {MOST}"),
            say!("1000 trials are enough for two digits of an interval; or leave it out"),
        )),
        trials => Ok(trials),
    }
}

/// A solution that is disturbed and solved again.
pub(crate) struct Disturbed<'a, M: Model> {
    /// What is solved. Every residual is disturbed by its own standard deviation.
    pub model: &'a M,
    pub solution: &'a Solution<M::State>,
    /// What to do when it cannot be.
    pub hint: Phrase,
}

impl<M> Disturbed<'_, M>
where
    M: Model + Sync,
    M::State: Send + Sync,
{
    /// Draws some values `count` times: `values_of` takes them from a solved state, and adds at random what no residual shows.
    ///
    /// # Errors
    /// Cancelled; or the solution cannot be disturbed.
    pub fn run<const N: usize>(
        &self,
        count: u32,
        watch: &dyn Watch,
        mut values_of: impl FnMut(&M::State, &mut Random) -> [f64; N],
    ) -> Result<[Trials; N], Error> {
        let mut random = Random::new(SEED);
        let mut drawn: [Vec<f64>; N] = std::array::from_fn(|_| Vec::with_capacity(count as usize));
        let (mut done, mut lost) = (0, 0);
        while done < count {
            if watch.cancelled() {
                return Err(Error::cancelled());
            }
            let part = AT_ONCE.min(count - done);
            let states = solve_again(self.model, self.solution, &OPTIONS, part as usize, random.bits())
                .map_err(|error| self.impossible(error.halves().0))?;
            lost += part - states.len() as u32;
            // An interval of those that could be solved alone would be too narrow.
            if f64::from(lost) > MOST_LOST * f64::from(count) {
                return Err(self.impossible(say!("{lost} trials have no solution")));
            }
            for state in &states {
                let values = values_of(state, &mut random);
                drawn
                    .iter_mut()
                    .zip(values)
                    .for_each(|(all, value)| all.push(value));
            }
            done += states.len() as u32;
            watch.step(say!("trying the uncertainty"), f64::from(done) / f64::from(count));
        }
        let trials: Option<Vec<Trials>> = drawn.into_iter().map(Trials::of).collect();
        trials
            .and_then(|trials| trials.try_into().ok())
            .ok_or_else(|| self.impossible(say!("a trial gives no number")))
    }

    fn impossible(&self, why: Phrase) -> Error {
        Error::unmeasurable(
            None,
            say!("the uncertainty cannot be tried ({why})"),
            self.hint.clone(),
        )
    }
}

/// Whether the linear budget holds by the trials: the ends of both 95 % intervals agree to half a unit of the first
/// digit of the standard uncertainty `u` (JCGM 101, 8.2). That asks for trials without number (the guide's 7.9 goes on until
/// the ends have settled to a fifth of it); what chance does to the ends of those that were made is allowed for. Lengths in mm.
pub(crate) fn agree(value: f64, u: f64, trials: &Trials) -> bool {
    let unit = 10f64.powf(u.log10().floor());
    let (low, high) = trials.symmetric_interval(0.95);
    let chance = CHANCE * END_SCATTER * u / (trials.count() as f64).sqrt();
    let most = 0.5 * unit + chance;
    (value - COVERAGE * u - low).abs() <= most && (value + COVERAGE * u - high).abs() <= most
}

/// The wider of the linear interval and that of the trials, as the farther end from the value, mm.
pub(crate) fn wider(value: f64, linear: f64, trials: &Trials) -> f64 {
    let (low, high) = trials.symmetric_interval(0.95);
    linear.max(value - low).max(high - value)
}

/// A quantity as the trials tell it: their mean, and half the symmetric interval that holds 95 % of them, mm.
pub(crate) fn by_trials(trials: &Trials) -> Quantity {
    let (low, high) = trials.symmetric_interval(0.95);
    mm(trials.mean(), (high - low) / 2.0)
}

/// What is said when trials and linear budget disagree.
pub(crate) fn disagreement() -> Phrase {
    say!(
        "trials of the uncertainty (JCGM 101) do not agree with the linear budget; the wider interval is told"
    )
}

/// A measured vector in the trials, by its components along and across what was measured. The size itself would not do: near
/// zero it has no normal distribution even where both components have one, and how it is told there allows for that.
pub(crate) struct TriedVector {
    pub along: Trials,
    across: Trials,
    unit: Vector2<f64>,
}

/// Unit vector along a vector; x where it has no size.
pub(crate) fn unit_along(vector: &Vector2<f64>) -> Vector2<f64> {
    vector.try_normalize(0.0).unwrap_or_else(Vector2::x)
}

/// Components of a vector along and across a unit vector.
pub(crate) fn split(vector: &Vector2<f64>, unit: &Vector2<f64>) -> [f64; 2] {
    [vector.dot(unit), vector.dot(&across(unit))]
}

fn across(unit: &Vector2<f64>) -> Vector2<f64> {
    Vector2::new(-unit.y, unit.x)
}

impl TriedVector {
    /// From trials of the components along and across `value`, mm.
    pub fn of(value: &Vector2<f64>, along: Trials, across: Trials) -> Self {
        Self {
            along,
            across,
            unit: unit_along(value),
        }
    }

    /// Each component with its value and standard deviation by the linear budget.
    fn components(&self, value: &Vector2<f64>, covariance: &Matrix2<f64>) -> [(f64, f64, &Trials); 2] {
        let sigma = |d: Vector2<f64>| (d.transpose() * covariance * d)[(0, 0)].max(0.0).sqrt();
        [
            (value.norm(), sigma(self.unit), &self.along),
            (0.0, sigma(across(&self.unit)), &self.across),
        ]
    }

    /// Whether a linear covariance holds by the trials.
    pub fn agree(&self, value: &Vector2<f64>, covariance: &Matrix2<f64>) -> bool {
        self.components(value, covariance)
            .iter()
            .all(|(value, u, trials)| agree(*value, *u, trials))
    }

    /// A linear covariance, widened in each component in which the trials have the wider interval.
    pub fn widened(&self, value: &Vector2<f64>, covariance: &Matrix2<f64>) -> Matrix2<f64> {
        let [along, aside] = self.components(value, covariance).map(|(value, u, trials)| {
            if u > 0.0 {
                wider(value, COVERAGE * u, trials) / (COVERAGE * u)
            } else {
                1.0
            }
        });
        let turn = Matrix2::from_columns(&[self.unit, across(&self.unit)]);
        let stretch = turn * Matrix2::new(along, 0.0, 0.0, aside) * turn.transpose();
        stretch * covariance * stretch.transpose()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::DVector;
    use shimwright_solve::{Loss, Residuals, solve};
    use std::sync::Mutex;

    /// Trials of a normal distribution agree with its own budget, and not with one twice as wide or off by two units.
    #[test]
    fn a_budget_is_held_against_its_trials() {
        let trials = Trials::run(20_000, 3, |random| 1.5 + 0.031 * random.normal()).unwrap();
        assert!(agree(1.5, 0.031, &trials));
        assert!(!agree(1.5, 0.062, &trials));
        assert!(!agree(1.52, 0.031, &trials));
    }

    /// As few trials as may be asked for, of sound budgets whatever their first digit: chance alone is seldom told as
    /// disagreement. A budget half as wide as it should be is.
    #[test]
    fn few_trials_do_not_contradict_a_sound_budget() {
        let (mut sound, mut narrow) = (0, 0);
        for seed in 0..500 {
            let u = 0.001 * (1.0 + (seed % 90) as f64 / 10.0);
            let trials = Trials::run(FEWEST as usize, seed, |random| u * random.normal()).unwrap();
            sound += usize::from(!agree(0.0, u, &trials));
            let wide = Trials::run(FEWEST as usize, seed, |random| 2.5 * u * random.normal()).unwrap();
            narrow += usize::from(!agree(0.0, u, &wide));
        }
        assert!(sound <= 5, "{sound} of 500 sound budgets are said to disagree");
        assert!(narrow >= 475, "{narrow} of 500 narrow budgets are found out");
    }

    /// One number, observed twice.
    struct Twice;

    impl Model for Twice {
        type State = f64;
        fn parameters(&self) -> usize {
            1
        }
        fn groups(&self) -> usize {
            1
        }
        fn moved(&self, state: &f64, step: &DVector<f64>) -> f64 {
            state + step[0]
        }
        fn residuals(&self, state: &f64, out: &mut Residuals) -> bool {
            for observed in [2.9, 3.1] {
                out.push(0, Loss::Squares, state - observed, &[(0, 1.0)]);
            }
            true
        }
    }

    /// Cancels when so many shares of the work were told.
    struct Patience {
        told: Mutex<Vec<f64>>,
        most: usize,
    }

    impl Watch for Patience {
        fn step(&self, _: Phrase, done: f64) {
            self.told.lock().unwrap().push(done);
        }
        fn cancelled(&self) -> bool {
            self.told.lock().unwrap().len() >= self.most
        }
    }

    fn tried(most: usize) -> (Result<[Trials; 1], Error>, Vec<f64>) {
        let solution = solve(&Twice, 0.0, &Options::default()).unwrap();
        let disturbed = Disturbed {
            model: &Twice,
            solution: &solution,
            hint: say!("leave out `trials`, or take more photos all the way round"),
        };
        let patience = Patience {
            told: Mutex::new(Vec::new()),
            most,
        };
        let trials = disturbed.run(2000, &patience, |state, _| [*state]);
        (trials, patience.told.into_inner().unwrap())
    }

    /// Trials scatter as the mean of two observations does, progress rises to its end, and whoever cancels waits for one part
    /// of the trials at most.
    #[test]
    fn trials_are_watched_and_can_be_cancelled() {
        let (trials, told) = tried(usize::MAX);
        let [trials] = trials.unwrap();
        assert_eq!(trials.count(), 2000);
        assert!((trials.mean() - 3.0).abs() < 0.06, "{}", trials.mean());
        assert!((trials.standard_uncertainty() / 0.5f64.sqrt() - 1.0).abs() < 0.06);
        assert!(told.windows(2).all(|w| w[0] < w[1]) && told.last() == Some(&1.0));
        let (trials, told) = tried(3);
        assert_eq!(trials.unwrap_err().kind, crate::Kind::Cancelled);
        assert_eq!(told.len(), 3);
    }

    /// A covariance is widened along the vector alone when only that component scatters more than it says.
    #[test]
    fn a_covariance_is_widened_where_the_trials_are_wider() {
        let (value, unit) = (Vector2::new(0.3, 0.4), Vector2::new(0.6, 0.8));
        let trials =
            |mean: f64, u: f64, seed| Trials::run(20_000, seed, |random| mean + u * random.normal()).unwrap();
        let tried = TriedVector::of(&value, trials(0.5, 0.02, 1), trials(0.0, 0.005, 2));
        let covariance = Matrix2::identity() * 1e-4;
        assert!(!tried.agree(&value, &covariance));
        let wide = tried.widened(&value, &covariance);
        let sigma = |d: Vector2<f64>| (d.transpose() * wide * d)[(0, 0)].sqrt();
        assert!((sigma(unit) / 0.02 - 1.0).abs() < 0.05, "{}", sigma(unit));
        assert!((sigma(Vector2::new(-0.8, 0.6)) / 0.01 - 1.0).abs() < 1e-9);
    }
}
