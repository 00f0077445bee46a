//! What a camera job asks for, checked.

use crate::observe::Observed;
use crate::{Error, JobInput, asked};
use shimwright_geom::Vec2;
use shimwright_photo::PhotoFacts;
use shimwright_record::Phrase;
use shimwright_say::say;

/// The target when the job names none.
const DEFAULT_TARGET: &str = "bench-sheet";
/// Fewest photos that determine a lens.
pub(super) const FEWEST_PHOTOS: usize = 3;
/// Photos that make a good profile (common practice, no source).
pub(super) const ADVISED_PHOTOS: usize = 8;

/// A checked camera job.
pub(super) struct Problem {
    /// Name of the target.
    pub target: String,
    /// Print scale along x and y.
    pub scale: Vec2,
    /// Its standard deviation.
    pub scale_sigma: f64,
}

impl Problem {
    /// Checks all that can be checked before a photo is decoded.
    pub fn check(input: &JobInput) -> Result<Self, Error> {
        asked::check_photos(input)?;
        let job = input.job;
        if input.photos.len() < FEWEST_PHOTOS {
            return Err(Error::bad(
                Some("photos"),
                say!(
                    "the job has {} photos and a calibration needs at least {FEWEST_PHOTOS}",
                    input.photos.len()
                ),
                say!("take {ADVISED_PHOTOS} or more of the bench sheet, from different sides"),
            ));
        }
        let target = job.targets.as_ref().and_then(|t| t.fixed.clone());
        let target = target.unwrap_or_else(|| DEFAULT_TARGET.into());
        asked::target(input, &target)?;
        if let Some(photo) = job.photos.iter().find(|photo| !photo.marks.is_empty()) {
            return Err(Error::bad(
                Some(&photo.file),
                say!("{} has marks and a camera check takes none", photo.file),
                say!("leave `marks` out"),
            ));
        }
        if input.camera.is_some() {
            return Err(Error::bad(
                Some("camera"),
                say!("a camera check makes a profile and takes none"),
                say!("leave `camera` out"),
            ));
        }
        let scale = job.print_scale.map(asked::check_scale).transpose()?;
        Ok(Self {
            target,
            scale: scale.map_or(Vec2::new(1.0, 1.0), |s| Vec2::new(s.x, s.y)),
            scale_sigma: scale.map_or(asked::UNCHECKED_SCALE_SIGMA, |s| s.u95 / 1.96),
        })
    }
}

/// What makes two photos come from one camera at one setting.
#[derive(PartialEq)]
struct Identity {
    width: u32,
    height: u32,
    name: String,
    lens: Option<String>,
    focal_mm: Option<f64>,
    focal_35mm: Option<f64>,
}

impl Identity {
    fn of(facts: &PhotoFacts) -> Self {
        Self {
            width: facts.stored_width,
            height: facts.stored_height,
            name: facts.camera_name(),
            lens: facts.lens.clone(),
            focal_mm: facts.focal_mm,
            focal_35mm: facts.focal_35mm,
        }
    }

    /// What tells this one from another, in words.
    fn told_from(&self, other: &Self) -> Phrase {
        let unknown = |name: &str| {
            if name.is_empty() {
                say!("an unnamed camera")
            } else {
                Phrase::foreign(name)
            }
        };
        let mm = |focal: Option<f64>| focal.map_or(say!("no stated focal length"), |f| say!("{f} mm"));
        if (self.width, self.height) != (other.width, other.height) {
            say!(
                "has {} x {} px and the others {} x {} px",
                self.width,
                self.height,
                other.width,
                other.height
            )
        } else if self.name != other.name {
            say!(
                "is by {} and the others by {}",
                unknown(&self.name),
                unknown(&other.name)
            )
        } else if self.lens != other.lens {
            say!("was taken with another lens than the others")
        } else {
            let (ours, theirs) = if self.focal_mm == other.focal_mm {
                (self.focal_35mm, other.focal_35mm)
            } else {
                (self.focal_mm, other.focal_mm)
            };
            say!("was taken at {} and the others at {}", mm(ours), mm(theirs))
        }
    }
}

/// Refuses photos that do not all come from one camera, naming the odd one.
pub(super) fn check_one_camera(photos: &[Observed]) -> Result<(), Error> {
    let identities: Vec<_> = photos.iter().map(|p| Identity::of(&p.found.facts)).collect();
    let votes = |identity: &Identity| identities.iter().filter(|other| *other == identity).count();
    // The first of those with most votes, so that the order of photos alone decides a tie.
    let Some(usual) = identities.iter().rev().max_by_key(|identity| votes(identity)) else {
        return Ok(());
    };
    match identities.iter().position(|identity| identity != usual) {
        None => Ok(()),
        Some(odd) => {
            let name = &photos[odd].name;
            Err(Error::bad(
                Some(name),
                say!("{name} {}", identities[odd].told_from(usual)),
                say!("calibrate from photos of one camera at one setting"),
            ))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn identity(width: u32, name: &str, focal: f64) -> Identity {
        Identity {
            width,
            height: 3000,
            name: name.into(),
            lens: None,
            focal_mm: Some(focal),
            focal_35mm: None,
        }
    }

    #[test]
    fn what_is_odd_is_said() {
        let usual = identity(4000, "Larkspur L-20", 5.4);
        for (odd, part) in [
            (identity(2000, "Larkspur L-20", 5.4), "2000 x 3000 px"),
            (identity(4000, "", 5.4), "an unnamed camera"),
            (
                identity(4000, "Larkspur L-20", 2.1),
                "at 2.1 mm and the others at 5.4 mm",
            ),
        ] {
            let told = odd.told_from(&usual);
            assert!(told.contains(part), "{told}");
        }
    }
}
