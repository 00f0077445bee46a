//! What a part job asks for, checked.

use crate::observe::Observed;
use crate::scene::Setting;
use crate::{Error, JobInput, asked};
use shimwright_geom::Vec2;
use shimwright_record::{Height, JobDrive, StatedLength};
use shimwright_say::say;

/// Names of the marks.
pub(super) const OUTER: &str = "outer";
pub(super) const INNER: &str = "inner";
pub(super) const EDGE_A: &str = "edge_a";
pub(super) const EDGE_B: &str = "edge_b";
/// All of them, in the order of the curves.
const NAMES: [&str; 4] = [OUTER, INNER, EDGE_A, EDGE_B];

/// Standard deviation of the sheet's sagitta, mm: paper that lies on a bench.
const BEND: f64 = 0.2;
/// Tallest part, mm: a phone's depth of field ends about there.
pub(super) const TALLEST: f64 = 80.0;

/// A checked part job.
pub(super) struct Problem {
    /// The curves asked for, by their marks' names.
    pub names: Vec<&'static str>,
    /// Marks of each photo, in the order of `names`.
    pub marks: Vec<Vec<Vec<Vec2>>>,
    /// What is known of the part.
    pub drive: JobDrive,
    /// Stated heights.
    height: Option<Height>,
}

impl Problem {
    /// Checks all that can be checked before a photo is decoded.
    pub fn check(input: &JobInput) -> Result<(Self, Setting), Error> {
        asked::check_photos(input)?;
        let setting = Setting::of(input, "bench-sheet", Vec2::repeat(BEND))?;
        let job = input.job;
        let drive = job.drive.clone().unwrap_or_default();
        check_drive(&drive)?;
        let used = |name: &str| {
            job.photos
                .iter()
                .any(|p| p.marks.get(name).is_some_and(|m| !m.is_empty()))
        };
        let names: Vec<_> = NAMES.into_iter().filter(|name| used(name)).collect();
        let problem = Self {
            marks: marks(input, &names)?,
            names,
            drive,
            height: job.height.clone(),
        };
        problem.check_names(input)?;
        problem.check_heights()?;
        Ok((problem, setting))
    }

    /// The stated height of the face above the sheet at a curve.
    pub fn height(&self, curve: usize) -> Option<StatedLength> {
        self.height.as_ref()?.of(self.names[curve])
    }

    /// Whether a curve is a straight edge.
    pub fn is_straight(&self, curve: usize) -> bool {
        matches!(self.names[curve], EDGE_A | EDGE_B)
    }

    /// Index of a curve by its mark's name.
    pub fn curve(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|n| *n == name)
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

    fn check_names(&self, input: &JobInput) -> Result<(), Error> {
        if self.names.is_empty() {
            return Err(Error::bad(
                Some("photos.marks"),
                say!("no photo has a mark of the part"),
                say!(
                    "mark its outer rim as `{OUTER}`, its bore as `{INNER}`, or two parallel edges as `{EDGE_A}` and \
                     `{EDGE_B}`, roughly, in at least one photo"
                ),
            ));
        }
        if self.curve(EDGE_A).is_some() != self.curve(EDGE_B).is_some() {
            return Err(Error::bad(
                Some("photos.marks"),
                say!("a width needs both marks, `{EDGE_A}` and `{EDGE_B}`"),
                say!("mark the two parallel edges in the same photo"),
            ));
        }
        let open = |curve: &usize| {
            let marked = self
                .marks
                .iter()
                .filter(|marks| !marks[*curve].is_empty())
                .count();
            self.is_straight(*curve) && marked < 2 && self.height(*curve).is_none()
        };
        // A line in one photo and a line in another always meet in space: nothing else tells which belong together.
        if let Some(curve) = (0..self.names.len()).find(open) {
            return Err(Error::bad(
                Some("photos.marks"),
                say!(
                    "the straight edge `{}` is marked in one photo only",
                    self.names[curve]
                ),
                say!(
                    "mark it in a second photo from another side, or state `height` of the part above the sheet with its u95"
                ),
            ));
        }
        let one_photo = input.photos.len() == 1;
        match (0..self.names.len()).find(|&curve| one_photo && self.height(curve).is_none()) {
            Some(curve) => Err(Error::bad(
                Some("photos"),
                say!(
                    "one photo cannot tell how high the edge `{}` stands above the sheet",
                    self.names[curve]
                ),
                say!(
                    "add a second photo from another side, or state `height` of the part above the sheet with its u95"
                ),
            )),
            None => Ok(()),
        }
    }

    fn check_heights(&self) -> Result<(), Error> {
        for (curve, name) in self.names.iter().enumerate() {
            if let Some(height) = self.height(curve)
                && !((0.0..=TALLEST).contains(&height.value) && height.u95 >= 0.0 && height.u95 <= TALLEST)
            {
                return Err(Error::bad(
                    Some("height"),
                    say!(
                        "the height of `{name}` is {} +- {} mm, which is not between 0 and {TALLEST} mm",
                        height.value,
                        height.u95
                    ),
                    say!("give how far the part's upper face stands above the sheet, in millimetres"),
                ));
            }
        }
        Ok(())
    }
}

fn check_drive(drive: &JobDrive) -> Result<(), Error> {
    for (name, value, least, most) in [
        ("drive.rim_chamfer", drive.rim_chamfer, 0.0, 3.0),
        ("drive.nominal", drive.nominal, 0.5, 400.0),
        ("drive.tolerance", drive.tolerance, 0.001, 10.0),
    ] {
        asked::check_length(name, value, least, most)?;
    }
    if drive.nominal.is_some() != drive.tolerance.is_some() {
        return Err(Error::bad(
            Some("drive.nominal"),
            say!("`drive.nominal` and `drive.tolerance` belong together"),
            say!("give the size the part should have and how far it may be off, or neither"),
        ));
    }
    Ok(())
}

fn marks(input: &JobInput, names: &[&str]) -> Result<Vec<Vec<Vec<Vec2>>>, Error> {
    let of_photo = |photo: &shimwright_record::JobPhoto| {
        if let Some(other) = photo.marks.keys().find(|name| !NAMES.contains(&name.as_str())) {
            return Err(Error::bad(
                Some(&photo.file),
                say!("a part check knows no mark `{other}`"),
                say!("use {}", NAMES.map(|name| format!("`{name}`")).join(", ")),
            ));
        }
        names.iter().map(|name| points(photo, name)).collect()
    };
    input.job.photos.iter().map(of_photo).collect()
}

fn points(photo: &shimwright_record::JobPhoto, name: &str) -> Result<Vec<Vec2>, Error> {
    let points = photo.marks.get(name).map(Vec::as_slice).unwrap_or_default();
    let least = if matches!(name, EDGE_A | EDGE_B) { 2 } else { 3 };
    asked::mark_points(&photo.file, name, points, least)
}
