//! `tension`.

use super::measure::{print_result, run};
use crate::arguments::Tension;
use shimwright_app::bridge::Failure;
use shimwright_app::record::{CheckKind, Job, JobBelt, Stated, TensionRange};
use shimwright_app::{LoadedJob, load_sound, told};

/// Share of a mass that is taken for its uncertainty when nobody states one: belts of one pitch and width differ by that.
const MASS_SHARE: f64 = 0.1;

/// Tells the tension of a plucked span.
pub async fn tension(asked: Tension) -> Result<(), Failure> {
    let name = asked.sound.display().to_string();
    let sound = load_sound(&asked.sound, &name)?;
    let range = TensionRange {
        least: asked.least,
        most: asked.most,
    };
    let belt = JobBelt {
        span: Stated {
            value: told::millimetres("--span", &asked.span)?,
            u95: told::millimetres("--span-u95", &asked.span_u95)?,
        },
        mass_per_length: Stated {
            value: asked.mass,
            u95: asked.mass_u95.unwrap_or(MASS_SHARE * asked.mass),
        },
        stiffness: None,
        allowed: (asked.least.is_some() || asked.most.is_some()).then_some(range),
        earlier: None,
    };
    let job = Job {
        sound: Some(name),
        belt: Some(belt),
        ..Job::of(CheckKind::Tension)
    };
    let (_, result) = run(LoadedJob::of_sound(job, sound)).await?;
    print_result(&result, asked.form)
}
