//! Whether all photos show the same thing: a card that slipped, a wheel that moved, a mark on another edge.

use super::chamfer;
use super::movable::{Frame, Movable};
use super::problem::{MOUNT_EDGE, Problem, RIM_EDGE};
use super::refine::Refined;
use super::result::gap_between;
use super::seek::{MOUNT_WIDTH, Seek, mark_points};
use super::start::Start;
use super::view::View;
use crate::Error;
use crate::observe::Observed;
use shimwright_record::Phrase;
use shimwright_say::say;
use shimwright_solve::{Circle, FeatureId, JointState, Line};

/// Share of the mount's edge that a photo must show where the other photos put it.
const LEAST_MOUNT: f64 = 0.5;
/// The same of the rim, whose contrast changes with the light around it.
const LEAST_RIM: f64 = 0.3;
/// Share of an edge's pieces in a photo that must be located where the solve puts the edge.
const LEAST_LOCATED: f64 = 0.55;
/// The same of the rim in a photo without a mark of it: there the search chose the edge, and near it run others.
const LEAST_LOCATED_UNMARKED: f64 = 0.8;
/// How far light and chamfer usually shift a whole edge in one photo against the others, px: in sound jobs, rendered and
/// made up, the root mean square over the photos stays under it in nine of ten.
const USUAL_SHIFT: f64 = 0.05;
/// Photos that contradict each other by more than this times what is usual do not show one scene: sound jobs reached
/// 1.7, a photo of another scene or a rim taken for another edge 2.7 and more.
const MOST_STRAIN: f64 = 2.2;
/// A piece within this of the solved edge fits it, standard deviations.
const FITS: f64 = 3.0;
/// Fewest pieces that tell anything.
const ENOUGH_PIECES: usize = 8;
/// An edge that lies this far, surely, from where the other photos put it does not fit them, px. In sound jobs on the
/// rendered pictures it is at most 0.07, in jobs with a moved part at least 0.4.
const MOST_SHIFT: f64 = 0.25;
/// Fewer pieces than this cannot be sure together: what they have in common may be dirt or a reflection.
const FEWEST_TO_SHIFT: usize = 4;
/// How many standard deviations make it sure.
const SURE: f64 = 2.0;
/// A piece farther than this from the solved edge lies on something else, standard deviations.
const ELSEWHERE: f64 = 5.0;

/// What such a contradiction means.
fn moved() -> Phrase {
    say!(
        "the card or the wheel moved between the photos, or a mark lies on another edge: fix the card, do not \
                     touch the wheel, take the photos again, and check the marks"
    )
}

/// A mark this far from the edge that was found for it lies on another edge, px.
const MARK_LIMIT: f64 = 12.0;

/// Hands put all marks a little to one side, but those of both edges to the same: in the mean they lie as far apart as
/// the edges, give or take this, px.
const MARKS_APART: f64 = 6.0;

/// Refuses photos that do not show one scene.
pub(crate) fn check(problem: &Problem, photos: &[Observed], refined: &Refined) -> Result<(), Error> {
    let state = &refined.solution.state;
    let (Some(line), Some(circle)) = (state.line, state.circle) else {
        return Ok(());
    };
    let frame = Frame::of(&line);
    let seek = Seek {
        photos,
        start: &refined.start,
        state,
        frame: &frame,
        marks: &[],
    };
    let away = |feature: FeatureId| marks_away(problem, photos, &refined.start, state, feature);
    for (feature, name) in [(FeatureId::Line, MOUNT_EDGE), (FeatureId::Circle, RIM_EDGE)] {
        let away = farthest(&away(feature));
        if away > MARK_LIMIT {
            return Err(Error::unmeasurable(
                None,
                say!("the edge that fits all photos lies {away:.0} px from a mark `{name}`"),
                moved(),
            ));
        }
    }
    let apart = mean(&away(FeatureId::Circle)) - mean(&away(FeatureId::Line));
    if apart.abs() > MARKS_APART {
        return Err(Error::unmeasurable(
            None,
            say!(
                "the marks lie {:.1} px {} each other than the edges found for them, and {MARKS_APART} px is the \
                 limit",
                apart.abs(),
                if apart > 0.0 { "farther from" } else { "nearer to" }
            ),
            say!(
                "see whether the edges drawn in the photos are the ones you mean, put the marks right on them, and mark them \
             in every photo"
            ),
        ));
    }
    for (k, &i) in refined.start.used.iter().enumerate() {
        // Pieces that tell where they lie are judged by that. The line itself may show little: of a chamfer the other
        // line is often the brighter one. An edge that was not looked at, hidden or beside a sliver of a face, cannot
        // contradict.
        let fits = |feature: FeatureId, shown: bool| {
            let shown = shown || refined.looked_at[k][feature as usize] < ENOUGH_PIECES;
            let chosen = feature == FeatureId::Circle && problem.marks[i].rim.is_empty();
            let least = if chosen {
                LEAST_LOCATED_UNMARKED
            } else {
                LEAST_LOCATED
            };
            located_share(refined, k, feature).map_or(shown, |share| share >= least)
                && shifted(refined, k, feature) <= MOST_SHIFT
        };
        let mount = fits(
            FeatureId::Line,
            shows(&seek, k, &line, refined.mount_range, LEAST_MOUNT),
        );
        let rim = fits(
            FeatureId::Circle,
            shows(&seek, k, &circle, refined.rim_range, LEAST_RIM),
        );
        if !mount || !rim {
            let (name, edge) = (&photos[i].name, if mount { "rim" } else { "mount's edge" });
            return Err(Error::unmeasurable(
                Some(name),
                say!("{name} does not show the {edge} where the other photos put it"),
                moved(),
            ));
        }
    }
    if let Some(photo) = rim_on_mount(problem, refined, &line, &circle) {
        let name = &photos[photo].name;
        return Err(Error::unmeasurable(
            Some(name),
            say!("the rim and the mount's edge cannot be told apart in {name}, where the rim is not marked"),
            say!(
                "mark `rim_edge` in every photo and go nearer; where the wheel touches the mount there is no gap to measure"
            ),
        ));
    }
    let strain = strain(refined);
    if strain > MOST_STRAIN {
        return Err(Error::unmeasurable(
            None,
            say!(
                "the edges lie {strain:.2} times as differently in the photos as is usual for one scene, and \
                 {MOST_STRAIN} times is the limit"
            ),
            moved(),
        ));
    }
    Ok(())
}

/// How far each mark of an edge lies from where a state puts the edge, px, signed.
fn marks_away(
    problem: &Problem,
    photos: &[Observed],
    start: &Start,
    state: &JointState,
    feature: FeatureId,
) -> Vec<f64> {
    let (Some(line), Some(circle)) = (state.line, state.circle) else {
        return Vec::new();
    };
    let seek = Seek {
        photos,
        start,
        state,
        frame: &Frame::of(&line),
        marks: &mark_points(problem, start, feature),
    };
    match feature {
        FeatureId::Line => seek.marks_away(&line),
        FeatureId::Circle => seek.marks_away(&circle),
    }
}

fn farthest(away: &[f64]) -> f64 {
    away.iter().fold(0.0, |most: f64, px| most.max(px.abs()))
}

/// Whether the marks lie near enough to the edges of a state to mean them.
pub(crate) fn meets_marks(problem: &Problem, photos: &[Observed], start: &Start, state: &JointState) -> bool {
    [FeatureId::Line, FeatureId::Circle]
        .iter()
        .all(|feature| farthest(&marks_away(problem, photos, start, state, *feature)) <= MARK_LIMIT)
}

/// A photo without a mark of the rim in which the rim lies on the mount's edge: what was taken for the rim there may
/// be the mount's own chamfer. The photo's place in the job.
fn rim_on_mount(problem: &Problem, refined: &Refined, line: &Line, circle: &Circle) -> Option<usize> {
    let across = chamfer::axis(line, circle) * gap_between(line, circle, 0.0);
    let used = refined.start.used.iter().enumerate();
    let mut unmarked = used.filter(|&(_, &i)| problem.marks[i].rim.is_empty());
    let on_mount = unmarked.find(|&(k, _)| {
        let view = View::of(&refined.solution.state, k);
        let ends = view.see(&line.point).zip(view.see(&(line.point + across)));
        ends.is_some_and(|(a, b)| (b - a).norm() < MOUNT_WIDTH)
    });
    on_mount.map(|(_, &i)| i)
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

fn shows<C: Movable>(seek: &Seek, photo: usize, feature: &C, range: (f64, f64), least: f64) -> bool {
    seek.seen_in(photo, feature, range)
        .is_none_or(|seen| seen >= least)
}

/// How far an edge in a photo lies, surely, from where the solve puts it, px: what the solve allowed it to shift and
/// what its pieces still want, less what their noise may do.
fn shifted(refined: &Refined, photo: usize, feature: FeatureId) -> f64 {
    if refined.told[photo][feature as usize] < FEWEST_TO_SHIFT {
        return 0.0;
    }
    let (mut weight, mut wanted) = (0.0, 0.0);
    for piece in &refined.located {
        let sight = &piece.sight;
        if sight.photo == photo && sight.feature == feature && piece.residual.abs() < ELSEWHERE {
            let own = 1.0 / sight.sigma_px.powi(2);
            weight += own;
            wanted -= own * piece.residual * sight.sigma_px;
        }
    }
    if weight == 0.0 {
        return 0.0;
    }
    let allowed = refined.solution.state.photos[photo].edge_shift[feature as usize][0];
    (allowed + wanted / weight).abs() - SURE / weight.sqrt()
}

/// By how much the photos contradict each other more than light and chamfers account for: the ratio of what their edges
/// shift against each other to what is usual, at least 1. It widens the edges' part of the uncertainty, as the ratio of
/// Birge (Phys. Rev. 40, 207, 1932; from memory) widens that of a mean of results that disagree.
pub(crate) fn strain(refined: &Refined) -> f64 {
    let photos = &refined.solution.state.photos;
    let of = |feature: FeatureId| {
        let squares: f64 = photos.iter().map(|p| p.mean_shift(feature).powi(2)).sum();
        (squares / (photos.len().max(2) - 1) as f64).sqrt() / USUAL_SHIFT
    };
    of(FeatureId::Line).max(of(FeatureId::Circle)).max(1.0)
}

/// Share of the pieces of an edge in a photo that were located where the solve puts the edge; `None` when too few
/// told where they lie.
fn located_share(refined: &Refined, photo: usize, feature: FeatureId) -> Option<f64> {
    let told = refined.told[photo][feature as usize];
    let located = refined
        .located
        .iter()
        .filter(|l| l.sight.photo == photo && l.sight.feature == feature && l.residual.abs() < FITS)
        .count();
    (told >= ENOUGH_PIECES).then(|| located as f64 / told as f64)
}
