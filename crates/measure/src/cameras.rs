//! Which camera took a photo, and what is known of it beforehand.

use crate::Error;
use crate::observe::Observed;
use shimwright_camera::{Camera, CameraProfile, INTRINSICS, focal_prior};
use shimwright_photo::PhotoFacts;
use shimwright_record::Phrase;
use shimwright_say::say;
use std::collections::BTreeMap;

/// Standard deviation of the focal length when a calibrated phone refocuses (1): up to about 1 %.
const REFOCUS_WITH_PROFILE: f64 = 0.004;
/// The same without a profile: only the spread between the photos of one job.
const REFOCUS_WITHOUT_PROFILE: f64 = 0.006;

/// The cameras of a job.
pub(crate) struct Cameras {
    /// Start values, one for each distinct camera.
    pub cameras: Vec<Camera>,
    /// Expected intrinsics and their standard deviations.
    pub priors: Vec<([f64; INTRINSICS], [f64; INTRINSICS])>,
    /// Index of each photo's camera.
    pub of_photo: Vec<usize>,
    /// Standard deviation of the logarithm of a photo's focal factor.
    pub focal_factor_sigma: f64,
    /// What to tell the user.
    pub warnings: Vec<Phrase>,
}

/// What makes two photos come from the same camera.
#[derive(PartialEq)]
struct Identity {
    width: u32,
    height: u32,
    orientation: u8,
    name: String,
    focal_35mm: Option<u64>,
}

impl Identity {
    fn of(facts: &PhotoFacts) -> Self {
        Self {
            width: facts.width,
            height: facts.height,
            orientation: facts.orientation,
            name: facts.camera_name(),
            focal_35mm: facts.focal_35mm.map(f64::to_bits),
        }
    }
}

/// Chooses start values and priors for every photo.
///
/// # Errors
/// Bad input when a profile does not belong to the photos.
pub(crate) fn choose(photos: &[Observed], profile: Option<&CameraProfile>) -> Result<Cameras, Error> {
    let mut identities: Vec<Identity> = Vec::new();
    let mut chosen = Cameras {
        cameras: vec![],
        priors: vec![],
        of_photo: vec![],
        focal_factor_sigma: if profile.is_some() {
            REFOCUS_WITH_PROFILE
        } else {
            REFOCUS_WITHOUT_PROFILE
        },
        warnings: vec![],
    };
    for photo in photos {
        let facts = &photo.found.facts;
        let identity = Identity::of(facts);
        if let Some(i) = identities.iter().position(|known| *known == identity) {
            chosen.of_photo.push(i);
            continue;
        }
        let (camera, sigma) = match profile {
            Some(profile) => from_profile(profile, &photo.name, facts)?,
            None => without_profile(facts),
        };
        chosen.of_photo.push(identities.len());
        identities.push(identity);
        chosen.priors.push((camera.intrinsics, sigma));
        chosen.cameras.push(camera);
    }
    if profile.is_none() {
        let exif = photos.iter().all(|p| p.found.facts.focal_35mm.is_some());
        chosen.warnings.push(if exif {
            say!("no camera profile: the lens was solved for from these photos, which widens the uncertainty")
        } else {
            say!("no camera profile and no focal length in the photos: the lens was solved for from these photos alone, \
             which widens the uncertainty much")
        });
    }
    chosen.warnings.extend(mixed(photos));
    Ok(chosen)
}

/// What is said when the photos come from several cameras: which photo is by which.
fn mixed(photos: &[Observed]) -> Option<Phrase> {
    let mut by_name: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for photo in photos {
        by_name
            .entry(photo.found.facts.camera_name())
            .or_default()
            .push(&photo.name);
    }
    let told = by_name.iter().map(|(camera, photos)| {
        let camera = if camera.is_empty() {
            say!("an unnamed camera")
        } else {
            Phrase::foreign(camera)
        };
        say!("{} by {camera}", photos.join(", "))
    });
    (by_name.len() > 1).then(|| {
        say!(
            "the photos come from more than one camera ({}); use one phone for a whole job",
            Phrase::joined(told, "; ")
        )
    })
}

fn from_profile(
    profile: &CameraProfile,
    name: &str,
    facts: &PhotoFacts,
) -> Result<(Camera, [f64; INTRINSICS]), Error> {
    let made_for = (profile.camera.width, profile.camera.height);
    let mut sigma = profile.sigma;
    let turned = if made_for == (facts.stored_width, facts.stored_height) {
        (1..=8)
            .contains(&facts.orientation)
            .then(|| upright(&profile.camera, facts.orientation))
            .flatten()
    } else if made_for == (facts.width, facts.height) {
        Some(profile.camera)
    } else {
        None
    };
    let Some(camera) = turned else {
        return Err(Error::bad(
            Some(name),
            say!(
                "the camera profile is for pictures of {} x {} px and {name} has {} x {} px",
                made_for.0,
                made_for.1,
                facts.width,
                facts.height
            ),
            say!("use the profile of the phone that took the photos, or leave the profile out"),
        ));
    };
    if camera.width != profile.camera.width {
        sigma.swap(0, 1);
        sigma.swap(2, 3);
        sigma.swap(6, 7);
    }
    Ok((camera, sigma))
}

/// The camera of the upright picture, from the camera of the stored one. `None` for mirrored orientations, which
/// no camera writes.
fn upright(stored: &Camera, orientation: u8) -> Option<Camera> {
    let quarter_turns = match orientation {
        1 => 0,
        6 => 1,
        3 => 2,
        8 => 3,
        _ => return None,
    };
    Some((0..quarter_turns).fold(*stored, |camera, _| turned_clockwise(&camera)))
}

/// A quarter turn clockwise: stored (x, y) shows at (h-1-y, x).
fn turned_clockwise(camera: &Camera) -> Camera {
    let [fx, fy, cx, cy, k1, k2, p1, p2, k3] = camera.intrinsics;
    Camera {
        width: camera.height,
        height: camera.width,
        intrinsics: [
            fy,
            fx,
            f64::from(camera.height) - 1.0 - cy,
            cx,
            k1,
            k2,
            p2,
            -p1,
            k3,
        ],
    }
}

/// Standard deviations of intrinsics about which a profile says nothing more than where to begin.
pub(crate) fn relaxed(camera: &Camera) -> [f64; INTRINSICS] {
    without_profile_sigma(camera.width, camera.height, 0.05 * camera.intrinsics[0])
}

/// Start values and standard deviations with no profile: focal length from EXIF, the principal point within about
/// 1.5 % of the picture's size, distortion 0.1 (design values).
fn without_profile(facts: &PhotoFacts) -> (Camera, [f64; INTRINSICS]) {
    let prior = focal_prior(facts.width, facts.height, facts.focal_35mm);
    (
        Camera::ideal(facts.width, facts.height, prior.focal_px),
        without_profile_sigma(facts.width, facts.height, prior.focal_px * prior.relative_sigma),
    )
}

fn without_profile_sigma(width: u32, height: u32, focal: f64) -> [f64; INTRINSICS] {
    let centre = 0.015 * f64::from(width.max(height));
    [focal, focal, centre, centre, 0.1, 0.1, 0.001, 0.001, 0.0]
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_geom::{Vec2, Vec3};

    #[test]
    fn a_turned_camera_sees_the_turned_picture() {
        let stored = Camera {
            width: 2816,
            height: 2112,
            intrinsics: [2291.7, 2289.9, 1418.3, 1049.6, 0.04, -0.07, 0.0005, -0.0003, 0.0],
        };
        let turned = turned_clockwise(&stored);
        let p = Vec3::new(31.0, -57.0, 210.0);
        let at = stored.project(&p).unwrap();
        // The upright camera's x is the stored camera's -y, its y the stored x.
        let upright = turned.project(&Vec3::new(-p.y, p.x, p.z)).unwrap();
        assert!((upright - Vec2::new(2111.0 - at.y, at.x)).norm() < 1e-9);
    }
}
