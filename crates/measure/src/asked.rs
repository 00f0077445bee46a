//! What every job must satisfy before a photo is decoded.

use crate::observe::Observed;
use crate::{Error, JobInput};
use shimwright_geom::Vec2;
use shimwright_record::{Job, JobDrive, PrintScale};
use shimwright_say::say;
use shimwright_target::Target;

/// Relative standard deviation of the print scale when it was never checked.
pub(crate) const UNCHECKED_SCALE_SIGMA: f64 = 0.01;
/// Most photos in a job.
const MOST_PHOTOS: usize = 60;

/// The definition of a target that a job names.
pub(crate) fn target<'a>(input: &JobInput<'a>, name: &str) -> Result<&'a Target, Error> {
    known_target(input, "targets.fixed", name)
}

/// As [`target`], for the one on the wheel.
pub(crate) fn turning_target<'a>(input: &JobInput<'a>, name: &str) -> Result<&'a Target, Error> {
    known_target(input, "targets.turning", name)
}

fn known_target<'a>(input: &JobInput<'a>, field: &str, name: &str) -> Result<&'a Target, Error> {
    input.targets.by_name(name).ok_or_else(|| {
        let known: Vec<_> = input.targets.iter().map(|t| t.name()).collect();
        Error::bad(
            Some(field),
            say!("there is no target called `{name}`"),
            say!("use one of {}", known.join(", ")),
        )
    })
}

/// Some photos, not too many, no two alike.
pub(crate) fn check_photos(input: &JobInput) -> Result<(), Error> {
    if input.photos.is_empty() {
        return Err(Error::bad(
            Some("photos"),
            say!("the job has no photo"),
            say!("name at least two photos"),
        ));
    }
    if input.photos.len() > MOST_PHOTOS {
        return Err(Error::bad(
            Some("photos"),
            say!(
                "the job has {} photos and the limit is {MOST_PHOTOS}",
                input.photos.len()
            ),
            say!("leave the poorer ones out"),
        ));
    }
    for (i, photo) in input.photos.iter().enumerate() {
        if let Some(twin) = input.photos[..i].iter().find(|other| other.bytes == photo.bytes) {
            return Err(Error::bad(
                Some(photo.name),
                say!("{} and {} have the same content", twin.name, photo.name),
                say!("leave one out and take another photo from a different side"),
            ));
        }
    }
    Ok(())
}

/// A print scale that a printer may have.
pub(crate) fn check_scale(scale: PrintScale) -> Result<PrintScale, Error> {
    for (name, value) in [("x", scale.x), ("y", scale.y)] {
        if !(0.9..=1.1).contains(&value) {
            return Err(Error::bad(
                Some("print_scale"),
                say!("`print_scale.{name}` is {value}, which is not between 0.9 and 1.1"),
                say!("give the bar's measured length over its printed length"),
            ));
        }
    }
    if !(scale.u95 >= 0.0 && scale.u95 <= 0.05) {
        return Err(Error::bad(
            Some("print_scale"),
            say!(
                "`print_scale.u95` is {}, which is not between 0 and 0.05",
                scale.u95
            ),
            say!("give the uncertainty of the scale factor, such as 0.001"),
        ));
    }
    Ok(scale)
}

/// A length that a job states, when it does.
pub(crate) fn check_length(name: &str, value: Option<f64>, least: f64, most: f64) -> Result<(), Error> {
    match value {
        Some(value) if !(value >= least && value <= most) => Err(Error::bad(
            Some(name),
            say!("`{name}` is {value} mm, which is not between {least} and {most} mm"),
            say!("give it in millimetres"),
        )),
        _ => Ok(()),
    }
}

/// The job's print scale, and whether it was measured.
pub(crate) fn print_scale(job: &Job) -> Result<(PrintScale, bool), Error> {
    let unchecked = PrintScale {
        x: 1.0,
        y: 1.0,
        u95: 1.96 * UNCHECKED_SCALE_SIGMA,
    };
    match job.print_scale {
        Some(scale) => Ok((check_scale(scale)?, true)),
        None => Ok((unchecked, false)),
    }
}

/// A stated axial run-out that a wheel may have.
pub(crate) fn check_axial_runout(drive: &JobDrive) -> Result<(), Error> {
    match drive.axial_runout {
        Some(runout) if !(0.0..=10.0).contains(&runout.value) || !(0.0..=10.0).contains(&runout.u95) => {
            Err(Error::bad(
                Some("drive.axial_runout"),
                say!(
                    "`drive.axial_runout` is {} mm with u95 {} mm, which are not both between 0 and 10 mm",
                    runout.value,
                    runout.u95
                ),
                say!("give the full indicator movement at the rim over a turn and its uncertainty"),
            ))
        }
        _ => Ok(()),
    }
}

/// The points of a mark; none when the photo does not carry it.
pub(crate) fn mark_points(
    photo: &str,
    name: &str,
    points: &[[f64; 2]],
    least: usize,
) -> Result<Vec<Vec2>, Error> {
    if points.is_empty() {
        return Ok(vec![]);
    }
    if points.len() < least || points.iter().flatten().any(|v| !v.is_finite()) {
        return Err(Error::bad(
            Some(photo),
            say!("mark `{name}` of {photo} has {} usable points", points.len()),
            say!("give it at least {least} points"),
        ));
    }
    Ok(points.iter().map(|p| Vec2::new(p[0], p[1])).collect())
}

/// Marks lie inside their photo.
pub(crate) fn check_inside(photo: &Observed, name: &str, points: &[Vec2]) -> Result<(), Error> {
    let facts = &photo.found.facts;
    match points.iter().find(|p| !photo.picture.contains(p.x, p.y, 0.0)) {
        None => Ok(()),
        Some(p) => Err(Error::bad(
            Some(&photo.name),
            say!(
                "mark `{name}` of {} lies at ({:.0}, {:.0}), outside the picture of {} x {} px",
                photo.name,
                p.x,
                p.y,
                facts.width,
                facts.height
            ),
            say!("give marks in pixels of the upright photo"),
        )),
    }
}

/// Sizes that a drive may have.
pub(crate) fn check_drive(drive: &JobDrive) -> Result<(), Error> {
    for (name, value, least, most) in [
        ("drive.rim_diameter", drive.rim_diameter, 10.0, 400.0),
        ("drive.rim_chamfer", drive.rim_chamfer, 0.0, 3.0),
        ("drive.play_limit", drive.play_limit, 0.005, 10.0),
        ("drive.runout_limit", drive.runout_limit, 0.005, 10.0),
        ("drive.mark_screw_angle", drive.mark_screw_angle, -360.0, 360.0),
    ] {
        if let Some(value) = value
            && !(value >= least && value <= most)
        {
            let unit = if name.ends_with("angle") { "degrees" } else { "mm" };
            return Err(Error::bad(
                Some(name),
                say!("`{name}` is {value} {unit}, which is not between {least} and {most} {unit}"),
                say!("give it in {unit}"),
            ));
        }
    }
    Ok(())
}
