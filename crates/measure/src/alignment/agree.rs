//! Whether all photos show the same pulleys in the same place.

use super::problem::Problem;
use super::steps::Measured;
use crate::Error;
use crate::gap::view::View;
use crate::observe::Observed;
use crate::outline::farthest_mark;
use crate::scene::Scene;
use shimwright_record::Phrase;
use shimwright_say::say;

/// Share of a curve's pieces that a photo must show. Ten sound made-up jobs had 0.38 and more of each edge; a motor that
/// moved by 0.8 mm left 0.04 of one.
const LEAST_SHARE: f64 = 0.15;
/// A mark this far from the edge that was found for it lies on another edge, px.
const MARK_LIMIT: f64 = 20.0;
/// An edge shifted as a whole by more than this in one photo does not fit the others, px.
const MOST_SHIFT: f64 = 0.3;

/// What to do when something moved.
fn moved() -> Phrase {
    say!(
        "something moved between the photos, or a mark lies on another edge: leave card, wheel and motor as they \
                     are, take the photos again, and check the marks"
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
            let edge = &measured.edges[curve];
            // Marks may reach beyond the arc that all photos share.
            let whole = crate::outline::Edge {
                range: (edge.range.0 - 1.0, edge.range.1 + 1.0),
                ..*edge
            };
            let away = farthest_mark(&view, &problem.marks[i][curve], &state.curves[curve], &whole);
            if let Some(away) = away.filter(|away| *away > MARK_LIMIT) {
                return Err(Error::unmeasurable(
                    Some(photo),
                    say!("the edge that fits all photos lies {away:.0} px from a mark `{name}` of {photo}"),
                    moved(),
                ));
            }
            // No share: the photo looks at the edge's face and is not asked about it.
            let hidden = measured.best.shares[k * curves + curve].is_some_and(|share| share < LEAST_SHARE);
            let shift = state.shifts[k * curves + curve].abs();
            if hidden || shift > MOST_SHIFT {
                return Err(Error::unmeasurable(
                    Some(photo),
                    say!("{photo} does not show the edge `{name}` where the other photos put it"),
                    moved(),
                ));
            }
        }
    }
    for (curve, name) in problem.names.iter().enumerate() {
        let shown = (0..scene.used.len()).filter(|k| measured.best.shares[k * curves + curve].is_some());
        let shown = shown.count();
        if shown < 2 {
            return Err(Error::unmeasurable(
                None,
                say!(
                    "the edge `{name}` stands out in {shown} of {} photos and two are needed: the others look at its face",
                    scene.used.len()
                ),
                say!("take two photos from a little outboard of the pulleys and two from a little inboard"),
            ));
        }
    }
    Ok(())
}
