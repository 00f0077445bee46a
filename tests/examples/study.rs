//! Measures many made-up jobs and prints how large the errors are and how often the stated intervals hold.
//!
//! `study gap [JOBS [FIRST_SEED [WAY]]]`; `study KIND [JOBS [FIRST_SEED]]` of `turn`, `stand`, `play`, `part` and `alignment`;
//! `study pictures FOLDER [SEEDS]` writes the photos of some scenes to look at.

use shimwright_record::CheckResult;
use shimwright_synth::{AlignmentLimits, GapLimits, PartLimits, TurnLimits, TurnTruth, render};
use shimwright_tests::coverage::{Coverage, Outcome};
use shimwright_tests::made::{self, GapAsked};
use shimwright_tests::parts::{self, PartAsked};
use shimwright_tests::pulleys::{self, AlignmentAsked};
use shimwright_tests::{plays, stand};
use std::collections::BTreeMap;
use std::error::Error;
use std::path::Path;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |i: usize, default: u64| arguments.get(i).map_or(Ok(default), |text| text.parse());
    match arguments.first().map(String::as_str) {
        Some("gap") => gap(number(1, 200)?, number(2, 1)?, way(arguments.get(3))?),
        Some("turn") => turn(number(1, 200)?, number(2, 1)?),
        Some("stand") => study(number(1, 200)?, number(2, 1)?, stand),
        Some("play") => study(number(1, 200)?, number(2, 1)?, play),
        Some("part") => study(number(1, 200)?, number(2, 1)?, part),
        Some("alignment") => study(number(1, 200)?, number(2, 1)?, alignment),
        Some("pictures") => pictures(Path::new(&arguments[1]), number(2, 3)?)?,
        _ => return Err(
            "say `gap [JOBS [FIRST_SEED [WAY]]]`, `pictures FOLDER [SEEDS]`, or one of `turn`, `stand`, `play`, `part` and \
             `alignment` with `[JOBS [FIRST_SEED]]`"
                .into(),
        ),
    }
    Ok(())
}

/// The ways in which gap scenes are asked for: with a camera profile or not, chamfers stated or not.
const GAP_WAYS: [(bool, bool); 4] = [(true, true), (true, false), (false, true), (false, false)];

/// Each scene is asked for in one way only, the next scene in the next way; half of each have marks in one photo only.
fn gap(jobs: u64, first: u64, only: Option<usize>) {
    let mut found: [Coverage; 4] = Default::default();
    for seed in first..first + jobs {
        let way = only.unwrap_or((seed % 4) as usize);
        let (with_profile, chamfers) = GAP_WAYS[way];
        let scene = made::gap_scene(seed, &GapLimits::default());
        let asked = GapAsked {
            chamfers,
            all_marked: (seed / 4).is_multiple_of(2),
            mark_sigma: 3.0,
        };
        let job = made::gap_job(&scene, &asked, seed);
        let profile = made::profile(&scene.camera, seed);
        let result = job.measure(with_profile.then_some(&profile));
        let outcome = made::outcome(seed, result, "gap", scene.truth.gap);
        println!("{}", line(&outcome, with_profile, chamfers, scene.truth.gap));
        found[way].outcomes.push(outcome);
    }
    for ((with_profile, with_chamfers), coverage) in GAP_WAYS.into_iter().zip(&found) {
        println!(
            "gap, {} profile, chamfers {} (mm):\n{coverage}",
            if with_profile { "with" } else { "without" },
            if with_chamfers { "stated" } else { "unknown" },
        );
    }
}

/// Every other series is measured with the profile of its camera.
fn turn(jobs: u64, first: u64) {
    let mut found: [[Coverage; 3]; 2] = Default::default();
    for seed in first..first + jobs {
        let with_profile = seed.is_multiple_of(2);
        let scene = made::turn_scene(seed, &TurnLimits::default());
        let job = made::turn_job(&scene, 3.0, seed);
        let profile = made::profile(&scene.camera, seed);
        let result = job.measure(with_profile.then_some(&profile));
        let truths = [
            ("eccentricity", scene.truth.eccentricity.norm()),
            ("axial_runout", scene.truth.axial_runout),
            ("rim_diameter", scene.truth.rim_diameter),
        ];
        if let Ok(result) = &result {
            println!(
                "seed {seed} eccentricity vector off by {:.4}",
                vector_miss(result, &scene.truth)
            );
        }
        for ((name, truth), coverage) in truths.into_iter().zip(&mut found[usize::from(!with_profile)]) {
            let outcome = made::outcome(seed, result.clone(), name, truth);
            println!("{name}: {}", line(&outcome, with_profile, true, truth));
            coverage.outcomes.push(outcome);
        }
    }
    for (way, of_way) in ["with", "without"].into_iter().zip(&found) {
        let names = ["eccentricity", "axial run-out", "rim diameter"];
        for (name, coverage) in names.into_iter().zip(of_way) {
            println!("turn, {way} profile, {name} (mm):\n{coverage}");
        }
    }
}

/// Name of a value, its truth, and what became of it.
type Told = (&'static str, f64, Outcome);

/// Measures the job of each seed and prints what became of each value, by name and with the camera's profile or without.
fn study(jobs: u64, first: u64, of_seed: fn(u64, bool) -> Vec<Told>) {
    let mut found: BTreeMap<(&str, bool), Coverage> = BTreeMap::new();
    for seed in first..first + jobs {
        let with_profile = seed.is_multiple_of(2);
        for (name, truth, outcome) in of_seed(seed, with_profile) {
            println!("{name}: {}", line(&outcome, with_profile, true, truth));
            let coverage = found.entry((name, with_profile)).or_default();
            coverage.outcomes.push(outcome);
        }
    }
    for ((name, with_profile), coverage) in &found {
        let way = if *with_profile { "with" } else { "without" };
        println!("{name}, {way} profile:\n{coverage}");
    }
}

/// What became of each value of a job; of a refused one, of all, and of a measured one, of those that it has.
fn outcomes(
    seed: u64,
    result: &Result<CheckResult, shimwright_measure::Error>,
    truths: &[(&'static str, f64)],
) -> Vec<Told> {
    let told = |name: &str| result.as_ref().map_or(true, |r| r.quantity(name).is_some());
    let own = truths.iter().filter(|(name, _)| told(name));
    own.map(|(name, truth)| (*name, *truth, made::outcome(seed, result.clone(), name, *truth)))
        .collect()
}

fn play(seed: u64, _: bool) -> Vec<Told> {
    plays::outcomes(seed, plays::WIDTH)
}

fn stand(seed: u64, with_profile: bool) -> Vec<Told> {
    let scene = made::turn_scene(seed, &stand::LIMITS);
    let profile = made::profile(&scene.camera, seed);
    let result = stand::job(&scene, seed).measure(with_profile.then_some(&profile));
    let truths = [
        ("eccentricity", scene.truth.eccentricity.norm()),
        ("axial_runout", scene.truth.axial_runout),
    ];
    outcomes(seed, &result, &truths)
}

/// A ring, and a block beside it; the chamfer is stated for every other two.
fn part(seed: u64, with_profile: bool) -> Vec<Told> {
    let scene = made::part_scene(seed, &PartLimits::default());
    let photos = parts::photos(&scene, seed);
    let profile = made::profile(&scene.camera, seed);
    let profile = with_profile.then_some(&profile);
    let asked = PartAsked {
        chamfer: (seed / 2).is_multiple_of(2),
        mark_sigma: 3.0,
    };
    let [outer, inner, offset, height, width] = parts::truths(&scene);
    let ring = parts::ring_job(&scene, &photos, &asked, seed).measure(profile);
    let block = parts::block_job(&scene, &photos, &asked, seed).measure(profile);
    let mut told = outcomes(seed, &ring, &[outer, inner, offset, height]);
    told.extend(outcomes(seed, &block, &[width]));
    told
}

/// Both edges of the wheel's pulley marked, or one and its width stated.
fn alignment(seed: u64, with_profile: bool) -> Vec<Told> {
    let scene = pulleys::alignment_scene(seed, &AlignmentLimits::default());
    let asked = AlignmentAsked {
        chamfer: true,
        driven_outer: (seed / 2).is_multiple_of(2),
        mark_sigma: 3.0,
    };
    let profile = made::profile(&scene.camera, seed);
    let job = pulleys::alignment_job(&scene, &asked, seed);
    let result = job.measure(with_profile.then_some(&profile));
    outcomes(seed, &result, &pulleys::truths(&scene))
}

/// Length of the error of the eccentricity vector, mm; its direction counts counter-clockwise on the printed side, where
/// y points down.
fn vector_miss(result: &CheckResult, truth: &TurnTruth) -> f64 {
    let value = |name: &str| result.quantity(name).map_or(f64::NAN, |q| q.value);
    let (size, direction) = (
        value("eccentricity"),
        value("eccentricity_direction").to_radians(),
    );
    let (sin, cos) = direction.sin_cos();
    (size * cos - truth.eccentricity.x).hypot(-size * sin - truth.eccentricity.y)
}

fn line(outcome: &Outcome, profile: bool, chamfers: bool, truth: f64) -> String {
    let way = format!("profile {profile} chamfers {chamfers} truth {truth:.3}");
    match outcome {
        Outcome::Measured { seed, error, u95 } => {
            format!("seed {seed} {way} error {error:+.4} u95 {u95:.4}")
        }
        Outcome::Refused { seed, why } => format!("seed {seed} {way} refused: {why}"),
    }
}

/// One way for all scenes, by its number.
fn way(argument: Option<&String>) -> Result<Option<usize>, Box<dyn Error>> {
    let way: Option<usize> = argument.map(|text| text.parse()).transpose()?;
    match way {
        Some(way) if way >= GAP_WAYS.len() => Err("the ways are numbered 0 to 3".into()),
        way => Ok(way),
    }
}

fn pictures(folder: &Path, seeds: u64) -> Result<(), Box<dyn Error>> {
    for seed in 1..=seeds {
        let gap = made::gap_scene(seed, &GapLimits::default());
        let turn = made::turn_scene(seed, &TurnLimits::default());
        let part = made::part_scene(seed, &PartLimits::default());
        let gaps = gap.shots.iter().map(|shot| ("gap", &gap.scene, shot));
        let turns = turn.photos.iter().map(|p| ("turn", &p.scene, &p.shot));
        let parts = part.shots.iter().map(|shot| ("part", &part.scene, shot));
        for (k, (kind, scene, shot)) in gaps.chain(turns.take(3)).chain(parts).enumerate() {
            let begin = std::time::Instant::now();
            let picture = render(scene, shot, seed);
            println!("{kind} {seed} photo {k}: {:.2} s", begin.elapsed().as_secs_f64());
            std::fs::write(folder.join(format!("{kind}{seed}_{k}.png")), made::png(&picture))?;
        }
    }
    Ok(())
}
