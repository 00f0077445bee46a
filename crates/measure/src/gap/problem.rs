//! What a gap job asks for, checked.

use crate::observe::Observed;
use crate::{Error, JobInput, asked, trials};
use shimwright_geom::Vec2;
use shimwright_record::{Height, JobDrive, PrintScale};
use shimwright_say::say;
use shimwright_solve::FeatureId;

/// Names of the two marks.
pub(crate) const MOUNT_EDGE: &str = "mount_edge";
pub(crate) const RIM_EDGE: &str = "rim_edge";

/// Smallest gap when the job names none, mm (ours; the board maker's value goes first).
const DEFAULT_MINIMUM_GAP: f64 = 0.5;

/// A checked gap job.
pub(crate) struct Problem {
    /// Name of the fixed target.
    pub fixed: String,
    /// Its printed corners' box: middle and half size, mm.
    pub middle: Vec2,
    /// Half size.
    pub half: Vec2,
    /// Marks of each photo.
    pub marks: Vec<PhotoMarks>,
    /// Print scale, and whether it was measured.
    pub scale: PrintScale,
    /// Whether the user measured the print scale.
    pub scale_checked: bool,
    /// What is known of the drive.
    pub drive: JobDrive,
    /// Stated heights.
    pub height: Option<Height>,
    /// Limit of the verdict, mm.
    pub minimum_gap: f64,
    /// Monte Carlo trials of the uncertainty, when asked for.
    pub trials: Option<u32>,
}

/// Marks made in a photo.
#[derive(Clone, Debug, Default)]
pub(crate) struct PhotoMarks {
    pub mount: Vec<Vec2>,
    pub rim: Vec<Vec2>,
}

impl Problem {
    /// Checks all that can be checked before a photo is decoded.
    pub fn check(input: &JobInput) -> Result<Self, Error> {
        let problem = Self::read(input)?;
        problem.check_views()?;
        Ok(problem)
    }

    /// Reads a job whatever is marked.
    pub fn read(input: &JobInput) -> Result<Self, Error> {
        let job = input.job;
        asked::check_photos(input)?;
        let fixed = job
            .targets
            .as_ref()
            .and_then(|t| t.fixed.clone())
            .unwrap_or_else(|| "mount-card".into());
        let target = asked::target(input, &fixed)?;
        let (low, high) = target.pattern_box();
        let drive = job.drive.clone().unwrap_or_default();
        check_drive(&drive)?;
        asked::check_axial_runout(&drive)?;
        let (scale, scale_checked) = asked::print_scale(job)?;
        Ok(Self {
            fixed,
            middle: (low + high) / 2.0,
            half: (high - low) / 2.0,
            marks: marks(input)?,
            scale,
            scale_checked,
            minimum_gap: drive.minimum_gap.unwrap_or(DEFAULT_MINIMUM_GAP),
            drive,
            height: job.height.clone(),
            trials: trials::asked(job)?,
        })
    }

    /// The same job without its marks.
    pub fn without_marks(mut self) -> Self {
        self.marks.fill(PhotoMarks::default());
        self
    }

    /// Whether nothing is marked.
    pub fn unmarked(&self) -> bool {
        (self.marks.iter()).all(|marks| marks.mount.is_empty() && marks.rim.is_empty())
    }

    /// Checks the marks against the decoded photos.
    pub fn check_marks(&self, photos: &[Observed]) -> Result<(), Error> {
        for (marks, photo) in self.marks.iter().zip(photos) {
            asked::check_inside(photo, MOUNT_EDGE, &marks.mount)?;
            asked::check_inside(photo, RIM_EDGE, &marks.rim)?;
        }
        Ok(())
    }

    fn check_views(&self) -> Result<(), Error> {
        let marked = |pick: &dyn Fn(&PhotoMarks) -> bool| self.marks.iter().any(pick);
        for (name, there) in [
            (MOUNT_EDGE, marked(&|m| !m.mount.is_empty())),
            (RIM_EDGE, marked(&|m| !m.rim.is_empty())),
        ] {
            if !there {
                return Err(Error::bad(
                    Some("photos.marks"),
                    say!("no photo has the mark `{name}`"),
                    say!("mark `{name}` roughly in at least one photo"),
                ));
            }
        }
        if self.marks.len() == 1 {
            let height = self.height.as_ref();
            if height.and_then(|h| h.of(MOUNT_EDGE)).is_none()
                || height.and_then(|h| h.of(RIM_EDGE)).is_none()
            {
                return Err(Error::bad(
                    Some("photos"),
                    say!("one photo cannot tell how far the edges lie below or above the card"),
                    say!(
                        "add a second photo from another side, or state `height` of the edges above the card with its u95"
                    ),
                ));
            }
        }
        Ok(())
    }

    /// Expected radius of the rim's face line and its standard deviation, mm.
    pub fn radius(&self) -> Option<(f64, f64)> {
        let chamfer = self.drive.rim_chamfer.unwrap_or(super::chamfer::UNKNOWN_CHAMFER);
        // A diameter read off a drawing or with callipers.
        self.drive
            .rim_diameter
            .map(|diameter| (diameter / 2.0 - chamfer, 0.05))
    }

    /// Stated heights as the solver takes them.
    pub fn stated_heights(&self) -> Vec<(FeatureId, f64, f64)> {
        [(MOUNT_EDGE, FeatureId::Line), (RIM_EDGE, FeatureId::Circle)]
            .into_iter()
            .filter_map(|(name, feature)| {
                let stated = self.height.as_ref()?.of(name)?;
                Some((feature, stated.value, (stated.u95 / 1.96).max(1e-3)))
            })
            .collect()
    }
}

fn check_drive(drive: &JobDrive) -> Result<(), Error> {
    for (name, value, least, most) in [
        ("drive.rim_diameter", drive.rim_diameter, 10.0, 400.0),
        ("drive.mount_chamfer", drive.mount_chamfer, 0.0, 3.0),
        ("drive.rim_chamfer", drive.rim_chamfer, 0.0, 3.0),
        ("drive.minimum_gap", drive.minimum_gap, 0.0, 20.0),
    ] {
        if let Some(value) = value
            && !(value >= least && value <= most)
        {
            return Err(Error::bad(
                Some(name),
                say!("`{name}` is {value} mm, which is not between {least} and {most} mm"),
                say!("give it in millimetres"),
            ));
        }
    }
    Ok(())
}

fn marks(input: &JobInput) -> Result<Vec<PhotoMarks>, Error> {
    input
        .job
        .photos
        .iter()
        .map(|photo| {
            let mut marks = PhotoMarks::default();
            for (name, points) in &photo.marks {
                let (slot, least) = match name.as_str() {
                    MOUNT_EDGE => (&mut marks.mount, 2),
                    RIM_EDGE => (&mut marks.rim, 3),
                    other => {
                        return Err(Error::bad(
                            Some(&photo.file),
                            say!("a gap check knows no mark `{other}`"),
                            say!("use `{MOUNT_EDGE}` and `{RIM_EDGE}`"),
                        ));
                    }
                };
                if points.is_empty() {
                    continue;
                }
                if points.len() < least || points.iter().flatten().any(|v| !v.is_finite()) {
                    return Err(Error::bad(
                        Some(&photo.file),
                        say!(
                            "mark `{name}` of {} has {} usable points",
                            photo.file,
                            points.len()
                        ),
                        say!("give it at least {least} points"),
                    ));
                }
                *slot = points.iter().map(|p| Vec2::new(p[0], p[1])).collect();
            }
            Ok(marks)
        })
        .collect()
}
