//! Shake in words, with what was assumed.

use super::MASS_U95;
use crate::wording::{in_own_unit, quantity};
use shimwright_record::{
    Cautions, Conformity, DriveDescription, GradeLimit, Guidance, Phrase, Quantity, ShakePoint, ShakeQuestion,
};
use shimwright_say::say;

/// What is told.
pub(super) struct Told<'a> {
    pub drive: &'a DriveDescription,
    pub unbalance: &'a Quantity,
    pub top: ShakePoint,
    pub grades: &'a [GradeLimit],
    pub path_swing: &'a Quantity,
    pub tension_swing: Option<&'a Quantity>,
}

/// The grade that wheels of cars are balanced to (ISO 21940-11, table of examples, from memory).
const WHEELS: f64 = 40.0;

pub(super) fn guidance(question: &ShakeQuestion, told: &Told) -> Guidance {
    let cautions = Cautions::for_drive_work()
        .and(say!("Do not try out a shake by riding faster: slow down, stop, and find it with the wheel turned by hand."))
        .and(say!("Wear eye protection when anything is cut, ground or glued to balance a wheel; a weight that comes off flies."));
    Guidance::new(headline(question, told), cautions)
        .steps(steps(told))
        .notes(notes(told))
        .basis(basis(told))
}

fn headline(question: &ShakeQuestion, told: &Told) -> Phrase {
    let force = Quantity {
        value: told.top.force,
        u95: told.top.force_u95,
        unit: "N".to_owned(),
    };
    say!(
        "At {} km/h the wheel pulls on its axle with {} that turns round {:.0} times a second; the belt's path swings by ± {} \
         over each turn.",
        question.top_speed,
        in_own_unit(&force),
        told.top.frequency,
        quantity(told.path_swing)
    )
}

fn steps(told: &Told) -> Vec<Phrase> {
    let fails = told
        .grades
        .iter()
        .any(|grade| grade.grade == WHEELS && grade.state == Conformity::Outside);
    let mut steps = Vec::new();
    if fails {
        steps.push(
            say!("The unbalance is more than wheels of cars are allowed: re-centre the pulley first, and take off what hangs on the \
             wheel unbalanced."),
        );
    }
    steps.push(
        say!("Where the wheel shakes although pulley and added masses are small, look at tyre, rim and bearings: they are not in \
         this sum."),
    );
    steps
}

fn notes(told: &Told) -> Vec<Phrase> {
    let pull = match told.tension_swing {
        Some(swing) => say!(
            "The belt's pull swings by ± {} over a turn: set the belt so that its slack side never falls loose.",
            in_own_unit(swing)
        ),
        None => say!(
            "How much the belt's pull swings is not told, because the belt's stiffness is not known; its maker may give \
                 it."
        ),
    };
    vec![
        pull,
        say!("The force grows with the square of the speed: half the speed, a quarter of the force."),
    ]
}

fn basis(told: &Told) -> Vec<Phrase> {
    vec![
        say!(
            "Unbalance {}: the pulley's {} kg at its eccentricity and the added masses at their distance from the axis, all on \
             one side, which is the worst case. Masses are taken as known to within {:.0} in 100 (assumption, no source).",
            in_own_unit(told.unbalance),
            told.drive.pulley_mass,
            MASS_U95 * 100.0
        ),
        say!(
            "The pulley's mass is taken to be centred on its rim, and the rest of the wheel to be in balance; nobody measured \
         either."
        ),
        say!(
            "Force F = U w²; grade G = e w with e = U / mass of the wheel, its centre circling as if nothing held it (ISO \
         21940-11:2016, from memory). G 40 is the grade of car wheels, G 16 and G 6.3 of finer machines (from memory)."
        ),
        say!(
            "Speed is that of a wheel of {} mm rolling without slip and without flattening.",
            told.drive.wheel_diameter
        ),
        say!(
            "Belt path: the pulley's centre comes closer and goes away by its eccentricity once a turn, and the path of an open belt \
         changes by 2 cos a for each mm between the axes."
        ),
    ]
}
