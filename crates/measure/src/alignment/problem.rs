//! What an alignment job asks for, checked.

use crate::observe::Observed;
use crate::scene::Setting;
use crate::{Error, JobInput, asked};
use shimwright_geom::Vec2;
use shimwright_record::Phrase;
use shimwright_record::{JobDrive, JobPhoto, StatedLength};
use shimwright_say::say;

/// Names of the marks, in the order of the curves.
const NAMES: [&str; 4] = ["driven_inner", "driven_outer", "motor_inner", "motor_outer"];
/// Fewest points of a mark: two do not tell a circle.
const FEWEST_POINTS: usize = 3;
/// Standard deviation of the card's sagitta along x and y, mm.
const BEND: Vec2 = Vec2::new(0.05, 0.02);
/// Largest misalignment when the job names none, degrees: a belt maker's design guide gives it for synchronous belts, angle
/// and offset together.
const DEFAULT_LIMIT: f64 = 0.25;

/// One of the two pulleys.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Pulley {
    /// The wheel's.
    Driven,
    /// The motor's.
    Motor,
}

impl Pulley {
    pub const BOTH: [Pulley; 2] = [Self::Driven, Self::Motor];

    /// Its name in sentences.
    pub fn words(self) -> Phrase {
        match self {
            Self::Driven => say!("the wheel's pulley"),
            Self::Motor => say!("the motor's pulley"),
        }
    }
}

/// A marked edge.
#[derive(Clone, Copy, Debug)]
pub(super) struct Role {
    /// Whose edge it is.
    pub pulley: Pulley,
    /// Whether it is the one away from the mount.
    pub outer: bool,
}

/// A checked alignment job.
pub(super) struct Problem {
    /// Names of the marked edges, one for each curve.
    pub names: Vec<&'static str>,
    /// What each is.
    pub roles: Vec<Role>,
    /// Marks of each photo, in the order of `names`.
    pub marks: Vec<Vec<Vec<Vec2>>>,
    /// What is known of the drive.
    pub drive: JobDrive,
    /// Diameters of the wheel's and of the motor's marked edges, mm.
    diameters: [f64; 2],
    /// Limit of the misalignment, degrees.
    pub limit: f64,
}

impl Problem {
    /// Checks all that can be checked before a photo is decoded.
    pub fn check(input: &JobInput) -> Result<(Self, Setting), Error> {
        asked::check_photos(input)?;
        let setting = Setting::of(input, "mount-card", BEND)?;
        let job = input.job;
        if input.photos.len() < 2 {
            return Err(Error::bad(
                Some("photos"),
                say!("one photo cannot tell how far away the pulleys are"),
                say!(
                    "take three or four photos from above, from different sides, with both pulleys and the card in each"
                ),
            ));
        }
        let drive = job.drive.clone().unwrap_or_default();
        check_drive(&drive)?;
        let diameters = [
            stated(drive.rim_diameter, "rim_diameter", Pulley::Driven)?,
            stated(drive.motor_diameter, "motor_diameter", Pulley::Motor)?,
        ];
        let marked = |name: &str| {
            let with = |photo: &&JobPhoto| photo.marks.get(name).is_some_and(|marks| !marks.is_empty());
            job.photos.iter().filter(with).count()
        };
        let roles =
            [Pulley::Driven, Pulley::Motor].map(|pulley| [false, true].map(|outer| Role { pulley, outer }));
        let (names, roles): (Vec<_>, Vec<_>) = NAMES
            .into_iter()
            .zip(roles.into_iter().flatten())
            .filter(|(name, _)| marked(name) > 0)
            .unzip();
        if let Some(name) = names.iter().find(|name| marked(name) < 2) {
            return Err(Error::bad(
                Some("photos.marks"),
                say!("the edge `{name}` is marked in one photo only"),
                say!("mark it in every photo that shows it, at least in two taken from different sides"),
            ));
        }
        let problem = Self {
            marks: marks(input, &names)?,
            names,
            roles,
            limit: drive.alignment_limit.unwrap_or(DEFAULT_LIMIT),
            drive,
            diameters,
        };
        problem.check_edges()?;
        Ok((problem, setting))
    }

    /// Stated radius of a curve, mm.
    pub fn radius(&self, curve: usize) -> f64 {
        self.diameters[self.roles[curve].pulley as usize] / 2.0
    }

    /// Radius of the wheel's marked edges, mm.
    pub fn driven_radius(&self) -> f64 {
        self.diameters[Pulley::Driven as usize] / 2.0
    }

    /// The curve of a pulley's inner or outer edge, when it is marked.
    pub fn curve(&self, pulley: Pulley, outer: bool) -> Option<usize> {
        self.roles
            .iter()
            .position(|role| role.pulley == pulley && role.outer == outer)
    }

    /// Whether both edges of a pulley are marked.
    pub fn has_both(&self, pulley: Pulley) -> bool {
        self.curve(pulley, false).is_some() && self.curve(pulley, true).is_some()
    }

    /// The stated distance between a pulley's faces.
    pub fn width(&self, pulley: Pulley) -> Option<StatedLength> {
        match pulley {
            Pulley::Driven => self.drive.driven_width,
            Pulley::Motor => self.drive.motor_width,
        }
    }

    /// Checks the marks against the decoded photos.
    pub fn check_marks(&self, photos: &[Observed]) -> Result<(), Error> {
        for (marks, photo) in self.marks.iter().zip(photos) {
            for (points, name) in marks.iter().zip(&self.names) {
                asked::check_inside(photo, name, points)?;
            }
        }
        Ok(())
    }

    fn check_edges(&self) -> Result<(), Error> {
        for (pulley, short) in [(Pulley::Driven, "driven"), (Pulley::Motor, "motor")] {
            if !self.roles.iter().any(|role| role.pulley == pulley) {
                return Err(Error::bad(
                    Some("photos.marks"),
                    say!("no photo has a mark of {}", pulley.words()),
                    say!(
                        "mark its edges as `{short}_inner` (towards the mount) and `{short}_outer`, roughly"
                    ),
                ));
            }
            if !self.has_both(pulley) && self.width(pulley).is_none() {
                return Err(Error::bad(
                    Some("photos.marks"),
                    say!(
                        "only one edge of {} is marked, which does not tell its middle",
                        pulley.words()
                    ),
                    say!(
                        "mark its other edge, too, or give `drive.{short}_width`, the distance between its outer faces"
                    ),
                ));
            }
        }
        if Pulley::BOTH.iter().any(|pulley| self.has_both(*pulley)) {
            Ok(())
        } else {
            Err(Error::bad(
                Some("photos.marks"),
                say!("neither pulley has both its edges marked, so nothing tells which way is outboard"),
                say!("mark both edges of at least one pulley"),
            ))
        }
    }
}

fn stated(diameter: Option<f64>, key: &str, pulley: Pulley) -> Result<f64, Error> {
    let field = say!("drive.{key}");
    diameter.ok_or_else(|| {
        Error::bad(
            Some(&field),
            say!(
                "the job does not give `{field}`, the diameter of {}'s marked edges",
                pulley.words()
            ),
            say!("measure it across the flanges with callipers and give it in mm"),
        )
    })
}

fn check_drive(drive: &JobDrive) -> Result<(), Error> {
    asked::check_axial_runout(drive)?;
    for (name, value, least, most) in [
        ("drive.rim_diameter", drive.rim_diameter, 10.0, 400.0),
        ("drive.motor_diameter", drive.motor_diameter, 8.0, 200.0),
        ("drive.rim_chamfer", drive.rim_chamfer, 0.0, 3.0),
        (
            "drive.driven_width",
            drive.driven_width.map(|w| w.value),
            2.0,
            100.0,
        ),
        (
            "drive.motor_width",
            drive.motor_width.map(|w| w.value),
            2.0,
            100.0,
        ),
        (
            "drive.driven_width.u95",
            drive.driven_width.map(|w| w.u95),
            0.0,
            5.0,
        ),
        (
            "drive.motor_width.u95",
            drive.motor_width.map(|w| w.u95),
            0.0,
            5.0,
        ),
    ] {
        asked::check_length(name, value, least, most)?;
    }
    match drive.alignment_limit {
        Some(limit) if !(limit > 0.0 && limit <= 5.0) => Err(Error::bad(
            Some("drive.alignment_limit"),
            say!("`drive.alignment_limit` is {limit} degrees, which is not between 0 and 5 degrees"),
            say!("give the largest misalignment that the belt's maker allows"),
        )),
        _ => Ok(()),
    }
}

fn marks(input: &JobInput, names: &[&str]) -> Result<Vec<Vec<Vec<Vec2>>>, Error> {
    let of_photo = |photo: &JobPhoto| {
        if let Some(other) = photo.marks.keys().find(|name| !NAMES.contains(&name.as_str())) {
            return Err(Error::bad(
                Some(&photo.file),
                say!("an alignment check knows no mark `{other}`"),
                say!("use {}", NAMES.map(|name| format!("`{name}`")).join(", ")),
            ));
        }
        let points = |name: &&str| {
            let points = photo.marks.get(*name).map(Vec::as_slice).unwrap_or_default();
            asked::mark_points(&photo.file, name, points, FEWEST_POINTS)
        };
        names.iter().map(points).collect()
    };
    input.job.photos.iter().map(of_photo).collect()
}
