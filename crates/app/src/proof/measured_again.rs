//! Measuring again from a bundle's photos, and comparing number by number.

use super::verify::{NumberState, NumberTold};
use crate::bridge::{Failure, ProgressNote};
use crate::job_file::{LoadedJob, LoadedPhoto, LoadedSound};
use crate::measuring::{Cancel, measure_job};
use crate::{json_text, told};
use shimwright_camera::CameraProfile;
use shimwright_evidence::EvidenceCheck;
use shimwright_record::{CheckResult, Conformity, Job, Phrase, Quantity, Value, Valued};
use shimwright_say::say;
use shimwright_target::TargetSet;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Differences below this share of the uncertainty are another machine's arithmetic and not another measurement.
const ROUNDING: f64 = 1e-6;

/// The job and the result of a check.
pub(crate) fn read_check(
    files: &BTreeMap<String, Vec<u8>>,
    check: &EvidenceCheck,
) -> Result<(Job, CheckResult), Failure> {
    let job = json_text::read(&path(check, "job.json"), file(files, check, "job.json")?)?;
    let result = json_text::read(&path(check, "result.json"), file(files, check, "result.json")?)?;
    Ok((job, result))
}

fn path(check: &EvidenceCheck, name: &str) -> String {
    format!("{}/{name}", check.folder)
}

fn file<'a>(
    files: &'a BTreeMap<String, Vec<u8>>,
    check: &EvidenceCheck,
    name: &str,
) -> Result<&'a [u8], Failure> {
    let path = path(check, name);
    files.get(&path).map(Vec::as_slice).ok_or_else(|| {
        Failure::bad_input(
            say!("the bundle has no {path}"),
            say!("ask for the file as it was handed out"),
        )
        .about(path)
    })
}

/// Measures a check again and compares every value. `program` is the version that runs now.
pub(crate) fn measure_again(
    files: &BTreeMap<String, Vec<u8>>,
    check: &EvidenceCheck,
    program: &str,
    progress: &(dyn Fn(ProgressNote) + Sync),
    cancel: &Cancel,
) -> Result<Vec<NumberTold>, Failure> {
    let (job, stored) = read_check(files, check)?;
    let loaded = loaded(files, check, job)?;
    let again = measure_job(&loaded, &TargetSet::built_in(), progress, cancel)?;
    Ok(compare(check, &stored, &again, check.program == program))
}

/// A job with its photos or its recording, as the bundle holds them.
fn loaded(files: &BTreeMap<String, Vec<u8>>, check: &EvidenceCheck, job: Job) -> Result<LoadedJob, Failure> {
    if let Some(name) = job.sound.clone() {
        let sound = LoadedSound::new(&name, file(files, check, &name)?.into())?;
        return Ok(LoadedJob::of_sound(job, sound));
    }
    let mut photos = Vec::with_capacity(job.photos.len());
    for wanted in &job.photos {
        let bytes: Arc<[u8]> = file(files, check, &wanted.file)?.into();
        photos.push(LoadedPhoto::new(&wanted.file, bytes)?);
    }
    let camera = match &check.camera {
        None => None,
        Some(_) => {
            let text = String::from_utf8_lossy(file(files, check, "camera.json")?);
            Some(CameraProfile::from_json(&text)?)
        }
    };
    LoadedJob::new(job, photos, camera)
}

/// Every number of the stored result beside the one that came out now, and the verdict.
fn compare(
    check: &EvidenceCheck,
    stored: &CheckResult,
    again: &CheckResult,
    same_program: bool,
) -> Vec<NumberTold> {
    let mut numbers = Vec::new();
    for (name, value) in &stored.values {
        let pairs: Vec<(String, &Quantity, Option<&Quantity>)> = match (value, again.values.get(name)) {
            (Value::One(was), Some(Value::One(is))) => vec![(name.clone(), was, Some(is))],
            (Value::One(was), _) => vec![(name.clone(), was, None)],
            (Value::Many(was), is) => was
                .iter()
                .enumerate()
                .map(|(i, was)| {
                    let is = match is {
                        Some(Value::Many(list)) => list.get(i),
                        _ => None,
                    };
                    (format!("{name} {}", i + 1), was, is)
                })
                .collect(),
        };
        for (name, was, is) in pairs {
            numbers.push(number(check, name, was, is, same_program));
        }
    }
    let (was, is) = (&stored.verdict, &again.verdict);
    let same = was.state == is.state && was.limit == is.limit;
    numbers.push(NumberTold {
        check: check.folder.clone(),
        name: "verdict".to_owned(),
        stored: verdict(was.state),
        measured: Some(verdict(is.state)),
        state: if same {
            NumberState::Same
        } else {
            NumberState::Differs
        },
    });
    numbers
}

fn number(
    check: &EvidenceCheck,
    name: String,
    was: &Quantity,
    is: Option<&Quantity>,
    same_program: bool,
) -> NumberTold {
    let state = match is {
        None => NumberState::Differs,
        Some(is) => agreement(was, is, same_program),
    };
    // What is the same to the last digit need not be told with all of them; what differs must show where.
    let tell = |quantity: &Quantity| match state {
        NumberState::Same | NumberState::WithinUncertainty => of_quantity(quantity),
        _ => say!("{} ± {} {}", quantity.value, quantity.u95, quantity.unit),
    };
    NumberTold {
        check: check.folder.clone(),
        name,
        stored: tell(was),
        measured: is.map(tell),
        state,
    }
}

/// A quantity, rounded to its uncertainty.
fn of_quantity(quantity: &Quantity) -> Phrase {
    let Quantity { value, u95, unit } = quantity;
    let number = Valued {
        text: told::quantity(quantity),
        value: match unit.as_str() {
            "mm" => shimwright_phrase::Value::length(*value, Some(*u95), None),
            unit => shimwright_phrase::Value::measured(*value, *u95, unit),
        },
    };
    say!("{number}")
}

fn verdict(state: Conformity) -> Phrase {
    match state {
        Conformity::Within => say!("within"),
        Conformity::Outside => say!("outside"),
        Conformity::Undecided => say!("undecided"),
    }
}

/// The same program must give the same digits; another version may differ by as much as the uncertainty allows.
fn agreement(was: &Quantity, is: &Quantity, same_program: bool) -> NumberState {
    // Each on its own: the larger of the two would hide a number that is none.
    let near = |a: f64, b: f64| (a - b).abs() <= ROUNDING * was.u95;
    if was == is {
        NumberState::Same
    } else if was.unit == is.unit && near(was.value, is.value) && near(was.u95, is.u95) {
        NumberState::Rounding
    } else if !same_program && was.unit == is.unit && (was.value - is.value).abs() <= was.u95 {
        NumberState::WithinUncertainty
    } else {
        NumberState::Differs
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_program_must_agree_to_the_digit_and_another_within_its_uncertainty() {
        let of = |value: f64, u95: f64| Quantity {
            value,
            u95,
            unit: "mm".into(),
        };
        let was = of(1.42, 0.05);
        for (is, same_program, other_program) in [
            (of(1.42, 0.05), NumberState::Same, NumberState::Same),
            (
                of(1.42 + 1e-9, 0.05),
                NumberState::Rounding,
                NumberState::Rounding,
            ),
            (
                of(1.421, 0.05),
                NumberState::Differs,
                NumberState::WithinUncertainty,
            ),
            (
                of(1.42, 0.051),
                NumberState::Differs,
                NumberState::WithinUncertainty,
            ),
            (of(1.48, 0.05), NumberState::Differs, NumberState::Differs),
            (of(f64::NAN, 0.05), NumberState::Differs, NumberState::Differs),
        ] {
            assert_eq!(agreement(&was, &is, true), same_program, "{is:?}");
            assert_eq!(agreement(&was, &is, false), other_program, "{is:?}");
        }
        let inches = Quantity {
            unit: "in".into(),
            ..was.clone()
        };
        assert_eq!(agreement(&was, &inches, false), NumberState::Differs);
    }
}
