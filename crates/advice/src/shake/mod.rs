//! What eccentricity and added mass do at speed: force, vibration, balance grade, and the belt's pull over a turn.

pub mod balance;
mod words;

use crate::asked::{check_number, check_quantity};
use crate::belt::{Pulleys, pitch_diameter};
use crate::{Error, check_drive};
use balance::{GRADES, angular_speed, force, permissible, velocity, wheel_rpm};
use shimwright_record::conformity::at_most;
use shimwright_record::{
    AddedMass, DriveDescription, GradeLimit, Quantity, ShakeAdvice, ShakePoint, ShakeQuestion,
};
use shimwright_say::say;

/// Points of the series, standing still and top speed included.
const POINTS: u32 = 26;

/// How well masses on a kitchen scale or from a data sheet are known, expanded uncertainty (95 %) as a share. An
/// assumption, no source.
const MASS_U95: f64 = 0.1;

/// Top speeds that a board has, km/h.
const TOP_SPEEDS: [f64; 2] = [1.0, 120.0];

/// What the measured eccentricity means at speed.
///
/// The pulley's mass is taken to be centred on its rim, and every added mass to lie on the pulley's heavy side, which is
/// the worst case.
///
/// # Errors
/// [`Error::NotDescribed`] for a drive without a description, [`Error::Drive`] for one that contradicts itself, and others
/// for numbers that cannot be meant.
pub fn shake_advice(question: &ShakeQuestion) -> Result<ShakeAdvice, Error> {
    let contradictions = check_drive(&question.drive);
    if !contradictions.is_empty() {
        return Err(Error::Drive { contradictions });
    }
    let drive = question.drive.description.as_ref().ok_or(Error::NotDescribed)?;
    check_question(question)?;
    let unbalance = unbalance(question, drive);
    let series: Vec<ShakePoint> = (0..POINTS)
        .map(|point| {
            let share = f64::from(point) / f64::from(POINTS - 1);
            point_at(question.top_speed * share, &unbalance, drive)
        })
        .collect();
    let path_swing = path_swing(&question.eccentricity, drive)?;
    let tension_swing = drive.belt_stiffness.map(|stiffness| Quantity {
        value: path_swing.value * stiffness,
        u95: path_swing.u95 * stiffness,
        unit: "N".to_owned(),
    });
    let grades = grades(question.top_speed, &unbalance, drive);
    Ok(ShakeAdvice {
        guidance: words::guidance(
            question,
            &words::Told {
                drive,
                unbalance: &unbalance,
                top: point_at(question.top_speed, &unbalance, drive),
                grades: &grades,
                path_swing: &path_swing,
                tension_swing: tension_swing.as_ref(),
            },
        ),
        unbalance,
        series,
        grades,
        path_swing,
        tension_swing,
    })
}

fn check_question(question: &ShakeQuestion) -> Result<(), Error> {
    check_quantity(&question.eccentricity, say!("the eccentricity"), "mm")?;
    check_number(
        question.eccentricity.value,
        say!("the eccentricity"),
        [0.0, 20.0],
        say!("a distance in mm, 0 to 20"),
    )?;
    check_number(
        question.top_speed,
        say!("the top speed"),
        TOP_SPEEDS,
        say!("1 to 120 km/h"),
    )?;
    for added in &question.added {
        let AddedMass { name, grams, radius } = added;
        check_number(
            *grams,
            say!("the mass of `{name}`"),
            [0.0, 500.0],
            say!("0 to 500 g"),
        )?;
        check_number(
            *radius,
            say!("the radius of `{name}`"),
            [0.0, 300.0],
            say!("0 to 300 mm from the axis"),
        )?;
    }
    Ok(())
}

/// Unbalance, g mm: the pulley's mass at its eccentricity, and the added masses at their radii, all on one side.
fn unbalance(question: &ShakeQuestion, drive: &DriveDescription) -> Quantity {
    let grams = drive.pulley_mass * 1000.0;
    let off = &question.eccentricity;
    let pulley = grams * off.value;
    let added = question.added.iter().map(|added| added.grams * added.radius);
    let squares = added.clone().map(|part| (part * MASS_U95).powi(2));
    let u95 = ((grams * off.u95).powi(2) + (pulley * MASS_U95).powi(2) + squares.sum::<f64>()).sqrt();
    Quantity {
        value: pulley + added.sum::<f64>(),
        u95,
        unit: "g mm".to_owned(),
    }
}

fn point_at(speed: f64, unbalance: &Quantity, drive: &DriveDescription) -> ShakePoint {
    let rpm = wheel_rpm(speed, drive.wheel_diameter);
    let omega = angular_speed(rpm);
    ShakePoint {
        speed,
        rpm,
        frequency: rpm / 60.0,
        force: force(unbalance.value, omega),
        force_u95: force(unbalance.u95, omega),
        velocity: velocity(unbalance.value, drive.wheel_mass, omega),
    }
}

/// The grades that may matter for a wheel at top speed.
fn grades(top_speed: f64, unbalance: &Quantity, drive: &DriveDescription) -> Vec<GradeLimit> {
    let omega = angular_speed(wheel_rpm(top_speed, drive.wheel_diameter));
    GRADES
        .into_iter()
        .filter(|grade| (6.3..=100.0).contains(grade))
        .map(|grade| {
            let permissible = permissible(grade, drive.wheel_mass, omega);
            let (state, kept) = at_most(unbalance.value, unbalance.u95, permissible);
            GradeLimit {
                grade,
                permissible,
                state,
                kept,
            }
        })
        .collect()
}

/// How far the belt's path swings each way over a turn, mm: the pulley's centre comes closer to the motor and goes away by
/// the eccentricity, and the path changes by dL/dC = 2 cos a for each mm.
fn path_swing(eccentricity: &Quantity, drive: &DriveDescription) -> Result<Quantity, Error> {
    let pulleys = Pulleys::new(
        pitch_diameter(drive.motor_teeth, drive.pitch),
        pitch_diameter(drive.wheel_teeth, drive.pitch),
    );
    let length = f64::from(drive.belt_teeth) * drive.pitch;
    let centre = drive
        .centre_distance
        .or_else(|| pulleys.centre_distance(length))
        .ok_or(Error::NotDescribed)?;
    let per_mm = pulleys.path_per_centre_distance(centre);
    Ok(Quantity {
        value: eccentricity.value * per_mm,
        u95: eccentricity.u95 * per_mm,
        unit: "mm".to_owned(),
    })
}
