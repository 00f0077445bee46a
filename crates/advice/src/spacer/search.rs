//! The exact search: the best sound choice for all measured corners together.
//!
//! It looks at every stack (and, per side, at every pair of stacks) except those that sorting proves to be worse.

use super::case::{Case, Fitted};
use super::options::Options;
use super::order::{Effort, crookedness};
use super::predict::Fit;
use crate::stock::{ASSUMED_RING_U95, same_label};

/// A choice: the option for each measured corner.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Plan(pub Vec<usize>);

/// What a search may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Terms {
    /// One size for all corners.
    pub one_size: bool,
    /// Only rings that are there.
    pub counted: bool,
}

impl Plan {
    /// The prediction for each measured corner.
    pub fn fits<'o>(&self, options: &'o Options) -> Vec<&'o Fit> {
        self.0
            .iter()
            .zip(&options.fits)
            .map(|(&option, fits)| &fits[option])
            .collect()
    }
}

/// The best plan: every corner keeps its minimum gap, the largest belt offset is smallest, then the least effort.
pub(super) fn best(case: &Case, options: &Options, terms: Terms) -> Option<Plan> {
    match case.sides.len() {
        2 if !terms.one_size => best_pair(case, options, terms),
        1 => best_of(
            (0..options.fits[0].len()).map(|option| vec![option]),
            case,
            options,
            terms,
        ),
        sides => {
            let shared = (0..options.stacks.len()).map(|option| vec![option; sides]);
            best_of(shared.chain(all_stay_alike(case, options)), case, options, terms)
        }
    }
}

fn best_of(
    plans: impl Iterator<Item = Vec<usize>>,
    case: &Case,
    options: &Options,
    terms: Terms,
) -> Option<Plan> {
    plans
        .map(Plan)
        .filter(|plan| plan.fits(options).iter().all(|fit| fit.keeps_minimum()))
        .filter(|plan| affordable(case, options, terms, &plan.0))
        .min_by_key(|plan| {
            let fits = plan.fits(options);
            let worst = fits.iter().map(|fit| crookedness(fit)).max();
            (worst, fits.into_iter().map(Effort::of).reduce(|a, b| a + b))
        })
}

/// Leaving the same unknown spacer on every corner is a common size too.
fn all_stay_alike(case: &Case, options: &Options) -> Option<Vec<usize>> {
    let first = case.sides.first()?;
    let alike = case.sides.iter().all(|side| {
        matches!(side.fitted, Fitted::Unknown { .. })
            && same_label(&side.measured.spacer_label, &first.measured.spacer_label)
            && (side.measured.spacer_thickness - first.measured.spacer_thickness).abs() <= ASSUMED_RING_U95
    });
    alike.then(|| vec![options.stacks.len(); case.sides.len()])
}

fn affordable(case: &Case, options: &Options, terms: Terms, plan: &[usize]) -> bool {
    !terms.counted || case.enough(plan.iter().map(|&option| options.rings(option)))
}

/// The best pair for two corners that may differ.
fn best_pair(case: &Case, options: &Options, terms: Terms) -> Option<Plan> {
    let sides: Vec<Vec<Candidate>> = options.fits.iter().map(|fits| candidates(fits)).collect();
    let [left, right] = sides.as_slice() else {
        return None;
    };
    let together = |l: &Candidate, r: &Candidate| affordable(case, options, terms, &[l.option, r.option]);

    let worst = straightest(left, right, &together)?;
    let effort_order = |side: &[Candidate]| {
        let mut straight: Vec<_> = side
            .iter()
            .copied()
            .filter(|one| one.crookedness <= worst)
            .collect();
        straight.sort_by_key(|one| (one.effort, one.option));
        straight
    };
    least_effort(&effort_order(left), &effort_order(right), &together).map(|(l, r)| Plan(vec![l, r]))
}

/// An option that keeps the minimum gap at its corner.
#[derive(Clone, Copy)]
struct Candidate {
    option: usize,
    crookedness: i64,
    effort: Effort,
}

fn candidates(fits: &[Fit]) -> Vec<Candidate> {
    let mut sound: Vec<_> = fits
        .iter()
        .enumerate()
        .filter(|(_, fit)| fit.keeps_minimum())
        .map(|(option, fit)| Candidate {
            option,
            crookedness: crookedness(fit),
            effort: Effort::of(fit),
        })
        .collect();
    sound.sort_by_key(|one| (one.crookedness, one.option));
    sound
}

/// The smallest largest belt offset of any pair. Both lists are sorted by belt offset, so a list can be left as soon
/// as it is no better than what was found.
fn straightest(
    left: &[Candidate],
    right: &[Candidate],
    together: &impl Fn(&Candidate, &Candidate) -> bool,
) -> Option<i64> {
    let mut least: Option<i64> = None;
    let no_better = |offset: i64, least: Option<i64>| least.is_some_and(|least| offset >= least);
    for l in left {
        if no_better(l.crookedness, least) {
            break;
        }
        let found = right
            .iter()
            .take_while(|r| !no_better(r.crookedness.max(l.crookedness), least))
            .find(|r| together(l, r));
        least = found.map(|r| r.crookedness.max(l.crookedness)).or(least);
    }
    least
}

/// The pair with the least effort. Both lists are sorted by effort, and the efforts of a pair add up.
fn least_effort(
    left: &[Candidate],
    right: &[Candidate],
    together: &impl Fn(&Candidate, &Candidate) -> bool,
) -> Option<(usize, usize)> {
    let lightest = right.first()?.effort;
    let mut best: Option<(Effort, usize, usize)> = None;
    let no_better = |effort: Effort, best: &Option<(Effort, usize, usize)>| {
        best.as_ref().is_some_and(|(least, ..)| effort >= *least)
    };
    for l in left {
        if no_better(l.effort + lightest, &best) {
            break;
        }
        let found = right
            .iter()
            .take_while(|r| !no_better(l.effort + r.effort, &best))
            .find(|r| together(l, r));
        if let Some(r) = found {
            best = Some((l.effort + r.effort, l.option, r.option));
        }
    }
    best.map(|(_, l, r)| (l, r))
}

/// The plan that most probably keeps every minimum although that is not sure anywhere near; none when some corner is
/// surely below its minimum with everything there is.
pub(super) fn likeliest(case: &Case, options: &Options, one_size: bool) -> Option<Plan> {
    let terms = Terms {
        one_size,
        counted: true,
    };
    let possible = |plan: &Plan| plan.fits(options).iter().all(|fit| !fit.surely_breaks());
    let sure = |plan: &Plan| {
        plan.fits(options)
            .iter()
            .map(|fit| fit.least_certainty())
            .fold(1.0, f64::min)
    };
    let plans: Vec<Vec<usize>> = match case.sides.len() {
        2 if !one_size => {
            let [left, right] = [by_certainty(&options.fits[0]), by_certainty(&options.fits[1])];
            let pairs = left.iter().map(|&l| {
                right
                    .iter()
                    .find(|&&r| affordable(case, options, terms, &[l, r]))
                    .map(|&r| vec![l, r])
            });
            pairs.flatten().collect()
        }
        1 => (0..options.fits[0].len()).map(|option| vec![option]).collect(),
        sides => {
            let shared = (0..options.stacks.len()).map(|option| vec![option; sides]);
            shared.chain(all_stay_alike(case, options)).collect()
        }
    };
    plans
        .into_iter()
        .map(Plan)
        .filter(|plan| affordable(case, options, terms, &plan.0) && possible(plan))
        // Of equally sure ones the first, as everywhere.
        .reduce(|best, next| if sure(&next) > sure(&best) { next } else { best })
}

fn by_certainty(fits: &[Fit]) -> Vec<usize> {
    let mut options: Vec<usize> = (0..fits.len()).collect();
    options.sort_by(|&a, &b| {
        fits[b]
            .least_certainty()
            .total_cmp(&fits[a].least_certainty())
            .then(a.cmp(&b))
    });
    options
}
