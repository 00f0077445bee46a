//! The numbers of two pulleys, as functions of the solved state.

use super::problem::{Problem, Pulley};
use super::steps::circle;
use shimwright_geom::Vec3;
use shimwright_solve::CurvesState;

/// A pulley as measured: the middle of its width, and its axis outboard.
#[derive(Clone, Copy, Debug)]
struct Body {
    middle: Vec3,
    axis: Vec3,
}

/// Both pulleys.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pulleys {
    driven: Body,
    motor: Body,
}

impl Pulleys {
    /// From a state, with the chamfer's leg, mm; no numbers where a curve is missing.
    pub fn of(problem: &Problem, state: &CurvesState, leg: f64) -> Self {
        Self {
            driven: body(problem, state, Pulley::Driven, leg),
            motor: body(problem, state, Pulley::Motor, leg),
        }
    }

    fn between(&self) -> Vec3 {
        self.motor.middle - self.driven.middle
    }

    /// How far the wheel's pulley stands further outboard, along its axis at the motor, mm.
    pub fn offset(&self) -> f64 {
        -self.between().dot(&self.driven.axis)
    }

    /// From the wheel's axis to the motor's middle, mm.
    pub fn distance(&self) -> f64 {
        let between = self.between();
        (between - self.driven.axis * between.dot(&self.driven.axis)).norm()
    }

    /// The angle that the offset makes over the distance, rad.
    pub fn slant(&self) -> f64 {
        self.offset().atan2(self.distance())
    }

    /// By how much the axes spread apart outboard in the plane of the wheel's axis and the motor's middle, rad.
    pub fn spread(&self) -> f64 {
        self.leaning(&self.along())
    }

    /// The motor's axis turned about the line from wheel to motor, right-handed, rad.
    pub fn twist(&self) -> f64 {
        self.leaning(&self.along().cross(&self.driven.axis))
    }

    fn leaning(&self, towards: &Vec3) -> f64 {
        self.motor
            .axis
            .dot(towards)
            .atan2(self.motor.axis.dot(&self.driven.axis))
    }

    /// From wheel to motor, square to the wheel's axis.
    fn along(&self) -> Vec3 {
        let between = self.between();
        (between - self.driven.axis * between.dot(&self.driven.axis)).normalize()
    }
}

fn body(problem: &Problem, state: &CurvesState, pulley: Pulley, leg: f64) -> Body {
    let face = |outer: bool| {
        let circle = circle(state, problem.curve(pulley, outer)?)?;
        // Normals point out of the faces.
        Some((circle.centre + circle.normal * leg, circle.normal))
    };
    let half = problem.width(pulley).map_or(f64::NAN, |width| width.value / 2.0);
    match (face(false), face(true)) {
        (Some((inner, into)), Some((outer, out))) => Body {
            middle: (inner + outer) / 2.0,
            axis: (out - into).normalize(),
        },
        (Some((inner, into)), None) => Body {
            middle: inner - into * half,
            axis: -into,
        },
        (None, Some((outer, out))) => Body {
            middle: outer - out * half,
            axis: out,
        },
        (None, None) => Body {
            middle: Vec3::repeat(f64::NAN),
            axis: Vec3::repeat(f64::NAN),
        },
    }
}

/// Distance between the faces of a pulley of which both edges were measured, mm.
pub(super) fn width(problem: &Problem, state: &CurvesState, pulley: Pulley, leg: f64) -> Option<f64> {
    let inner = circle(state, problem.curve(pulley, false)?)?;
    let outer = circle(state, problem.curve(pulley, true)?)?;
    let axis = (outer.normal - inner.normal).normalize();
    Some((outer.centre - inner.centre).dot(&axis) + 2.0 * leg)
}
