//! Measures the rim: band model along the projected circle, joint solve, again until it settles.

use super::problem::Problem;
use super::shade;
use super::size::Size;
use super::start::{Start, corners_of};
use crate::Error;
use crate::gap::view::{Piece, View};
use crate::observe::Observed;
use shimwright_edge::{Band, Noise, Strip, fit_band_near_blur};
use shimwright_geom::{GreyPicture, Vec3};
use shimwright_record::Phrase;
use shimwright_say::say;
use shimwright_solve::{Circle, CurvePoint, EdgeSight, FeatureId, Options, TurnSolution, TurnState};
use std::f64::consts::TAU;

/// Chamfer leg taken when the job states none, mm: machined edges are usually broken by 0.1 to 0.2 mm
/// (common practice, no source).
const UNKNOWN_CHAMFER: f64 = 0.12;
/// Pieces around the rim: the same places of the rim in every photo.
pub(crate) const PIECES: usize = 120;
/// Sectors around the axis in the fixed frame, in which what hides the rim stands still.
pub(super) const SECTORS: usize = 24;
/// Share of a sector's pieces that must be located on the rim for the sector to be believed.
const LEAST_LOCATED: f64 = 0.5;
/// Fewest believed pieces of a photo, and of all.
const FEWEST_PIECES: usize = 20;
/// A piece within this of the solved rim fits it, standard deviations.
const FITS: f64 = 3.5;
/// Pixels of flat surface looked at beyond the blurred edge: enough to tell a step from a slope of light.
const FLAT: f64 = 4.0;
/// Blur taken when no corner tells, px.
const USUAL_BLUR: f64 = 0.9;
/// Part of a piece's standard deviation that the noise does not show: rounding of the edge, grain, px.
const FLOOR: f64 = 0.05;
/// Pieces less certain than this say nothing, px.
const VAGUE: f64 = 1.0;
/// Depth of the rim's wall behind its chamfer that is taken to be lit evenly, mm: flanges are mostly sheet of 1 mm and
/// more (common practice, no source).
const WALL: f64 = 1.0;
/// By how many widths of that depth a sliver of wall may draw an edge off: the wall may be deeper, and the light of
/// the chamfer before it follows.
const DRAWN: f64 = 2.0;

/// How a round looks.
#[derive(Clone, Copy)]
struct Round {
    /// How far from the guess the edge may lie, px, and in what steps.
    reach: f64,
    step: f64,
    /// How far it usually lies, px.
    leash: f64,
    /// Whether the chamfer's light is shared between the photos.
    pooled: bool,
}

/// Rounds of locating and solving; each looks less far.
const ROUNDS: [Round; 4] = [
    Round {
        reach: 4.0,
        step: 0.25,
        leash: 2.0,
        pooled: false,
    },
    Round {
        reach: 2.0,
        step: 0.25,
        leash: 1.0,
        pooled: false,
    },
    Round {
        reach: 1.5,
        step: 0.125,
        leash: 0.6,
        pooled: true,
    },
    Round {
        reach: 1.0,
        step: 0.125,
        leash: 0.5,
        pooled: true,
    },
];

/// The last round is run again until the rim moves by less than this, mm, but no more often than so: what comes out must
/// hang on the pictures and not on where the search began.
const SETTLED: f64 = 1e-3;
const MOST_AGAIN: usize = 3;

/// The edges are located anew after each solve, so the last digits of all but the final one are lost labour.
const ROUND_OPTIONS: Options = Options {
    iterations: 8,
    relative_fall: 1e-5,
};

/// A measured piece of the rim.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Located {
    pub sight: EdgeSight,
    /// Which of the [`PIECES`] places of the rim.
    pub place: usize,
    /// Angle about the axis in the fixed frame, rad.
    pub around: f64,
    /// Pixels across it that a millimetre of radius makes.
    pub per_mm: f64,
    /// Signed distance of the solved rim from it outward, in its standard deviations.
    pub residual: f64,
}

/// The measured rim.
pub(crate) struct Measured {
    pub start: Start,
    pub solution: TurnSolution,
    pub located: Vec<Located>,
    /// The same as the solver takes them.
    pub sights: Vec<EdgeSight>,
    /// How its radius is mended.
    pub size: Size,
}

/// The chamfer leg that is reckoned with, mm.
pub(crate) fn chamfer(problem: &Problem) -> f64 {
    problem.drive.rim_chamfer.unwrap_or(UNKNOWN_CHAMFER)
}

/// Measures from a rough rim.
pub(crate) fn measure(
    problem: &Problem,
    photos: &[Observed],
    start: Start,
    rough: Circle,
) -> Result<Measured, Error> {
    let leg = chamfer(problem);
    let mut state = start.state.clone();
    state.rim = Some(Circle {
        radius: rough.radius - leg / 2.0,
        ..rough
    });
    let mut sectors = [true; SECTORS];
    let mut last = None;
    let again = std::iter::repeat_n(ROUNDS[ROUNDS.len() - 1], MOST_AGAIN);
    for (n, round) in ROUNDS.into_iter().chain(again).enumerate() {
        let before = state.rim;
        let look = Look::new(problem, photos, &start, &sectors);
        let (pieces, looked) = look.pieces(&state, round);
        let sights: Vec<EdgeSight> = pieces.iter().map(|p| p.sight).collect();
        check_seen(&sights, start.used.len())?;
        let solution = start
            .joint(problem, &sights, &state)
            .solve(state.clone(), &ROUND_OPTIONS)
            .map_err(|error| does_not_fit(error.halves().0))?;
        state = solution.state.clone();
        let located = with_residuals(&state, pieces);
        sectors = believed(&sectors, &looked, &located);
        last = Some(located);
        if n + 1 >= ROUNDS.len() && settled(before, state.rim) {
            break;
        }
    }
    let mut located = last.ok_or_else(|| does_not_fit(say!("no round was run")))?;
    located.retain(|l| sectors[sector_of(l.around)]);
    widen(&mut located);
    let sights: Vec<EdgeSight> = located.iter().map(|l| l.sight).collect();
    check_seen(&sights, start.used.len())?;
    let solution = start
        .joint(problem, &sights, &state)
        .solve(state, &Options::default())
        .map_err(|error| does_not_fit(error.halves().0))?;
    let located = with_residuals(&solution.state, located);
    let look = Look::new(problem, photos, &start, &sectors);
    let last = ROUNDS[ROUNDS.len() - 1];
    let strips: Vec<StripPiece> = look.by_photo(|photo| look.strips(&solution.state, photo, last));
    Ok(Measured {
        size: Size::weighed(&strips, leg),
        start,
        solution,
        located,
        sights,
    })
}

/// Whether the rim hardly moved.
fn settled(before: Option<Circle>, after: Option<Circle>) -> bool {
    before.zip(after).is_some_and(|(a, b)| {
        let moves = [
            (a.centre - b.centre).norm(),
            (a.radius - b.radius).abs(),
            (a.normal - b.normal).norm() * b.radius,
        ];
        moves.iter().all(|by| *by < SETTLED)
    })
}

fn does_not_fit(error: Phrase) -> Error {
    Error::unmeasurable(
        None,
        say!("the rim does not fit one circle on one axis ({error})"),
        say!(
            "check that the marks lie on the same edge all round, that the ring is stuck fast, and that the card did not move"
        ),
    )
}

fn check_seen(sights: &[EdgeSight], photos: usize) -> Result<(), Error> {
    let least = FEWEST_PIECES * photos;
    if sights.len() < least {
        return Err(Error::unmeasurable(
            None,
            say!(
                "the rim shows too little contrast: {} of at least {least} pieces could be measured in {photos} photos",
                sights.len()
            ),
            say!("light the rim from the side, avoid blur, and go nearer"),
        ));
    }
    Ok(())
}

/// How the rim is looked at.
struct Look<'a> {
    photos: &'a [Observed],
    start: &'a Start,
    /// Name of the turning target, whose blur is that of the rim.
    turning: &'a str,
    leg: f64,
    sectors: &'a [bool; SECTORS],
}

impl<'a> Look<'a> {
    fn new(
        problem: &'a Problem,
        photos: &'a [Observed],
        start: &'a Start,
        sectors: &'a [bool; SECTORS],
    ) -> Self {
        Self {
            photos,
            start,
            turning: &problem.turning.0,
            leg: chamfer(problem),
            sectors,
        }
    }

    /// Every believed piece of the rim that is located, and how many were looked at in each sector.
    fn pieces(&self, state: &TurnState, round: Round) -> (Vec<Located>, [usize; SECTORS]) {
        let mut strips: Vec<StripPiece> = self.by_photo(|photo| self.strips(state, photo, round));
        if round.pooled {
            shade::pool(&mut strips);
        }
        let mut looked = [0; SECTORS];
        strips.iter().for_each(|s| looked[sector_of(s.around)] += 1);
        let strips = &strips;
        let located = self.by_photo(|photo| {
            let own = strips.iter().filter(|s| s.photo == photo);
            own.filter_map(|piece| piece.locate(round)).collect()
        });
        (located, looked)
    }

    /// Does something for each photo, on two threads.
    fn by_photo<T: Send>(&self, of_photo: impl Fn(usize) -> Vec<T> + Sync) -> Vec<T> {
        let count = self.start.used.len();
        let of_photo = &of_photo;
        std::thread::scope(|scope| {
            let halves: Vec<_> = [0..count / 2, count / 2..count]
                .into_iter()
                .map(|half| scope.spawn(move || half.flat_map(of_photo).collect::<Vec<_>>()))
                .collect();
            halves
                .into_iter()
                // Half of the pieces must not be missed in silence.
                .flat_map(|half| {
                    half.join()
                        .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
                })
                .collect()
        })
    }

    fn strips(&self, state: &TurnState, photo: usize, round: Round) -> Vec<StripPiece> {
        let Some(rim) = state.rim else { return Vec::new() };
        let observed = &self.photos[self.start.used[photo]];
        let view = View::new(state.camera_of(photo), state.camera_from_turning(photo));
        let blur = ring_blur(observed, self.turning);
        let point = |t: f64| rim.centre + rim.radial(t) * rim.radius;
        let outward = |t: f64| rim.centre + rim.radial(t) * (rim.radius + 1.0);
        let Some(pieces) = view.pieces((0.0, TAU), PIECES, point, outward) else {
            return Vec::new();
        };
        let second = second_line(&rim, &view, self.leg, 0.0);
        let wall = second_line(&rim, &view, self.leg, WALL);
        let across = |piece: &Piece, p: &Vec3| Some((view.see(p)? - piece.guess.at).dot(&piece.guess.side));
        pieces
            .into_iter()
            .enumerate()
            .filter_map(|(place, piece)| {
                let around = around(state, photo, &point(piece.t));
                if !self.sectors[sector_of(around)] {
                    return None;
                }
                let band = Band {
                    width: across(&piece, &second(piece.t))?,
                    blur,
                    shade: None,
                };
                let wall = across(&piece, &wall(piece.t))? - band.width;
                let drawn_off = drawn_off(wall, &band);
                let (strip, noise) = strip_of(&observed.picture, &piece, &band, round.reach)?;
                Some(StripPiece {
                    photo,
                    place,
                    around,
                    per_mm: across(&piece, &outward(piece.t))?,
                    piece,
                    drawn_off,
                    strip,
                    noise,
                    band,
                })
            })
            .collect()
    }
}

/// By how much a piece may be drawn off beside which the rim's wall shows `wall` px wide (negative: hidden behind the
/// rim), px. A wall that is seen nearly along itself is a sliver between the chamfer and what lies behind, and draws the
/// edge outward when it is as bright as the face. Seen broadly it is a flat surface like any other.
fn drawn_off(wall: f64, band: &Band) -> f64 {
    let whole = (2.0 * wall / (1.8 * band.blur + FLAT) - 1.0).clamp(0.0, 1.0);
    DRAWN * wall.max(0.0) * (1.0 - whole)
}

/// A piece of the rim in one photo, ready to be measured.
pub(super) struct StripPiece {
    pub photo: usize,
    place: usize,
    pub around: f64,
    pub per_mm: f64,
    piece: Piece,
    /// By how much the rim's wall beside it may draw it off, px.
    drawn_off: f64,
    pub strip: Strip,
    pub noise: Noise,
    pub band: Band,
}

impl StripPiece {
    /// Where the rim lies here; `None` when the piece says nothing.
    fn locate(&self, round: Round) -> Option<Located> {
        let cost = fit_band_near_blur(&self.strip, &self.noise, &self.band, round.reach, round.step)?;
        // What the model does not explain widens the standard deviation.
        let scale = (cost.cost[cost.best()] / cost.freedom).max(1.0);
        let (place, curvature) = cost.minimum(0.0, round.leash, scale)?;
        let sigma_px = (2.0 * scale / curvature + FLOOR * FLOOR + self.drawn_off.powi(2)).sqrt();
        let guess = &self.piece.guess;
        let sight = EdgeSight {
            photo: self.photo,
            feature: FeatureId::Circle,
            at: guess.at + guess.side * place,
            side: guess.side,
            t: self.piece.t,
            along: 0.0,
            sigma_px,
        };
        (sigma_px < VAGUE).then_some(Located {
            sight,
            place: self.place,
            around: self.around,
            per_mm: self.per_mm,
            residual: 0.0,
        })
    }
}

/// Blur of the turning target's corners in a photo, px.
fn ring_blur(photo: &Observed, name: &str) -> f64 {
    let corners = corners_of(photo, name).unwrap_or_default();
    let mut blurs: Vec<f64> = corners.iter().map(|c| c.blur_px).collect();
    blurs.sort_by(f64::total_cmp);
    blurs.get(blurs.len() / 2).copied().unwrap_or(USUAL_BLUR)
}

/// The second line of the rim's chamfer: outward, and away from the camera along the rim's normal; `deeper` along the
/// wall behind it, mm.
fn second_line<'a>(rim: &'a Circle, view: &View, leg: f64, deeper: f64) -> impl Fn(f64) -> Vec3 + use<'a> {
    let away = (rim.centre - view.place()).dot(&rim.normal).signum();
    move |t| rim.centre + rim.radial(t) * (rim.radius + leg) + rim.normal * (away * (leg + deeper))
}

fn strip_of(picture: &GreyPicture, piece: &Piece, band: &Band, reach: f64) -> Option<(Strip, Noise)> {
    let (low, high) = (band.width.min(0.0), band.width.max(0.0));
    let beyond = 1.8 * band.blur + FLAT + reach / 2.0;
    let strip = Strip::collect(picture, &piece.guess, low - beyond, high + beyond)?
        .trimmed(low - 1.2 * band.blur, high + 1.2 * band.blur);
    let noise = Noise::measure(&strip, FLAT)?;
    Some((strip, noise))
}

/// Angle about the axis in the fixed frame of a point of the turning frame, rad.
pub(crate) fn around(state: &TurnState, photo: usize, point: &Vec3) -> f64 {
    let at = (state.fixed_from_axis.inverse() * state.fixed_from_turning(photo)).point(point);
    at.y.atan2(at.x)
}

pub(super) fn sector_of(around: f64) -> usize {
    ((around.rem_euclid(TAU) / TAU * SECTORS as f64) as usize).min(SECTORS - 1)
}

fn with_residuals(state: &TurnState, mut pieces: Vec<Located>) -> Vec<Located> {
    let Some(rim) = state.rim else { return pieces };
    for piece in &mut pieces {
        let sight = &piece.sight;
        let (camera, pose) = (
            state.camera_of(sight.photo),
            state.camera_from_turning(sight.photo),
        );
        let near = CurvePoint::nearest(&rim, &camera, &pose, &sight.at, &sight.side, sight.t);
        piece.residual = near.map_or(f64::INFINITY, |near| {
            let shift = state.photos[sight.photo].rim_shift;
            ((near.seen.at - sight.at).dot(&near.normal) + shift) / sight.sigma_px
        });
    }
    pieces
}

/// The sectors in which most pieces lie on the solved rim: elsewhere a fixed part hides it, or its edge is another's.
fn believed(before: &[bool; SECTORS], looked: &[usize; SECTORS], located: &[Located]) -> [bool; SECTORS] {
    let mut fit = [0usize; SECTORS];
    // The scatter is not known before the end: what fits is told by the middle of all.
    let usual = median(located.iter().map(|l| l.residual.abs())).unwrap_or(1.0) / 0.6745;
    for piece in located
        .iter()
        .filter(|l| l.residual.abs() < FITS * usual.max(1.0))
    {
        fit[sector_of(piece.around)] += 1;
    }
    std::array::from_fn(|s| before[s] && fit[s] as f64 >= LEAST_LOCATED * looked[s] as f64)
}

fn median(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

/// Least factor on the standard deviations: neighbouring pieces share grain and JPEG blocks, so a small scatter is not
/// believed whole.
const LEAST_SPREAD: f64 = 0.75;

/// Brings the standard deviations to the scatter, which the noise of a single piece does not show.
fn widen(located: &mut [Located]) {
    // Median absolute deviation of a normal distribution is 0.6745 sigma.
    let spread = median(located.iter().map(|l| l.residual.abs()))
        .map_or(1.0, |m| m / 0.6745)
        .max(LEAST_SPREAD);
    for piece in located {
        piece.sight.sigma_px *= spread;
    }
}
