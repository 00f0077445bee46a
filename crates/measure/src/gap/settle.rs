//! Settles edges, poses and lens together on the tables: one objective for all pieces at once, so that what comes out
//! hangs on the pictures and not on where the search began.

use super::problem::Problem;
use super::refine::Located;
use super::start::Start;
use super::tables::{OwnPlace, Row, SHARE_STEP, SHARES, Table};
use shimwright_solve::{CurvePoint, EdgeSight, FeatureId, JointSolution, JointState, Options};
use std::sync::OnceLock;

/// Places along an edge whose chamfers throw back their own share of light.
const BINS: usize = 12;
/// Standard deviation of the change of that share from one place to the next.
const SHARE_CHANGE: f64 = 0.1;
/// Most rounds, and the move of every piece below which all has settled, px.
const ROUNDS: usize = 50;
const SETTLED: f64 = 1e-3;
/// Longest move of a piece in one round, px.
const STRIDE: f64 = 0.4;

/// Pieces believed less than this are no witnesses for or against what came out.
const WITNESS: f64 = 0.5;

/// All tables of a job.
pub(crate) struct Tables {
    tables: Vec<Table>,
    /// Bin of each along its edge.
    bins: Vec<usize>,
    /// How many of the first are of one cut and do not overlap others: these are witnesses of whether the photos agree.
    witnesses: usize,
}

/// The tables' say at a state.
pub(crate) struct Say {
    /// Cost of all pieces (twice the negative logarithm of their likelihood, chamfers' light weighed out).
    pub cost: f64,
    /// Each piece's place, slope and curvature of cost; absent where the edge is out of its reach.
    pub pulls: Vec<Option<Pull>>,
    /// Weights of the shares in each bin of the two edges.
    pub shares: [Vec<[f64; SHARES]>; 2],
}

/// How a piece pulls.
#[derive(Clone, Copy)]
pub(crate) struct Pull {
    /// Where the edge runs across the piece's strip, px.
    pub place: f64,
    /// First and second derivative of cost.
    pub slope: f64,
    pub curvature: f64,
}

/// Where it settled.
#[derive(Clone)]
pub(crate) struct Settled {
    /// Each piece as a point of its edge, as wide as the chamfer's light leaves it open.
    pub edges: Vec<EdgeSight>,
    pub solution: JointSolution,
    /// Cost of pieces, corners and priors.
    pub cost: f64,
    /// How far the farthest piece still moved in the last round, px.
    pub unrest: f64,
}

impl Tables {
    pub fn new(tables: Vec<Table>, ranges: &[(f64, f64); 2]) -> Self {
        let bins = tables
            .iter()
            .map(|table| {
                let (low, high) = ranges[table.feature as usize];
                (((table.t - low) / (high - low) * BINS as f64).max(0.0) as usize).min(BINS - 1)
            })
            .collect();
        Self {
            witnesses: tables.len(),
            tables,
            bins,
        }
    }

    /// The tables of several cuts of the same edges; together they count as one.
    pub fn together(cuts: impl ExactSizeIterator<Item = Self>) -> Self {
        let share = 1.0 / cuts.len() as f64;
        let mut all = Self::new(Vec::new(), &[(0.0, 1.0); 2]);
        for mut cut in cuts {
            if all.witnesses == 0 {
                all.witnesses = cut.witnesses;
            }
            cut.scale(share);
            all.tables.append(&mut cut.tables);
            all.bins.append(&mut cut.bins);
        }
        all
    }

    /// Lets every piece count so many times as much.
    pub fn scale(&mut self, by: f64) {
        self.tables.iter_mut().for_each(|table| table.weight *= by);
    }

    /// What the pieces say where a state puts the edges.
    pub fn say(&self, state: &JointState) -> Say {
        let rows: Vec<Option<(f64, Row)>> = self
            .tables
            .iter()
            .map(|table| {
                let place = place_of(state, table)?;
                Some((place, table.at(place)))
            })
            .collect();
        let mut unary = [vec![[0.0; SHARES]; BINS], vec![[0.0; SHARES]; BINS]];
        for ((table, &bin), row) in self.tables.iter().zip(&self.bins).zip(&rows) {
            if let Some((_, row)) = row {
                let slot = &mut unary[table.feature as usize][bin];
                slot.iter_mut()
                    .zip(&row[0])
                    .for_each(|(sum, c)| *sum += table.weight * c);
            }
        }
        let (line, circle) = (chain(&unary[0]), chain(&unary[1]));
        let cost = line.1 + circle.1;
        let shares = [line.0, circle.0];
        let pulls = (self.tables.iter().zip(&self.bins).zip(&rows))
            .map(|((table, &bin), row)| {
                let (place, row) = row.as_ref()?;
                let weights = &shares[table.feature as usize][bin];
                Some(Pull {
                    place: *place,
                    slope: table.weight * mean(weights, &row[1]),
                    curvature: table.weight * mean(weights, &row[2]),
                })
            })
            .collect();
        Say { cost, pulls, shares }
    }

    /// Each piece as a point of its edge that pulls as its table does.
    fn sights(&self, say: &Say) -> Vec<EdgeSight> {
        self.tables
            .iter()
            .zip(&say.pulls)
            .filter_map(|(table, pull)| {
                let pull = pull.as_ref()?;
                // Any positive curvature has the same fixed point; this one keeps the steps short and the pull of a
                // piece that lies on a slope as strong as that slope.
                let curvature = pull
                    .curvature
                    .max(pull.slope.abs() / STRIDE)
                    .max(LEAST_CURVATURE * table.weight);
                let place = pull.place - pull.slope / curvature;
                Some(table.sight(place, (2.0 / curvature).sqrt()))
            })
            .collect()
    }

    /// Each piece as a point of its edge right where a state puts it, with the width of the band between the edge's lines.
    pub fn placed(&self, state: &JointState) -> Vec<(EdgeSight, f64)> {
        self.tables
            .iter()
            .filter_map(|table| {
                let place = place_of(state, table)?;
                let sight = table.sight(place, 1.0);
                Some((sight, table.band))
            })
            .collect()
    }

    /// Moves everything to the nearest state at which nothing pulls any more.
    pub fn settle(&self, problem: &Problem, start: &Start, mut state: JointState) -> Option<Settled> {
        let options = Options {
            iterations: 1,
            relative_fall: 1e-9,
        };
        let mut last: Option<(JointSolution, f64)> = None;
        for _ in 0..ROUNDS {
            let say = self.say(&state);
            let edges = self.sights(&say);
            let joint = start.joint(problem, &edges, &state);
            let solution = joint.solve(state.clone(), &options).ok()?;
            state = solution.state.clone();
            let moved = self.farthest_move(&say, &state);
            last = Some((solution, moved));
            if moved < SETTLED {
                break;
            }
        }
        let (solution, unrest) = last?;
        let say = self.say(&state);
        let mut edges = self.sights(&say);
        self.widen(&state, &say, &mut edges);
        let rest = start
            .joint(problem, &[], &state)
            .solve(
                state.clone(),
                &Options {
                    iterations: 0,
                    relative_fall: 0.0,
                },
            )
            .ok()?;
        Some(Settled {
            edges,
            solution,
            cost: say.cost + rest.cost,
            unrest,
        })
    }

    /// What share of the pieces' curvature is left in each bin of the two edges when the chamfer's light is not known:
    /// all pieces of a bin would move together with it. The curvature of a sum weighed over shares is the mean
    /// curvature less half the variance of the slope.
    fn left(&self, state: &JointState, shares: &[Vec<[f64; SHARES]>; 2]) -> [[f64; BINS]; 2] {
        let mut slopes = [[[0.0; SHARES]; BINS]; 2];
        let mut curvatures = [[0.0; BINS]; 2];
        for (table, &bin) in self.tables.iter().zip(&self.bins) {
            let Some(place) = place_of(state, table) else {
                continue;
            };
            let row = table.at(place);
            let (k, weights) = (table.feature as usize, &shares[table.feature as usize][bin]);
            let sum = slopes[k][bin].iter_mut().zip(&row[1]);
            sum.for_each(|(sum, slope)| *sum += table.weight * slope);
            curvatures[k][bin] += table.weight * mean(weights, &row[2]);
        }
        std::array::from_fn(|k| {
            std::array::from_fn(|bin| {
                let weights = &shares[k][bin];
                let middle = mean(weights, &slopes[k][bin]);
                let variance = mean(weights, &slopes[k][bin].map(|s| (s - middle).powi(2)));
                let whole = curvatures[k][bin].max(1e-9);
                ((whole - 0.5 * variance) / whole).clamp(LEAST_LEFT, 1.0)
            })
        })
    }

    /// Widens edge points by what is not known of the chamfer's light.
    fn widen(&self, state: &JointState, say: &Say, edges: &mut [EdgeSight]) {
        let left = self.left(state, &say.shares);
        let pieces = self.tables.iter().zip(&self.bins).zip(&say.pulls);
        let told = pieces.filter_map(|(piece, pull)| pull.as_ref().map(|_| piece));
        for (edge, (table, &bin)) in edges.iter_mut().zip(told) {
            edge.sigma_px /= left[table.feature as usize][bin].sqrt();
        }
    }

    /// Number of pieces of the straight edge and of the rim in each photo.
    pub fn count(&self, photos: usize) -> Vec<[usize; 2]> {
        let mut count = vec![[0; 2]; photos];
        for table in self.tables[..self.witnesses]
            .iter()
            .filter(|table| table.believed >= WITNESS)
        {
            count[table.photo][table.feature as usize] += 1;
        }
        count
    }

    /// Each piece located on its own, under the chamfer's light of all; and how many pieces of the straight edge and of
    /// the rim show in each photo where they lie, be it there or beyond their table.
    pub fn located(&self, state: &JointState) -> (Vec<Located>, Vec<[usize; 2]>) {
        let say = self.say(state);
        let mut told = vec![[0; 2]; state.photos.len()];
        let mut located = Vec::new();
        for ((table, &bin), pull) in self.tables[..self.witnesses]
            .iter()
            .zip(&self.bins)
            .zip(&say.pulls)
        {
            let Some(pull) = pull.as_ref().filter(|_| table.believed >= WITNESS) else {
                continue;
            };
            let shares = &say.shares[table.feature as usize][bin];
            let own = table.own_place(shares, pull.place);
            told[table.photo][table.feature as usize] += usize::from(own != OwnPlace::Vague);
            if let OwnPlace::At(place, sigma_px) = own {
                let sight = table.sight(place, sigma_px);
                let residual = (pull.place - place) / sigma_px;
                located.push(Located { sight, residual });
            }
        }
        (located, told)
    }

    fn farthest_move(&self, say: &Say, state: &JointState) -> f64 {
        self.tables
            .iter()
            .zip(&say.pulls)
            .filter_map(|(table, pull)| Some((place_of(state, table)? - pull.as_ref()?.place).abs()))
            .fold(0.0, f64::max)
    }
}

/// Mean of values under weights of the shares.
fn mean(weights: &[f64; SHARES], values: &[f64; SHARES]) -> f64 {
    weights.iter().zip(values).map(|(w, v)| w * v).sum()
}

/// Least share of the curvature that is left: the second order says nothing beyond.
const LEAST_LEFT: f64 = 0.05;
/// Least curvature of a piece's cost in a step, 1/px^2: a piece that says nothing here must not stop the others.
const LEAST_CURVATURE: f64 = 2.0;

/// Where a state puts an edge across a piece's strip, px, the shift of the whole edge in the photo included.
fn place_of(state: &JointState, table: &Table) -> Option<f64> {
    let camera = state.camera_of(table.photo);
    let pose = &state.photos[table.photo].camera_from_fixed;
    let (at, side) = (&table.guess.at, &table.guess.side);
    let near = match table.feature {
        FeatureId::Line => CurvePoint::nearest(&state.line?, &camera, pose, at, side, table.t),
        FeatureId::Circle => CurvePoint::nearest(&state.circle?, &camera, pose, at, side, table.t),
    }?;
    let shift = state.photos[table.photo].shift_of(table.feature, table.along);
    Some((near.seen.at - at).dot(&near.normal) + shift)
}

/// Weighs the shares along an edge: each bin's own costs, and a share that changes little from bin to bin (sums over
/// all courses of the share, forward and backward). Gives the shares' weights in each bin, and twice the negative
/// logarithm of the whole likelihood.
fn chain(costs: &[[f64; SHARES]]) -> (Vec<[f64; SHARES]>, f64) {
    let likelihoods: Vec<([f64; SHARES], f64)> = costs
        .iter()
        .map(|c| {
            let least = c.iter().copied().fold(f64::INFINITY, f64::min);
            (c.map(|v| (-0.5 * (v - least)).exp()), least)
        })
        .collect();
    let changes = changes();
    let next = |from: &[f64; SHARES]| -> [f64; SHARES] {
        std::array::from_fn(|j| (0..SHARES).map(|i| from[i] * changes[i.abs_diff(j)]).sum())
    };
    let mut forward = vec![[1.0 / SHARES as f64; SHARES]; costs.len()];
    let mut cost = 0.0;
    for i in 0..costs.len() {
        let before = if i == 0 { forward[0] } else { next(&forward[i - 1]) };
        let mut here: [f64; SHARES] = std::array::from_fn(|s| before[s] * likelihoods[i].0[s]);
        let total: f64 = here.iter().sum();
        here.iter_mut().for_each(|v| *v /= total);
        forward[i] = here;
        cost += likelihoods[i].1 - 2.0 * total.ln();
    }
    let mut backward = [1.0; SHARES];
    let mut weights = vec![[0.0; SHARES]; costs.len()];
    for i in (0..costs.len()).rev() {
        let raw: [f64; SHARES] = std::array::from_fn(|s| forward[i][s] * backward[s]);
        let total: f64 = raw.iter().sum();
        weights[i] = raw.map(|v| v / total);
        let here: [f64; SHARES] = std::array::from_fn(|s| backward[s] * likelihoods[i].0[s]);
        backward = next(&here);
        let total: f64 = backward.iter().sum();
        backward.iter_mut().for_each(|v| *v /= total);
    }
    (weights, cost)
}

/// Likelihood of a change from one share to another, by how many steps they lie apart.
fn changes() -> &'static [f64; SHARES] {
    static TABLE: OnceLock<[f64; SHARES]> = OnceLock::new();
    TABLE.get_or_init(|| {
        std::array::from_fn(|apart| {
            let steps = apart as f64 * SHARE_STEP / SHARE_CHANGE;
            (-0.5 * steps * steps).exp() / (2.5066 * SHARE_CHANGE / SHARE_STEP)
        })
    })
}
