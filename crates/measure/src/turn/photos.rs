//! What each photo gave to a turn, and what is drawn on it.

use super::problem::Problem;
use super::rim::Located;
use super::start::corners_of;
use crate::gap::view::View;
use crate::observe::Observed;
use crate::told::drawn_target;
use shimwright_geom::{Vec2, Vec3};
use shimwright_record::{Drawn, PhotoUse};
use shimwright_say::say;
use shimwright_solve::{CornerSight, TurnProblem, TurnState};
use std::f64::consts::TAU;

/// What was solved from photos.
pub(crate) struct SeenInPhotos<'a> {
    /// Index in the job of each photo that took part.
    pub used: &'a [usize],
    pub state: &'a TurnState,
    pub joint: &'a TurnProblem<'a>,
    /// Pieces of the rim.
    pub located: &'a [Located],
}

/// A line for each photo of the job.
pub(crate) fn photo_lines(problem: &Problem, photos: &[Observed], seen: &SeenInPhotos) -> Vec<PhotoUse> {
    let used = seen.used;
    let of_photo = |(i, photo): (usize, &Observed)| match used.iter().position(|&u| u == i) {
        Some(k) => used_photo(photo, seen, k),
        None => {
            let missing = [&problem.fixed.0, &problem.turning.0]
                .into_iter()
                .filter(|name| corners_of(photo, name).is_none())
                .map(String::as_str);
            PhotoUse {
                file: photo.name.clone(),
                corners: 0,
                rms_px: 0.0,
                used: false,
                note: Some(say!(
                    "no {} with enough corners in view",
                    missing.collect::<Vec<_>>().join(" and no ")
                )),
                drawn: photo.found.targets.iter().map(drawn_target).collect(),
            }
        }
    };
    photos.iter().enumerate().map(of_photo).collect()
}

fn used_photo(photo: &Observed, solved: &SeenInPhotos, k: usize) -> PhotoUse {
    let (state, joint) = (solved.state, solved.joint);
    let miss = |seen: Option<Vec2>, sight: &CornerSight| Some((seen? - sight.at).norm_squared());
    let own = |sights: &'_ [CornerSight]| {
        sights
            .iter()
            .filter(|s| s.photo == k)
            .copied()
            .collect::<Vec<_>>()
    };
    let squares: Vec<f64> = own(joint.fixed)
        .iter()
        .filter_map(|s| miss(joint.fixed_corner(state, s), s))
        .chain(
            own(joint.turning)
                .iter()
                .filter_map(|s| miss(joint.turning_corner(state, s), s)),
        )
        .collect();
    PhotoUse {
        file: photo.name.clone(),
        corners: squares.len(),
        rms_px: (squares.iter().sum::<f64>() / (2 * squares.len().max(1)) as f64).sqrt(),
        used: true,
        note: None,
        drawn: drawn(photo, solved, k),
    }
}

fn drawn(photo: &Observed, solved: &SeenInPhotos, k: usize) -> Vec<Drawn> {
    let state = solved.state;
    let mut drawn: Vec<Drawn> = photo.found.targets.iter().map(drawn_target).collect();
    let view = View::new(state.camera_of(k), state.camera_from_turning(k));
    let mut curve = |what: &str, points: &mut dyn Iterator<Item = Vec3>| {
        let points = points.filter_map(|p| view.see(&p)).map(|p| [p.x, p.y]).collect();
        drawn.push(Drawn {
            what: what.into(),
            points,
        });
    };
    if let Some(rim) = state.rim {
        let around = |i| rim.centre + rim.radial(TAU * f64::from(i) / 120.0) * rim.radius;
        curve("rim_edge", &mut (0..=120).map(around));
    }
    // From the target towards the camera, a finger's length of the axis.
    curve(
        "axis",
        &mut (0..=1).map(|i| {
            state
                .turning_from_axis
                .point(&(Vec3::z() * (-15.0 * f64::from(i))))
        }),
    );
    let points = solved
        .located
        .iter()
        .filter(|l| l.sight.photo == k && l.residual.abs() < 4.0)
        .map(|l| [l.sight.at.x, l.sight.at.y])
        .collect();
    drawn.push(Drawn {
        what: "edge_point".into(),
        points,
    });
    drawn
}
