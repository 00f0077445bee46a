//! Whether all photos show the same part in the same place.

use super::problem::{OUTER, Problem};
use super::steps::Measured;
use crate::Error;
use crate::gap::view::View;
use crate::observe::Observed;
use crate::outline::{Edge, farthest_mark};
use crate::scene::Scene;
use shimwright_geom::GreyPicture;
use shimwright_record::Phrase;
use shimwright_say::say;
use shimwright_solve::Shape;

/// Share of a curve's pieces that a photo must show.
const LEAST_SHARE: f64 = 0.25;
/// The same of an outer rim, which may be the tips of a pulley's teeth: they are about a third of its circle, half of them
/// stand out from nothing, and pieces at their ends do not count.
const LEAST_OF_TEETH: f64 = 0.03;
/// A mark this far from the edge that was found for it lies on another edge, px.
const MARK_LIMIT: f64 = 20.0;
/// An edge shifted as a whole by more than this in one photo does not fit the others, px.
const MOST_SHIFT: f64 = 0.3;

/// Places at which a curve is looked for in a picture.
const PLACES: u32 = 48;
/// Share of a curve that must hide the wall below it for the curve to stand out.
const LEAST_HIDDEN: f64 = 0.3;

/// What to do when something moved.
fn moved() -> Phrase {
    say!(
        "the part or the sheet moved between the photos, or a mark lies on another edge: leave the part where it \
                     lies, take the photos again, and check the marks"
    )
}

/// Refuses photos that do not show one scene.
pub(super) fn check(
    problem: &Problem,
    scene: &Scene,
    photos: &[Observed],
    measured: &Measured,
) -> Result<(), Error> {
    let state = &measured.best.solution.state;
    let curves = state.curves.len();
    for (k, &i) in scene.used.iter().enumerate() {
        let view = View::of(&state.base, k);
        for (curve, name) in problem.names.iter().enumerate() {
            let photo = &photos[i].name;
            let marks = &problem.marks[i][curve];
            let away = farthest_mark(&view, marks, &state.curves[curve], &measured.edges[curve]);
            if let Some(away) = away.filter(|away| *away > MARK_LIMIT) {
                return Err(Error::unmeasurable(
                    Some(photo),
                    say!("the edge that fits all photos lies {away:.0} px from a mark `{name}` of {photo}"),
                    moved(),
                ));
            }
            let least = if *name == OUTER {
                LEAST_OF_TEETH
            } else {
                LEAST_SHARE
            };
            let share = measured.best.shares[k * curves + curve];
            let lost = share.is_none_or(|share| share < least)
                && should_show(
                    &view,
                    &photos[i].picture,
                    &state.curves[curve],
                    &measured.edges[curve],
                );
            let shifted = state.shifts[k * curves + curve].abs() > MOST_SHIFT;
            if shifted || lost {
                return Err(Error::unmeasurable(
                    Some(photo),
                    say!("{photo} does not show the edge `{name}` where the other photos put it"),
                    moved(),
                ));
            }
        }
    }
    Ok(())
}

/// Whether a curve should stand out in a photo: it runs out of the picture, or enough of it hides the wall below it. Where the
/// wall is seen beside an edge the two are of one metal, and the other photos must tell.
fn should_show(view: &View, picture: &GreyPicture, shape: &Shape, edge: &Edge) -> bool {
    let (from, to) = edge.range;
    let places = (0..PLACES).map(|i| from + (to - from) * (f64::from(i) + 0.5) / f64::from(PLACES));
    let inside = |t: f64| {
        let at = view.see(&shape.point(t));
        at.is_some_and(|at| picture.contains(at.x, at.y, 0.0))
    };
    let hidden = places
        .clone()
        .filter(|t| edge.hides_wall(view, shape, *t))
        .count();
    hidden as f64 >= LEAST_HIDDEN * f64::from(PLACES) || !places.clone().all(inside)
}
