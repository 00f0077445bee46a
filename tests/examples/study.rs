//! Measures many made-up jobs and prints how large the errors are and how often the stated intervals hold.
//!
//! `study gap [JOBS [FIRST_SEED]]`; `study pictures FOLDER [SEEDS]` writes the photos of some scenes to look at.

use shimwright_synth::{GapLimits, PartLimits, TurnLimits, render};
use shimwright_tests::coverage::{Coverage, Outcome};
use shimwright_tests::made::{self, GapAsked};
use std::error::Error;
use std::path::Path;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |i: usize, default: u64| arguments.get(i).map_or(Ok(default), |text| text.parse());
    match arguments.first().map(String::as_str) {
        Some("gap") => gap(number(1, 200)?, number(2, 1)?),
        Some("pictures") => pictures(Path::new(&arguments[1]), number(2, 3)?)?,
        _ => return Err("say `gap [JOBS [FIRST_SEED]]` or `pictures FOLDER [SEEDS]`".into()),
    }
    Ok(())
}

/// The ways in which each gap scene is asked for: with a camera profile or not, chamfers stated or not.
const GAP_WAYS: [(bool, bool); 4] = [(true, true), (true, false), (false, true), (false, false)];

fn gap(jobs: u64, first: u64) {
    let mut found: [Coverage; 4] = Default::default();
    for seed in first..first + jobs {
        let scene = made::gap_scene(seed, &GapLimits::default());
        let asked = GapAsked {
            chamfers: true,
            all_marked: seed.is_multiple_of(2),
            mark_sigma: 3.0,
        };
        let mut job = made::gap_job(&scene, &asked, seed);
        let profile = made::profile(&scene.camera, seed);
        for ((with_profile, with_chamfers), coverage) in GAP_WAYS.into_iter().zip(&mut found) {
            if !with_chamfers && let Some(drive) = &mut job.job.drive {
                (drive.mount_chamfer, drive.rim_chamfer) = (None, None);
            } else if let Some(drive) = &mut job.job.drive {
                drive.mount_chamfer = Some(scene.truth.mount_chamfer);
                drive.rim_chamfer = Some(scene.truth.rim_chamfer);
            }
            let result = job.measure(with_profile.then_some(&profile));
            let outcome = made::outcome(seed, result, "gap", scene.truth.gap);
            println!("{}", line(&outcome, with_profile, with_chamfers, scene.truth.gap));
            coverage.outcomes.push(outcome);
        }
    }
    for ((with_profile, with_chamfers), coverage) in GAP_WAYS.into_iter().zip(&found) {
        println!(
            "gap, {} profile, chamfers {} (mm):\n{coverage}",
            if with_profile { "with" } else { "without" },
            if with_chamfers { "stated" } else { "unknown" },
        );
    }
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
