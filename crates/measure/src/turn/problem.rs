//! What a turn job asks for, checked.

use crate::observe::Observed;
use crate::{Error, JobInput, asked, trials};
use shimwright_geom::Vec2;
use shimwright_record::Phrase;
use shimwright_record::{JobDrive, PrintScale};
use shimwright_say::say;
use shimwright_solve::Print;
use shimwright_target::Target;

/// Name of the mark.
pub(crate) const RIM_EDGE: &str = "rim_edge";
/// Fewest photos: three would just determine the axis and leave nothing to see play or a slip by.
pub(super) const FEWEST_PHOTOS: usize = 4;
/// Fewest points of a mark: two do not tell a circle.
const FEWEST_POINTS: usize = 3;
/// Largest radial run-out (full indicator movement) when the job names none, mm (ours; a belt maker's or board
/// maker's value goes first).
const DEFAULT_RUNOUT_LIMIT: f64 = 0.10;

/// A checked turn job.
pub(crate) struct Problem {
    /// Name of the fixed target and how it is printed.
    pub fixed: (String, Print),
    /// The same of the turning target.
    pub turning: (String, Print),
    /// Marks on the rim in each photo.
    pub marks: Vec<Vec<Vec2>>,
    /// Print scale.
    pub scale: PrintScale,
    /// Whether the user measured the print scale.
    pub scale_checked: bool,
    /// What is known of the drive.
    pub drive: JobDrive,
    /// Limit of the radial run-out, mm.
    pub runout_limit: f64,
    /// Monte Carlo trials of the uncertainty, when asked for.
    pub trials: Option<u32>,
}

impl Problem {
    /// Checks all of a turn job that can be checked before a photo is decoded.
    pub fn check(input: &JobInput) -> Result<Self, Error> {
        let problem = Self::of(
            input,
            FEWEST_PHOTOS,
            say!(
                "take 8 to 12 photos, turning the wheel by hand a little further for each, all the way round"
            ),
        )?;
        if problem.drive.rim_diameter.is_none() && problem.marks.iter().all(Vec::is_empty) {
            return Err(Error::bad(
                Some("photos.marks"),
                say!("no photo has the mark `{RIM_EDGE}` and the job names no rim diameter"),
                say!("mark `{RIM_EDGE}` roughly in one photo, or give `drive.rim_diameter`"),
            ));
        }
        Ok(problem)
    }

    /// Checks any job with a fixed and a turning target; `hint` tells what to do when the photos are fewer than `fewest`.
    pub fn of(input: &JobInput, fewest: usize, hint: Phrase) -> Result<Self, Error> {
        let job = input.job;
        let trials = trials::asked(job)?;
        asked::check_photos(input)?;
        if input.photos.len() < fewest {
            return Err(Error::bad(
                Some("photos"),
                say!(
                    "a {} check needs at least {fewest} photos and the job has {}",
                    job.check.name(),
                    input.photos.len()
                ),
                hint,
            ));
        }
        let name = |pick: Option<String>, usual: &str| pick.unwrap_or_else(|| usual.into());
        let names = job.targets.clone();
        let fixed = name(names.as_ref().and_then(|t| t.fixed.clone()), "mount-card");
        let turning = name(names.and_then(|t| t.turning), "hub-ring");
        if fixed == turning {
            return Err(Error::bad(
                Some("targets"),
                say!("`{fixed}` is named both as the fixed and as the turning target"),
                say!("put the mount card on a part that stands still and the hub ring on the wheel"),
            ));
        }
        let drive = job.drive.clone().unwrap_or_default();
        asked::check_drive(&drive)?;
        let (scale, scale_checked) = asked::print_scale(job)?;
        Ok(Self {
            fixed: (fixed.clone(), print_of(asked::target(input, &fixed)?)),
            turning: (turning.clone(), print_of(asked::turning_target(input, &turning)?)),
            marks: marks(input)?,
            scale,
            scale_checked,
            runout_limit: drive.runout_limit.unwrap_or(DEFAULT_RUNOUT_LIMIT),
            trials,
            drive,
        })
    }

    /// Checks the marks against the decoded photos, and that one camera took them all.
    pub fn check_photos(&self, photos: &[Observed]) -> Result<(), Error> {
        for (marks, photo) in self.marks.iter().zip(photos) {
            asked::check_inside(photo, RIM_EDGE, marks)?;
        }
        let first = &photos[0];
        let other = photos
            .iter()
            .find(|p| p.found.facts.camera_name() != first.found.facts.camera_name());
        if let Some(other) = other {
            let called = |p: &Observed| match p.found.facts.camera_name() {
                name if name.is_empty() => say!("an unnamed camera"),
                name => Phrase::foreign(name),
            };
            return Err(Error::bad(
                Some(&other.name),
                say!(
                    "the photos come from more than one camera: {} from {}, {} from {}",
                    first.name,
                    called(first),
                    other.name,
                    called(other)
                ),
                say!("take all photos of a job with one phone and one lens"),
            ));
        }
        Ok(())
    }

    /// Half the stated rim diameter, mm.
    pub fn stated_radius(&self) -> Option<f64> {
        self.drive.rim_diameter.map(|diameter| diameter / 2.0)
    }
}

/// How a target bends: about the middle of its pattern.
fn print_of(target: &Target) -> Print {
    let (low, high) = target.pattern_box();
    Print {
        middle: (low + high) / 2.0,
        half: (high - low) / 2.0,
    }
}

fn marks(input: &JobInput) -> Result<Vec<Vec<Vec2>>, Error> {
    let of_photo = |photo: &shimwright_record::JobPhoto| {
        let mut marks = Vec::new();
        for (name, points) in &photo.marks {
            if name != RIM_EDGE {
                return Err(Error::bad(
                    Some(&photo.file),
                    say!("a {} check knows no mark `{name}`", input.job.check.name()),
                    say!("use `{RIM_EDGE}`"),
                ));
            }
            let usable = points.iter().filter(|p| p.iter().all(|v| v.is_finite())).count();
            if !points.is_empty() && (usable < FEWEST_POINTS || usable < points.len()) {
                return Err(Error::bad(
                    Some(&photo.file),
                    say!("mark `{name}` of {} has {usable} usable points", photo.file),
                    say!("give it at least {FEWEST_POINTS} points"),
                ));
            }
            marks = points.iter().map(|p| Vec2::new(p[0], p[1])).collect();
        }
        Ok(marks)
    };
    input.job.photos.iter().map(of_photo).collect()
}
