//! Rounds of locating and solving.

use super::Edge;
use super::lines::Together;
use super::pieces::{Located, Look, Sighted};
use crate::Error;
use crate::gap::view::View;
use crate::observe::Observed;
use crate::scene::Scene;
use shimwright_record::Phrase;
use shimwright_say::say;
use shimwright_solve::{CurveSight, CurvesProblem, CurvesSolution, CurvesState, Known, Options};

/// Each round looks less far.
const LOOKS: [Look; 4] = [
    Look {
        reach: 3.5,
        leash: 2.0,
        own_blur: false,
    },
    Look {
        reach: 2.0,
        leash: 0.8,
        own_blur: false,
    },
    Look {
        reach: 1.25,
        leash: 0.5,
        own_blur: true,
    },
    Look {
        reach: 1.25,
        leash: 0.5,
        own_blur: true,
    },
];
/// Before this round the two lines of a chamfer are told apart.
const LINES_TOLD_APART: usize = 2;
/// The edges are located anew after each solve, so the last digits of all but the final one are lost labour.
const ROUND_OPTIONS: Options = Options {
    iterations: 12,
    relative_fall: 1e-5,
};
/// Standard deviation of the shift that light may give a whole edge in one photo, px. Edges in focus on evenly lit parts
/// were seen to shift by less than half of it.
const EDGE_SHIFT: f64 = 0.07;
/// Fewest pieces of a curve over all photos.
const FEWEST: usize = 12;

/// What the rounds work on.
pub(crate) struct Rounds<'a> {
    pub scene: &'a Scene,
    pub photos: &'a [Observed],
    /// What is known of the curves.
    pub known: &'a [Known],
    /// How each curve of the state shows.
    pub edges: &'a [Edge],
    /// Their names in messages.
    pub names: &'a [&'a str],
}

/// Where the rounds ended.
pub(crate) struct Settled {
    /// The located pieces that count.
    pub sights: Vec<CurveSight>,
    /// The solution.
    pub solution: CurvesSolution,
    /// How badly the pieces fit the band model, all together.
    pub misfit: f64,
    /// Share of the pieces of each curve that count, photo by photo; `None` where it is out of the picture.
    pub shares: Vec<Option<f64>>,
    /// Standard deviation of how far outward each curve lies that comes of not knowing which line of its chamfer is which,
    /// mm.
    pub open: Vec<f64>,
}

impl<'a> Rounds<'a> {
    /// The joint problem with some sights.
    pub fn problem<'s>(&'s self, sights: &'s [CurveSight], state: &'s CurvesState) -> CurvesProblem<'s> {
        CurvesProblem {
            base: self.scene.joint(),
            sights,
            known: self.known,
            curves: &state.curves,
            shift_sigma: EDGE_SHIFT,
        }
    }

    /// Locates and solves, round by round.
    pub fn settle(&self, start: CurvesState) -> Result<Settled, Error> {
        let mut state = start;
        let mut blurs = vec![None; state.shifts.len()];
        let mut settled = None;
        let mut light = vec![Together::default(); state.curves.len()];
        for (round, look) in LOOKS.into_iter().enumerate() {
            // A curve that need not lie flat may have settled further from its place, and is moved in two steps.
            let aslant = round + 1 == LINES_TOLD_APART && self.edges.iter().any(|edge| edge.aside);
            if round == LINES_TOLD_APART || aslant {
                light = self.tell_lines_apart(&mut state, &blurs);
            }
            let found = self.locate(&state, &light, &mut blurs, look);
            let sights = sights_of(&found, state.curves.len());
            self.check_seen(&found, &sights)?;
            let solution = self
                .problem(&sights, &state)
                .solve(state.clone(), &ROUND_OPTIONS)
                .map_err(|error| does_not_fit(error.halves().0))?;
            state = solution.state;
            settled = Some((found, sights));
        }
        let (found, sights) = settled.ok_or_else(|| does_not_fit(say!("no round was run")))?;
        let misfit = self.misfit(&state, &light, &blurs, &found);
        let (sights, solution) = self.widened(state, sights)?;
        Ok(Settled {
            sights,
            solution,
            misfit,
            shares: found.iter().map(|pieces| share(pieces)).collect(),
            open: light.iter().map(|light| light.open).collect(),
        })
    }

    pub(super) fn sighted<'s>(
        &'s self,
        state: &CurvesState,
        i: usize,
        shares: &'s [(f64, f64)],
    ) -> Sighted<'s> {
        let (k, curve) = (i / state.curves.len(), i % state.curves.len());
        Sighted {
            picture: &self.photos[self.scene.used[k]].picture,
            view: View::of(&state.base, k),
            shape: state.curves[curve],
            edge: self.edges[curve],
            shares,
        }
    }

    /// The pieces of each curve in each photo.
    fn locate(
        &self,
        state: &CurvesState,
        light: &[Together],
        blurs: &mut [Option<f64>],
        look: Look,
    ) -> Vec<Vec<Option<Located>>> {
        let one = |(i, blur): (usize, &mut Option<f64>)| {
            let (k, curve) = (i / state.curves.len(), i % state.curves.len());
            let sighted = self.sighted(state, i, &light[curve].shares);
            if self.edges[curve].only_in.is_some_and(|only| only != k) {
                return vec![];
            }
            let photo = &self.photos[self.scene.used[k]];
            let blur = *blur.get_or_insert_with(|| sighted.blur(self.scene.setting.blur(photo)));
            sighted.locate(blur, look)
        };
        let one = &one;
        // A thread for each photo: their pixels are their own.
        let per_photo = state.curves.len().max(1);
        std::thread::scope(|scope| {
            let photos: Vec<_> = blurs
                .chunks_mut(per_photo)
                .enumerate()
                .map(|(k, blurs)| {
                    scope.spawn(move || {
                        let numbered = blurs.iter_mut().enumerate();
                        numbered
                            .map(|(curve, blur)| one((k * per_photo + curve, blur)))
                            .collect::<Vec<_>>()
                    })
                })
                .collect();
            photos
                .into_iter()
                // A photo's pieces must not be missed in silence.
                .flat_map(|photo| {
                    photo
                        .join()
                        .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
                })
                .collect()
        })
    }

    fn misfit(
        &self,
        state: &CurvesState,
        light: &[Together],
        blurs: &[Option<f64>],
        found: &[Vec<Option<Located>>],
    ) -> f64 {
        let misfits: Vec<f64> = found
            .iter()
            .zip(blurs)
            .enumerate()
            .filter_map(|(i, (pieces, blur))| {
                let which: Vec<bool> = pieces.iter().map(Option::is_some).collect();
                let shares = &light[i % state.curves.len()].shares;
                self.sighted(state, i, shares).misfit((*blur)?, &which)
            })
            .collect();
        misfits.iter().sum::<f64>() / misfits.len().max(1) as f64
    }

    fn check_seen(&self, found: &[Vec<Option<Located>>], sights: &[CurveSight]) -> Result<(), Error> {
        for (curve, name) in self.names.iter().enumerate() {
            let looked: usize = found
                .iter()
                .skip(curve)
                .step_by(self.names.len())
                .map(Vec::len)
                .sum();
            if looked < FEWEST && self.edges[curve].wall().is_some() {
                return Err(Error::unmeasurable(
                    None,
                    say!("a sliver of the part's wall shows beside the edge `{name}` in every photo"),
                    say!(
                        "take a photo from the other side, from where the upper face hides the wall below that edge"
                    ),
                ));
            }
            let count = sights.iter().filter(|sight| sight.curve == curve).count();
            if count < FEWEST {
                return Err(Error::unmeasurable(
                    None,
                    say!(
                        "the edge `{name}` shows too little contrast: {count} of at least {FEWEST} pieces could be \
                         measured"
                    ),
                    say!(
                        "light the part evenly, put it where its edge stands out from what lies behind, and avoid blur"
                    ),
                ));
            }
        }
        Ok(())
    }

    /// Widens the standard deviations of each curve until they match the scatter, and solves once more.
    fn widened(
        &self,
        state: CurvesState,
        mut sights: Vec<CurveSight>,
    ) -> Result<(Vec<CurveSight>, CurvesSolution), Error> {
        for curve in 0..state.curves.len() {
            let mut sizes: Vec<f64> = sights
                .iter()
                .filter(|sight| sight.curve == curve)
                .filter_map(|sight| self.residual(&state, sight))
                .map(f64::abs)
                .collect();
            sizes.sort_by(f64::total_cmp);
            // Median absolute deviation of a normal distribution is 0.6745 sigma.
            let spread = sizes.get(sizes.len() / 2).map_or(1.0, |m| m / 0.6745).max(1.0);
            for sight in sights.iter_mut().filter(|sight| sight.curve == curve) {
                sight.sigma_px *= spread;
            }
        }
        let solution = self
            .problem(&sights, &state)
            .solve(state.clone(), &Options::default())
            .map_err(|error| does_not_fit(error.halves().0))?;
        Ok((sights, solution))
    }

    /// How far the solved curve passes from a sight, standard deviations.
    pub fn residual(&self, state: &CurvesState, sight: &CurveSight) -> Option<f64> {
        let shift = state.shifts[sight.photo * state.curves.len() + sight.curve];
        let miss = state.miss_px(sight)?;
        Some((miss + shift) / sight.sigma_px)
    }
}

fn share(pieces: &[Option<Located>]) -> Option<f64> {
    let located = pieces.iter().flatten().count();
    (!pieces.is_empty()).then(|| located as f64 / pieces.len() as f64)
}

fn sights_of(found: &[Vec<Option<Located>>], curves: usize) -> Vec<CurveSight> {
    let sight = |i: usize, one: &Located| CurveSight {
        photo: i / curves,
        curve: i % curves,
        at: one.piece.guess.at + one.piece.guess.side * one.place,
        side: one.piece.guess.side,
        t: one.piece.t,
        sigma_px: one.sigma,
    };
    found
        .iter()
        .enumerate()
        .flat_map(|(i, pieces)| pieces.iter().flatten().map(move |one| sight(i, one)))
        .collect()
}

fn does_not_fit(error: Phrase) -> Error {
    Error::unmeasurable(
        None,
        say!("the edges do not fit together ({error})"),
        say!("check that each mark lies on the same edge in every photo"),
    )
}
