//! Tags that should be in view and were not read: where they went.

use crate::trouble::Trouble;
use shimwright_detect::FoundTarget;
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_target::{TagPlace, Target};

/// Share of a target's tags that may be hidden. A tag is lost when a corner of it is.
const MOST_HIDDEN: f64 = 0.2;
/// Share of them that may lie outside of the picture.
const MOST_OUTSIDE: f64 = 0.1;
/// Grey level from which a pixel holds no more light.
const FULL: u8 = 250;
/// Share of such pixels on a lost tag from which a lamp is to blame: half of what is printed there is black.
const MOSTLY_FULL: f64 = 0.7;
/// Places looked at across a tag.
const ACROSS: u32 = 9;

/// What became of the tags of a target that was found.
#[derive(Default)]
struct Lost {
    outside: usize,
    glared: usize,
    covered: usize,
}

/// What keeps a target from being seen whole.
pub(crate) fn troubles(picture: &GreyPicture, target: &Target, found: &FoundTarget) -> Vec<Trouble> {
    let lost = lost(picture, target, found);
    let share = |count: usize| count as f64 / target.tags().len().max(1) as f64;
    let name = || target.name().to_owned();
    let mut out = Vec::new();
    if share(lost.outside) > MOST_OUTSIDE {
        out.push(Trouble::CutOff {
            target: name(),
            share: share(lost.outside),
        });
    }
    if share(lost.glared + lost.covered) > MOST_HIDDEN {
        out.push(if lost.glared >= lost.covered {
            Trouble::Glare {
                target: name(),
                share: share(lost.glared),
            }
        } else {
            Trouble::Covered {
                target: name(),
                share: share(lost.covered),
            }
        });
    }
    out
}

fn lost(picture: &GreyPicture, target: &Target, found: &FoundTarget) -> Lost {
    let mut lost = Lost::default();
    for tag in target.tags().iter().filter(|tag| !found.tags.contains(&tag.id)) {
        match full_share(picture, found, tag) {
            None => lost.outside += 1,
            Some(share) if share > MOSTLY_FULL => lost.glared += 1,
            Some(_) => lost.covered += 1,
        }
    }
    lost
}

/// Share of a tag's face that holds no more light; `None` when it is not whole in the picture.
fn full_share(picture: &GreyPicture, found: &FoundTarget, tag: &TagPlace) -> Option<f64> {
    let [origin, right, _, down] = tag.corners;
    let mut full = 0;
    for k in 0..ACROSS * ACROSS {
        let share = |i: u32| f64::from(i) / f64::from(ACROSS - 1);
        let place: Vec2 = origin + (right - origin) * share(k % ACROSS) + (down - origin) * share(k / ACROSS);
        let at = found.seen_at(&place)?;
        if !picture.contains(at.x, at.y, 1.0) {
            return None;
        }
        full += u32::from(picture.at(at.x.round() as usize, at.y.round() as usize) >= FULL);
    }
    Some(f64::from(full) / f64::from(ACROSS * ACROSS))
}
