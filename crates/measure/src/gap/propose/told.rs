//! What is proposed: marks in the photos, and how good they are.

use super::Start;
use super::mount::MountFound;
use super::place::Directions;
use super::rim::RimFound;
use crate::gap::hiding;
use crate::gap::problem::{MOUNT_EDGE, RIM_EDGE};
use crate::gap::view::View;
use crate::observe::Observed;
use shimwright_geom::{Vec2, Vec3};
use shimwright_record::{JobPhoto, Proposal, ProposedEdge};
use shimwright_say::say;
use std::collections::BTreeMap;

/// How far from the rim's top its marks lie, rad; the first of these at which they show.
const MARKED_ARCS: [f64; 3] = [0.6, 0.45, 0.3];
/// Marks keep this far from the picture's border, px.
const BORDER: f64 = 5.0;
/// Seen to this share and with no rival, an edge is as good as can be: light leaves gaps in the best.
const WHOLE: f64 = 0.8;
/// What is seen by chance where no edge is, in the best of many places that were tried.
const CHANCE: f64 = 0.4;
/// An edge elsewhere that is seen this well (share of the proposed one) speaks against it, and one seen as well makes it
/// worthless.
const RIVAL: f64 = 0.7;
/// Edges that are worse than this are not proposed: below it made-up scenes had a wrong one.
const LEAST_QUALITY: f64 = 0.5;

/// The proposal.
pub(super) fn proposal(
    photos: &[Observed],
    start: &Start,
    rim: &RimFound,
    mount: Option<&MountFound>,
) -> Proposal {
    let mut notes = Vec::new();
    let mut edges = Vec::new();
    let mount = mount.filter(|mount| quality(mount.seen, mount.rival) >= LEAST_QUALITY);
    match mount {
        Some(mount) => edges.push(edge(MOUNT_EDGE, quality(mount.seen, mount.rival))),
        None => notes.push(say!(
            "no edge before the rim is clearly the mount's: mark it by hand"
        )),
    }
    edges.push(edge(RIM_EDGE, of_rim(rim)));
    let photos = photos.iter().enumerate().map(|(i, photo)| JobPhoto {
        file: photo.name.clone(),
        marks: (start.used.iter().position(|&used| used == i))
            .map(|k| marks(photo, &View::of(&start.state, k), rim, mount))
            .unwrap_or_default(),
    });
    Proposal {
        photos: photos.collect(),
        edges,
        notes,
    }
}

/// Whether a rim is worth proposing.
pub(super) fn worthy(rim: &RimFound) -> bool {
    of_rim(rim) >= LEAST_QUALITY
}

fn of_rim(rim: &RimFound) -> f64 {
    quality(rim.seen, rim.rival)
}

fn edge(mark: &str, quality: f64) -> ProposedEdge {
    ProposedEdge {
        mark: mark.into(),
        quality: (quality * 100.0).round() / 100.0,
    }
}

/// How good an edge is by the share of it that is seen, and by how well its rival is seen against it.
fn quality(seen: f64, rival: f64) -> f64 {
    let alone = ((1.0 - rival) / (1.0 - RIVAL)).clamp(0.0, 1.0);
    ((seen - CHANCE) / (WHOLE - CHANCE)).clamp(0.0, 1.0) * alone
}

/// The marks of a photo, by name. An edge that is hidden there or leaves the picture is not marked.
fn marks(
    photo: &Observed,
    view: &View,
    rim: &RimFound,
    mount: Option<&MountFound>,
) -> BTreeMap<String, Vec<[f64; 2]>> {
    let (circle, eye) = (&rim.circle, view.place());
    let to = Directions::of(circle, rim.side);
    let seen = |points: &[Vec3], hidden: &dyn Fn(&Vec3) -> bool| -> Option<Vec<Vec2>> {
        let inside = |at: &Vec2| photo.picture.contains(at.x, at.y, BORDER);
        (points.iter())
            .map(|point| view.see(point).filter(|at| inside(at) && !hidden(point)))
            .collect()
    };
    let rim_at = |arc: &f64| {
        let points = [-arc, 0.0, *arc].map(|angle| to.on(circle, angle));
        seen(&points, &|point| {
            mount.is_some_and(|mount| hiding::behind_mount(&mount.line, circle, &eye, point))
        })
    };
    let mount = mount.and_then(|mount| {
        let points = [mount.reach.0, mount.reach.1].map(|t| mount.line.point + mount.line.direction * t);
        seen(&points, &|point| hiding::behind_rim(circle, &eye, point))
    });
    let found = [
        (MOUNT_EDGE, mount),
        (RIM_EDGE, MARKED_ARCS.iter().find_map(rim_at)),
    ];
    let pixels = |points: Vec<Vec2>| points.iter().map(|at| [rounded(at.x), rounded(at.y)]).collect();
    (found.into_iter())
        .filter_map(|(name, points)| Some((name.to_owned(), pixels(points?))))
        .collect()
}

/// Nobody marks finer than a tenth of a pixel.
fn rounded(px: f64) -> f64 {
    (px * 10.0).round() / 10.0
}
