//! How well the printed targets show: what is covered, glaring, blurred or bent, told photo by photo with what to do.

use crate::observe::Observed;
use crate::{Error, Kind};
use shimwright_geom::Vec2;
use shimwright_record::Phrase;
use shimwright_say::say;
use shimwright_target::Target;

/// Share of the corners within the picture that a photo of a clean, evenly lit target shows at least.
const LEAST_SHOWN: f64 = 0.6;
/// A photo this much more blurred than the middle one of its job, and by so many px at least, was not taken well.
const MORE_BLURRED: f64 = 1.8;
const BLURRED: f64 = 1.6;
/// Blur at which edges are lost in any photo, px.
const VERY_BLURRED: f64 = 2.5;
/// A target bent by more than this many times what flat paper on a flat part may be is bent indeed.
const BENT: f64 = 3.0;

/// What to tell of a target in the photos that take part.
pub(crate) fn warnings(photos: &[Observed], used: &[usize], target: &Target) -> Vec<Phrase> {
    let used: Vec<&Observed> = used.iter().map(|&i| &photos[i]).collect();
    [partly_seen(&used, target), blurred(&used, target.name())]
        .into_iter()
        .flatten()
        .collect()
}

/// Photos in which much of the target is not seen although it lies within the picture.
fn partly_seen(photos: &[&Observed], target: &Target) -> Option<Phrase> {
    let poor = photos.iter().filter_map(|photo| {
        let found = photo.found.targets.iter().find(|t| t.name == target.name())?;
        let inside = |place: &Vec2| {
            found
                .seen_at(place)
                .is_some_and(|at| photo.picture.contains(at.x, at.y, 2.0))
        };
        let possible = corners(target).iter().filter(|place| inside(place)).count();
        let seen = found.corners.len();
        ((seen as f64) < LEAST_SHOWN * possible as f64)
            .then(|| say!("{seen} of {possible} corners in {}", photo.name))
    });
    let poor: Vec<Phrase> = poor.collect();
    (!poor.is_empty()).then(|| {
        say!(
            "much of the {} is not seen ({}): something covers it, or it glares; wipe it, turn the light, and take \
             the photo again",
            target.name(),
            poor.join(", ")
        )
    })
}

/// Places of all corners of a target, mm.
fn corners(target: &Target) -> Vec<Vec2> {
    if target.saddles().is_empty() {
        target.tags().iter().flat_map(|tag| tag.corners).collect()
    } else {
        target.saddles().iter().map(|saddle| saddle.at).collect()
    }
}

/// Photos that are more blurred than the rest, or too blurred for any edge.
fn blurred(photos: &[&Observed], name: &str) -> Option<Phrase> {
    let mut all: Vec<f64> = photos.iter().filter_map(|photo| blur(photo, name)).collect();
    all.sort_by(f64::total_cmp);
    let usual = *all.get(all.len() / 2)?;
    let poor = blurred_by(photos, name, |own| {
        own > VERY_BLURRED || own > BLURRED && own > MORE_BLURRED * usual
    })?;
    Some(say!(
        "the {name} is blurred in {poor}: {steady}",
        steady = steady()
    ))
}

/// What to do about blur.
fn steady() -> Phrase {
    say!("rest your hand, let the phone focus on it, and take the photo again")
}

/// Blur of a target's corners in a photo, px.
fn blur(photo: &Observed, name: &str) -> Option<f64> {
    photo.found.targets.iter().find(|t| t.name == name)?.blur_px()
}

/// The photos that are blurred too much, each with by how much; `None` when there are none.
fn blurred_by(photos: &[&Observed], name: &str, too_much: impl Fn(f64) -> bool) -> Option<Phrase> {
    let poor: Vec<Phrase> = photos
        .iter()
        .filter_map(|photo| Some((photo, blur(photo, name)?)))
        .filter(|(_, own)| too_much(*own))
        .map(|(photo, own)| say!("{} by {own:.1} px", photo.name))
        .collect();
    (!poor.is_empty()).then(|| Phrase::joined(poor, ", "))
}

/// A refusal told by its likelier cause: in a photo that is blurred through and through, edges cannot but be mistaken.
pub(crate) fn blamed_on_blur(error: Error, photos: &[Observed], name: &str) -> Error {
    let photos: Vec<&Observed> = photos.iter().collect();
    match blurred_by(&photos, name, |own| own > VERY_BLURRED) {
        Some(poor) if error.kind == Kind::NotMeasurable => Error {
            message: say!("the {name} is blurred in {poor}, and no edge can be relied on there"),
            hint: steady(),
            ..error
        },
        _ => error,
    }
}

/// What to tell of a target that is bent by sagittae along x and y, mm; `flat` are their standard deviations for paper that
/// was stuck on well.
pub(crate) fn bent(name: &str, bend: &Vec2, flat: &Vec2) -> Option<Phrase> {
    let k = usize::from(bend.y.abs() / flat.y > bend.x.abs() / flat.x);
    (bend[k].abs() > BENT * flat[k]).then(|| {
        say!(
            "the {name} is bent by about {:.1} mm: stick it on a stiff, flat piece, and take the photos again",
            bend[k].abs()
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bend_is_told_when_flat_paper_cannot_show_it() {
        let flat = Vec2::new(0.05, 0.02);
        assert_eq!(bent("mount-card", &Vec2::new(0.12, 0.0), &flat), None);
        let told = bent("mount-card", &Vec2::new(0.4, 0.02), &flat).expect("bent");
        assert!(told.contains("mount-card is bent by about 0.4 mm"), "{told}");
        let told = bent("mount-card", &Vec2::new(0.1, -0.3), &flat).expect("bent");
        assert!(told.contains("0.3 mm"), "{told}");
    }
}
