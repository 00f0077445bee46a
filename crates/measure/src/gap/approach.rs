//! The approach: each piece of edge located on its own and all solved together, twice, until the edges lie within a
//! pixel of where the marks' search left them.

use super::pieces::{Round, Sighted, measure, strips};
use super::problem::Problem;
use super::refine::Ranges;
use super::start::Start;
use crate::Error;
use shimwright_record::Phrase;
use shimwright_say::say;
use shimwright_solve::{EdgeSight, FeatureId, JointState, Loss, Options};

/// Rounds of locating and solving; each looks less far.
const ROUNDS: [Round; 2] = [
    Round {
        reach: 3.0,
        leash: 1.5,
    },
    Round {
        reach: 2.0,
        leash: 0.8,
    },
];

/// The edges are located anew after each solve, so the last digits are lost labour.
const OPTIONS: Options = Options {
    iterations: 12,
    relative_fall: 1e-5,
};

/// Locates and solves, round by round. `blurs` is where the blur of each edge in each photo is kept.
pub(crate) fn near(
    problem: &Problem,
    start: &Start,
    mut state: JointState,
    sighted: &[Sighted],
    ranges: &Ranges,
) -> Result<JointState, Error> {
    let mut blurs = vec![None; sighted.len()];
    for round in ROUNDS {
        let edges: Vec<EdgeSight> = sighted
            .iter()
            .zip(&mut blurs)
            .flat_map(|(edge, blur)| strips(problem, &state, edge, blur, ranges.of(edge.feature)))
            .filter_map(|piece| measure(&piece, round))
            .collect();
        check_seen(&edges)?;
        let mut joint = start.joint(problem, &edges, &state);
        // Pieces that lie on something else must not pull the rest along.
        joint.edge_loss = Loss::Cauchy(3.0);
        state = joint
            .solve(state.clone(), &OPTIONS)
            .map_err(|error| does_not_fit(error.halves().0))?
            .state;
    }
    Ok(state)
}

/// The edges do not fit together.
pub(crate) fn does_not_fit(error: Phrase) -> Error {
    Error::unmeasurable(
        None,
        say!("the edges do not fit together ({error})"),
        say!("check that each mark lies on the same edge in every photo"),
    )
}

fn check_seen(edges: &[EdgeSight]) -> Result<(), Error> {
    for (feature, name) in [
        (FeatureId::Line, say!("mount's edge")),
        (FeatureId::Circle, say!("rim")),
    ] {
        let count = edges.iter().filter(|e| e.feature == feature).count();
        if count < 6 {
            return Err(Error::unmeasurable(
                None,
                say!("the {name} shows too little contrast: {count} of at least 6 pieces could be measured"),
                say!("light the gap from the side, avoid blur, and go nearer"),
            ));
        }
    }
    Ok(())
}
