//! Measures the edges: band model along each projected edge, joint solve, again until it settles.

use super::chamfer::{self, UNKNOWN_CHAMFER};
use super::locate::Rough;
use super::pieces::{Round, Sighted, StripPiece, card_blur, measure, misfit_where_solved, strips};
use super::problem::Problem;
use super::shade;
use super::start::Start;
use crate::Error;
use crate::observe::Observed;
use shimwright_geom::Vec3;
use shimwright_solve::{Circle, CurvePoint, EdgeSight, FeatureId, JointSolution, JointState, Line, Options};

/// Where the rounds begin for a start that has settled once, and for a quick look.
const FIRST_POOLED: usize = 3;
const LAST_TWO: usize = 4;
/// Rounds of locating and solving; each looks less far.
const ROUNDS: [Round; 6] = [
    Round {
        reach: 3.0,
        leash: 1.5,
        pooled: false,
    },
    Round {
        reach: 2.0,
        leash: 0.8,
        pooled: false,
    },
    Round {
        reach: 1.5,
        leash: 0.5,
        pooled: true,
    },
    Round {
        reach: 1.5,
        leash: 0.5,
        pooled: true,
    },
    Round {
        reach: 1.0,
        leash: 0.5,
        pooled: true,
    },
    Round {
        reach: 1.0,
        leash: 0.5,
        pooled: true,
    },
];

/// The edges are located anew after each solve, so the last digits of all but the final one are lost labour.
const ROUND_OPTIONS: Options = Options {
    iterations: 12,
    relative_fall: 1e-5,
};

/// A measured piece of an edge.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Located {
    pub sight: EdgeSight,
    /// Signed distance of the solved curve from it, in its standard deviations.
    pub residual: f64,
}

/// The refined measurement.
pub(crate) struct Refined {
    pub start: Start,
    pub solution: JointSolution,
    pub edges: Vec<EdgeSight>,
    pub located: Vec<Located>,
    /// How many pieces of the straight edge and of the rim were looked at in each photo.
    pub looked_at: Vec<[usize; 2]>,
    /// Every outcome that was weighed, with its weight.
    pub outcomes: Vec<(JointState, f64)>,
    pub mount_range: (f64, f64),
    pub rim_range: (f64, f64),
}

/// Measures, then measures again from places up to a chamfer's width away and weighs what comes out: an edge can
/// settle with one of its two lines taken for the other, and the pictures do not always tell which is right.
pub(crate) fn edges(problem: &Problem, photos: &[Observed], rough: Rough) -> Result<Refined, Error> {
    let Rough {
        start,
        state,
        mount_range,
        rim_range,
    } = rough;
    let sighted = sighted(problem, photos, &start);
    let job = Rounds {
        problem,
        start: &start,
        mount_range,
        rim_range,
    };
    let first = job.run(state, &sighted, &ROUNDS)?.solution.state;
    // The second time from the middle of what came out the first time: so the starts, and with them the outcome, hang
    // less on where the marks led.
    let rough = job.run_about(&first, &sighted, &ROUNDS[LAST_TWO..]);
    let middle = middle_of(&rough).ok_or_else(|| does_not_fit("no start settled"))?;
    let mut all = job.run_about(&middle, &sighted, &ROUNDS[FIRST_POOLED..]);
    let weights = weights(&all);
    let best = (0..all.len())
        .max_by(|&a, &b| weights[a].total_cmp(&weights[b]))
        .ok_or_else(|| does_not_fit("no start settled"))?;
    let outcomes = all
        .iter()
        .zip(&weights)
        .map(|(s, w)| (s.solution.state.clone(), *w))
        .collect();
    let settled = all.swap_remove(best);
    let (edges, solution) = widened(problem, &start, settled.edges, settled.solution)?;
    let located = residuals(&solution.state, &edges);
    let looked_at = job.pieces_looked_at(&solution.state, &sighted);
    Ok(Refined {
        start,
        solution,
        edges,
        located,
        looked_at,
        outcomes,
        mount_range,
        rim_range,
    })
}

/// From where the measurement is run: the mount's edge and the rim moved along the axis, in widths of their
/// chamfers. In halves, one for each of two threads.
const STARTS: [&[(f64, f64)]; 2] = [
    &[(0.0, 0.0), (0.0, -1.2), (0.0, -0.6), (-1.0, 0.0)],
    &[(0.0, 0.6), (0.0, 1.2), (1.0, 0.0)],
];

/// The best outcome with its features at the weighted mean of all.
fn middle_of(all: &[Settled]) -> Option<JointState> {
    let weights = weights(all);
    let best = (0..all.len()).max_by(|&a, &b| weights[a].total_cmp(&weights[b]))?;
    let mut middle = all[best].solution.state.clone();
    let mean = |pick: &dyn Fn(&JointState) -> Option<Vec3>| -> Option<Vec3> {
        all.iter()
            .zip(&weights)
            .map(|(s, w)| Some(pick(&s.solution.state)? * *w))
            .sum()
    };
    middle.line = Some(Line {
        point: mean(&|s| Some(s.line?.point))?,
        direction: mean(&|s| Some(s.line?.direction))?.normalize(),
    });
    middle.circle = Some(Circle {
        centre: mean(&|s| Some(s.circle?.centre))?,
        normal: mean(&|s| Some(s.circle?.normal))?.normalize(),
        radius: middle.circle?.radius,
    });
    Some(middle)
}

/// Differences of misfit and of cost that make one outcome e times as likely as another. Far wider than chance
/// alone would allow: what the model leaves out shifts both by about as much.
const MISFIT_SCALE: f64 = 0.08;
const COST_SCALE: f64 = 12.0;

/// Weights of the outcomes, adding up to one.
fn weights(all: &[Settled]) -> Vec<f64> {
    let badness = |s: &Settled| s.misfit / MISFIT_SCALE + s.solution.cost / COST_SCALE;
    let least = all.iter().map(badness).fold(f64::INFINITY, f64::min);
    let raw: Vec<f64> = all.iter().map(|s| (least - badness(s)).exp()).collect();
    let total: f64 = raw.iter().sum();
    raw.iter().map(|w| w / total).collect()
}

/// Every edge in every photo.
fn sighted<'a>(problem: &Problem, photos: &'a [Observed], start: &Start) -> Vec<Sighted<'a>> {
    let of_photo = |(k, &i): (usize, &usize)| {
        [FeatureId::Line, FeatureId::Circle].map(|feature| Sighted {
            picture: &photos[i].picture,
            photo: k,
            feature,
            corner_blur: card_blur(problem, &photos[i]),
        })
    };
    start.used.iter().enumerate().flat_map(of_photo).collect()
}

/// Where the rounds ended.
struct Settled {
    edges: Vec<EdgeSight>,
    solution: JointSolution,
    /// How badly the pieces fit the band model, all together.
    misfit: f64,
}

/// What the rounds need.
struct Rounds<'a> {
    problem: &'a Problem,
    start: &'a Start,
    mount_range: (f64, f64),
    rim_range: (f64, f64),
}

impl Rounds<'_> {
    fn range_of(&self, feature: FeatureId) -> (f64, f64) {
        match feature {
            FeatureId::Line => self.mount_range,
            FeatureId::Circle => self.rim_range,
        }
    }

    /// Runs the later rounds from every start about a state, on two threads; starts that do not settle are left out.
    fn run_about(&self, about: &JointState, sighted: &[Sighted], rounds: &[Round]) -> Vec<Settled> {
        let mount_leg = self.problem.drive.mount_chamfer.unwrap_or(UNKNOWN_CHAMFER);
        let rim_leg = self.problem.drive.rim_chamfer.unwrap_or(UNKNOWN_CHAMFER);
        let from = |&(mount, rim): &(f64, f64)| {
            let mut from = about.clone();
            if let (Some(line), Some(circle)) = (&mut from.line, &mut from.circle) {
                let axis = chamfer::axis(line, circle);
                line.point += axis * (mount * mount_leg);
                circle.centre += axis * (rim * rim_leg);
            }
            self.run(from, sighted, rounds).ok()
        };
        let from = &from;
        std::thread::scope(|scope| {
            let halves =
                STARTS.map(|half| scope.spawn(move || half.iter().filter_map(from).collect::<Vec<_>>()));
            halves
                .into_iter()
                .filter_map(|half| half.join().ok())
                .flatten()
                .collect()
        })
    }

    fn pieces_looked_at(&self, state: &JointState, sighted: &[Sighted]) -> Vec<[usize; 2]> {
        let mut count = vec![[0; 2]; state.photos.len()];
        let mut blurs = vec![None; sighted.len()];
        for piece in self.strips(state, sighted, &mut blurs, ROUNDS[0]) {
            count[piece.photo][piece.feature as usize] += 1;
        }
        count
    }

    /// Locates and solves, round by round.
    fn run(&self, mut state: JointState, sighted: &[Sighted], rounds: &[Round]) -> Result<Settled, Error> {
        let mut blurs = vec![None; sighted.len()];
        let mut settled = None;
        for &round in rounds {
            let pieces = self.strips(&state, sighted, &mut blurs, round);
            let edges: Vec<EdgeSight> = pieces.iter().filter_map(|piece| measure(piece, round)).collect();
            check_seen(&edges)?;
            let joint = self.start.joint(self.problem, &edges, &state);
            let solution = joint
                .solve(state.clone(), &ROUND_OPTIONS)
                .map_err(|error| does_not_fit(&error.to_string()))?;
            state = solution.state.clone();
            settled = Some((edges, solution));
        }
        let (edges, solution) = settled.ok_or_else(|| does_not_fit("no round was run"))?;
        let last = ROUNDS[ROUNDS.len() - 1];
        let misfits: Vec<f64> = self
            .strips(&state, sighted, &mut blurs, last)
            .iter()
            .filter_map(misfit_where_solved)
            .collect();
        let misfit = misfits.iter().sum::<f64>() / misfits.len().max(1) as f64;
        Ok(Settled {
            edges,
            solution,
            misfit,
        })
    }

    /// The pieces of all edges in all photos, with what is expected of their chamfers.
    fn strips(
        &self,
        state: &JointState,
        sighted: &[Sighted],
        blurs: &mut [Option<f64>],
        round: Round,
    ) -> Vec<StripPiece> {
        let mut pieces: Vec<_> = sighted
            .iter()
            .zip(blurs)
            .flat_map(|(edge, blur)| strips(self.problem, state, edge, blur, self.range_of(edge.feature)))
            .collect();
        if round.pooled {
            for feature in [FeatureId::Line, FeatureId::Circle] {
                shade::pool(&mut pieces, feature, self.range_of(feature));
            }
        }
        pieces
    }
}

fn does_not_fit(error: &str) -> Error {
    Error::unmeasurable(
        None,
        format!("the edges do not fit together ({error})"),
        "check that each mark lies on the same edge in every photo",
    )
}

fn check_seen(edges: &[EdgeSight]) -> Result<(), Error> {
    for (feature, name) in [(FeatureId::Line, "mount's edge"), (FeatureId::Circle, "rim")] {
        let count = edges.iter().filter(|e| e.feature == feature).count();
        if count < 6 {
            return Err(Error::unmeasurable(
                None,
                format!(
                    "the {name} shows too little contrast: {count} of at least 6 pieces could be measured"
                ),
                "light the gap from the side, avoid blur, and go nearer",
            ));
        }
    }
    Ok(())
}

/// Residuals of the edge points, in standard deviations.
pub(crate) fn residuals(state: &JointState, edges: &[EdgeSight]) -> Vec<Located> {
    edges
        .iter()
        .filter_map(|sight| {
            let camera = state.camera_of(sight.photo);
            let pose = &state.photos[sight.photo].camera_from_fixed;
            let near = match sight.feature {
                FeatureId::Line => {
                    CurvePoint::nearest(&state.line?, &camera, pose, &sight.at, &sight.side, sight.t)
                }
                FeatureId::Circle => {
                    CurvePoint::nearest(&state.circle?, &camera, pose, &sight.at, &sight.side, sight.t)
                }
            }?;
            let residual = (near.seen.at - sight.at).dot(&near.normal) / sight.sigma_px;
            Some(Located {
                sight: *sight,
                residual,
            })
        })
        .collect()
}

/// Widens the edges' standard deviations until they match their scatter, and solves once more: neighbouring pieces
/// share grain and JPEG blocks, which the noise of a single piece does not show.
fn widened(
    problem: &Problem,
    start: &Start,
    mut edges: Vec<EdgeSight>,
    solution: JointSolution,
) -> Result<(Vec<EdgeSight>, JointSolution), Error> {
    for feature in [FeatureId::Line, FeatureId::Circle] {
        let mut sizes: Vec<f64> = residuals(&solution.state, &edges)
            .iter()
            .filter(|l| l.sight.feature == feature)
            .map(|l| l.residual.abs())
            .collect();
        sizes.sort_by(f64::total_cmp);
        // Median absolute deviation of a normal distribution is 0.6745 sigma.
        let spread = sizes.get(sizes.len() / 2).map_or(1.0, |m| m / 0.6745).max(1.0);
        for edge in edges.iter_mut().filter(|e| e.feature == feature) {
            edge.sigma_px *= spread;
        }
    }
    let again = start
        .joint(problem, &edges, &solution.state)
        .solve(solution.state.clone(), &Options::default())
        .map_err(|error| does_not_fit(&error.to_string()))?;
    Ok((edges, again))
}
