//! Belt advice: the geometry of a described drive, and how straight each belt runs.

use super::{Pulleys, iso_5294, mesh_factor, outside_diameter, outside_or_pitch_diameter, pitch_diameter};
use crate::asked::check_quantity;
use crate::wording::{and, angle, chance, set_length};
use crate::{Error, check_drive};
use shimwright_record::conformity::at_most;
use shimwright_record::{
    BeltAdvice, BeltAlignment, BeltCorner, BeltQuestion, Cautions, Conformity, DriveDescription, Guidance,
    MotorSide, Phrase, PulleySize, Quantity,
};
use shimwright_say::say;

/// How many smaller motor pulleys are looked at.
const SMALLER: u32 = 3;
/// No motor pulley is smaller.
const FEWEST_TEETH: u32 = 8;
/// Teeth that should be in the belt (rule of belt makers' guides).
const WANTED_IN_MESH: f64 = 6.0;

/// A drive with its numbers worked out.
struct Geometry<'a> {
    drive: &'a DriveDescription,
    length: f64,
    centre_distance: f64,
    pulleys: Pulleys,
}

/// What the belt does on this drive, and how straight it runs at each corner.
///
/// # Errors
/// [`Error::NotDescribed`] for a drive without a description, [`Error::Drive`] for one that contradicts itself, and others
/// for corners that cannot be meant.
pub fn belt_advice(question: &BeltQuestion) -> Result<BeltAdvice, Error> {
    let contradictions = check_drive(&question.drive);
    if !contradictions.is_empty() {
        return Err(Error::Drive { contradictions });
    }
    let drive = question.drive.description.as_ref().ok_or(Error::NotDescribed)?;
    let geometry = Geometry::new(drive)?;
    let runs = question
        .corners
        .iter()
        .map(|corner| Run::of(&geometry, corner))
        .collect::<Result<Vec<_>, _>>()?;
    let now = geometry
        .with_motor(drive.motor_teeth)
        .ok_or(Error::NotDescribed)?;
    let fewest = drive.motor_teeth.saturating_sub(SMALLER).max(FEWEST_TEETH);
    let smaller: Vec<MotorSide> = (fewest..drive.motor_teeth)
        .rev()
        .filter_map(|teeth| geometry.with_motor(teeth))
        .collect();
    let offset_at_limit = geometry.centre_distance * drive.alignment_limit.to_radians().tan();
    Ok(BeltAdvice {
        motor: size(drive.motor_teeth, drive.pitch),
        wheel: size(drive.wheel_teeth, drive.pitch),
        belt_length: geometry.length,
        free_span: geometry.pulleys.free_span(geometry.centre_distance),
        alignment_limit: drive.alignment_limit,
        offset_at_limit,
        guidance: guidance(&geometry, &now, &smaller, &runs, offset_at_limit),
        now,
        smaller,
        alignments: runs.into_iter().map(|run| run.together).collect(),
    })
}

impl<'a> Geometry<'a> {
    fn new(drive: &'a DriveDescription) -> Result<Self, Error> {
        let length = f64::from(drive.belt_teeth) * drive.pitch;
        let pulleys = pulleys(drive, drive.motor_teeth);
        let by_belt = pulleys.centre_distance(length);
        // A given distance counts: a slotted mount or an idler may hold it off the belt's own.
        let centre_distance = drive.centre_distance.or(by_belt).ok_or(Error::NotDescribed)?;
        Ok(Self {
            drive,
            length,
            centre_distance,
            pulleys,
        })
    }

    /// The same belt with another motor pulley; the distance moves with it. None when the belt is too short.
    fn with_motor(&self, teeth: u32) -> Option<MotorSide> {
        let drive = self.drive;
        let pulleys = pulleys(drive, teeth);
        let by_belt = pulleys.centre_distance(self.length)?;
        let centre_distance = if teeth == drive.motor_teeth {
            self.centre_distance
        } else {
            by_belt
        };
        let in_mesh = pulleys.teeth_in_mesh(teeth.min(drive.wheel_teeth), centre_distance);
        Some(MotorSide {
            teeth,
            ratio: f64::from(drive.wheel_teeth) / f64::from(teeth),
            speed_against_now: f64::from(teeth) / f64::from(drive.motor_teeth),
            centre_distance,
            wrap: pulleys.wrap(centre_distance).to_degrees(),
            teeth_in_mesh: in_mesh,
            mesh_factor: mesh_factor(in_mesh),
        })
    }
}

/// The pulleys of a drive with this motor pulley.
fn pulleys(drive: &DriveDescription, motor_teeth: u32) -> Pulleys {
    Pulleys::new(
        pitch_diameter(motor_teeth, drive.pitch),
        pitch_diameter(drive.wheel_teeth, drive.pitch),
    )
}

fn size(teeth: u32, pitch: f64) -> PulleySize {
    let limits = iso_5294(outside_or_pitch_diameter(teeth, pitch));
    PulleySize {
        teeth,
        pitch_diameter: pitch_diameter(teeth, pitch),
        outside_diameter: outside_diameter(teeth, pitch),
        radial_runout_limit: limits.radial,
        axial_runout_limit: limits.axial,
    }
}

/// How straight the belt of a corner runs, and what makes it run askew.
struct Run {
    /// Offset and angle together: atan(|offset| / C) + |angle of the axes|, worst case.
    together: BeltAlignment,
    /// The offset's part.
    by_offset: Quantity,
    /// The part of the axes' angle, and how it alone stands to the limit, when it was measured.
    by_axes: Option<(Quantity, Conformity)>,
}

impl Run {
    fn of(geometry: &Geometry, corner: &BeltCorner) -> Result<Self, Error> {
        let name = corner.corner.words();
        check_quantity(&corner.offset, say!("the belt offset on the {name}"), "mm")?;
        let centre = geometry.centre_distance;
        let limit = geometry.drive.alignment_limit;
        let ratio = corner.offset.value / centre;
        // d atan(o / C) / d o = 1 / (C (1 + (o / C)^2)).
        let offset_u95 = (corner.offset.u95 / (centre * (1.0 + ratio * ratio))).to_degrees();
        let by_offset = degrees(ratio.atan().to_degrees().abs(), offset_u95);
        let mut angle = by_offset.clone();
        let mut by_axes = None;
        if let Some(axes) = &corner.axis_angle {
            check_quantity(axes, say!("the angle of the axes on the {name}"), "deg")?;
            let part = degrees(axes.value.abs(), axes.u95);
            angle = degrees(angle.value + part.value, angle.u95.hypot(part.u95));
            let alone = at_most(part.value, part.u95, limit).0;
            by_axes = Some((part, alone));
        }
        let (state, kept) = at_most(angle.value, angle.u95, limit);
        Ok(Self {
            together: BeltAlignment {
                corner: corner.corner,
                angle,
                state,
                kept,
                with_axis_angle: by_axes.is_some(),
            },
            by_offset,
            by_axes,
        })
    }

    /// How the angle of the axes alone stands to the limit, when it was measured.
    fn axes_alone(&self) -> Option<Conformity> {
        self.by_axes.as_ref().map(|part| part.1)
    }

    /// Whether bringing the pulleys in line can keep the limit.
    fn offset_may_mend_it(&self) -> bool {
        self.together.state != Conformity::Within && self.axes_alone() != Some(Conformity::Outside)
    }
}

fn degrees(value: f64, u95: f64) -> Quantity {
    Quantity {
        value,
        u95,
        unit: "deg".to_owned(),
    }
}

fn guidance(
    geometry: &Geometry,
    now: &MotorSide,
    smaller: &[MotorSide],
    runs: &[Run],
    offset_at_limit: f64,
) -> Guidance {
    let cautions = Cautions::for_drive_work().and(say!(
        "Wear eye protection when you loosen stuck screws: chips and old thread locker fly."
    ));
    Guidance::new(headline(geometry, now, runs), cautions)
        .steps(steps(geometry, runs, offset_at_limit))
        .notes(notes(geometry, now, smaller, runs))
        .basis(basis(geometry))
}

fn headline(geometry: &Geometry, now: &MotorSide, runs: &[Run]) -> Phrase {
    let limit = geometry.drive.alignment_limit;
    let belt = say!(
        "A belt of {} teeth ({:.0} mm) on {} and {} teeth: {:.1} mm between the axes, {:.1} teeth in mesh.",
        geometry.drive.belt_teeth,
        geometry.length,
        geometry.drive.motor_teeth,
        geometry.drive.wheel_teeth,
        now.centre_distance,
        whole_tenths(now.teeth_in_mesh)
    );
    let told: Vec<Phrase> = runs
        .iter()
        .map(|run| {
            let one = &run.together;
            let angle = angle(&one.angle);
            let name = one.corner.words();
            match one.state {
                Conformity::Within => say!("{name} {angle}, within {limit}°"),
                Conformity::Outside => say!("{name} {angle}, beyond {limit}°"),
                Conformity::Undecided => {
                    say!(
                        "{name} {angle}, too close to {limit}° to call ({} kept)",
                        chance(one.kept)
                    )
                }
            }
        })
        .collect();
    if told.is_empty() {
        return belt;
    }
    say!("{belt} Misalignment: {}.", and(&told))
}

/// Teeth in mesh, rounded down as handbooks do: just under six is not six.
fn whole_tenths(teeth: f64) -> f64 {
    (teeth * 10.0).floor() / 10.0
}

fn steps(geometry: &Geometry, runs: &[Run], offset_at_limit: f64) -> Vec<Phrase> {
    let mut steps = vec![say!(
        "Switch the board off, disconnect the battery, and stand the board so that it can neither tip nor roll."
    )];
    steps.extend(square_step(runs));
    if runs.iter().any(Run::offset_may_mend_it) {
        steps.push(say!(
            "Bring the pulleys in line: slide the motor pulley within its limits, or take the spacer that the spacer advice \
             names. An offset of {} alone makes {}°.",
            set_length(offset_at_limit),
            geometry.drive.alignment_limit
        ));
    }
    steps.extend([
        say!("Set the belt as loose as it can be without skipping under full pull (common practice, no source); a belt too tight \
         loads bearings and shaft."),
        say!("Turn the wheel by hand a few full turns: the belt must stay in the middle of both pulleys and rub on no flange."),
        say!("Look at it again after a couple of hundred kilometres (common practice, no source), and after every fall."),
    ]);
    steps
}

/// What to look at where the axes are not parallel, or may not be: no spacer and no slide mends that.
fn square_step(runs: &[Run]) -> Option<Phrase> {
    let said = |wanted: Conformity, not_parallel: &dyn Fn(Phrase) -> Phrase| {
        let corners: Vec<Phrase> = runs
            .iter()
            .filter(|run| run.axes_alone() == Some(wanted))
            .map(|run| say!("on the {}", run.together.corner.words()))
            .collect();
        (!corners.is_empty()).then(|| not_parallel(and(&corners)))
    };
    let told: Vec<Phrase> = [
        said(Conformity::Outside, &|corners| say!("are not parallel {corners}")),
        said(Conformity::Undecided, &|corners| {
            say!("may not be parallel {corners}")
        }),
    ]
    .into_iter()
    .flatten()
    .collect();
    if told.is_empty() {
        return None;
    }
    Some(say!(
        "The two axes {}, and no spacer or slide mends that. Look for dirt or a burr between mount and hanger, mount screws that \
         are loose or tightened unevenly, and a bent mount, hanger or axle. Clean, seat and tighten them to the maker's torque, \
         then measure the alignment again. Do not bend anything straight: a bent part is replaced, or is for a qualified workshop.",
        and(&told)
    ))
}

fn notes(geometry: &Geometry, now: &MotorSide, smaller: &[MotorSide], runs: &[Run]) -> Vec<Phrase> {
    let mut notes = Vec::new();
    if now.teeth_in_mesh < WANTED_IN_MESH {
        notes.push(say!(
            "Only {:.2} teeth of the smaller pulley are in the belt, and six are wanted: they carry about {:.0} in 100 of what \
             six do, and the belt skips earlier.",
            now.teeth_in_mesh,
            now.mesh_factor * 100.0
        ));
    }
    notes.extend(smaller.first().map(|one| smaller_note(now, one)));
    notes.extend(runs.iter().filter_map(parts_note));
    if runs.iter().any(|run| run.by_axes.is_none()) {
        notes.push(
            say!("The angle between the two axes was not measured; what is told is the belt offset's part only, and the true \
             misalignment may be larger."),
        );
    }
    let slack = geometry.drive.pulley_width - geometry.drive.belt_width;
    notes.push(say!(
        "The belt has {} of room between the flanges; an offset beyond that presses it against them.",
        set_length(slack)
    ));
    notes
}

/// What makes a belt run askew, in parts.
fn parts_note(run: &Run) -> Option<Phrase> {
    let (axes, alone) = run.by_axes.as_ref()?;
    let said = match alone {
        Conformity::Within => say!("the axes keep the limit"),
        Conformity::Outside => {
            say!("the axes alone go beyond the limit: mount, hanger or axle is out of square")
        }
        Conformity::Undecided => say!("the axes alone are too close to the limit to call"),
    };
    Some(say!(
        "Misalignment on the {}: {} from the belt offset and {} from the angle between the axes; {said}.",
        run.together.corner.words(),
        angle(&run.by_offset),
        angle(axes)
    ))
}

fn smaller_note(now: &MotorSide, one: &MotorSide) -> Phrase {
    say!(
        "A motor pulley of {} teeth instead of {}: top speed {:.0} in 100 of now, pull at the wheel {:.0} in 100, {:.1} teeth in \
         mesh, and the same belt wants {:.1} mm between the axes.",
        one.teeth,
        now.teeth,
        one.speed_against_now * 100.0,
        100.0 / one.speed_against_now,
        whole_tenths(one.teeth_in_mesh),
        one.centre_distance
    )
}

fn basis(geometry: &Geometry) -> Vec<Phrase> {
    let source = match geometry.drive.centre_distance {
        Some(_) => say!("as the drive's description gives it"),
        None => say!("as the belt's length sets it, exactly"),
    };
    vec![
        say!("Distance between the axes: {source}."),
        say!(
            "Pitch diameter = teeth x pitch / pi; outside diameter less twice the pitch line differential (ISO 5294, ISO 13050; \
         differentials from a belt maker's tables). The pulley maker's own diameter goes first."
        ),
        say!("Length, wrap and teeth in mesh by the exact geometry of an open belt."),
        say!(
            "Six teeth in mesh carry the full load, each that is missing takes off a fifth (belt makers' guides, read \
         second-hand)."
        ),
        say!(
            "Misalignment: offset over distance and the angle of the axes added, against {}° (a belt maker's design guide \
             gives 0.25° for synchronous belts, angle and offset together), with 95 % confidence (ISO 14253-1:2017).",
            geometry.drive.alignment_limit
        ),
        say!(
            "Run-out limits of pulleys by diameter: ISO 5294:2012 (from memory; a pulley maker's page agrees)."
        ),
    ]
}
