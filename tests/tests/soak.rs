//! Many jobs of every kind in one process: memory and open files stay where they were, and equal input gives equal
//! numbers to the last digit, whatever the number of threads. `SHIMWRIGHT_SOAK=2000` sets how many.

use shimwright_measure::{Silent, SoundInput, measure_tension};
use shimwright_record::{CheckKind, CheckResult, Job};
use shimwright_synth::{AlignmentLimits, GapLimits, PartLimits, TurnLimits, render};
use shimwright_tests::made::{self, GapAsked, Made};
use shimwright_tests::pulleys::{self, AlignmentAsked};
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

/// Small pictures: what leaks, leaks with them as well.
const WIDTH: u32 = 1280;
/// The same of a gap's, of which coarse photos are refused.
const GAP_WIDTH: u32 = 2048;
/// Jobs after which memory is first looked at: caches are filled by then, and the allocator has what it needs.
const WARM: usize = 12;
/// Growth that is allowed, as a share and in bytes.
const SHARE: f64 = 0.1;
const BYTES: u64 = 16_000_000;
/// The folder with the jobs of a process that has one core.
const ALONE: &str = "SHIMWRIGHT_SOAK_ALONE";

/// A job that can be asked again and again.
enum Asked {
    Photos(Made),
    Sound(Job, Vec<u8>),
}

impl Asked {
    /// The whole answer as text, which holds every digit.
    fn answer(&self) -> String {
        let told = |result: Result<CheckResult, shimwright_measure::Error>| match result {
            Ok(result) => serde_json::to_string(&result).expect("a result is written as JSON"),
            Err(error) => error.message.into(),
        };
        match self {
            Self::Photos(made) => told(made.measure(None)),
            Self::Sound(job, bytes) => {
                let name = "plucks.wav";
                told(measure_tension(job, &SoundInput { name, bytes }, &Silent))
            }
        }
    }
}

fn gap() -> Made {
    let limits = GapLimits {
        width: GAP_WIDTH,
        photos: 3,
        ..GapLimits::default()
    };
    let asked = GapAsked {
        chamfers: true,
        all_marked: true,
        mark_sigma: 2.0,
    };
    made::gap_job(&made::gap_scene(8, &limits), &asked, 8)
}

fn turn() -> Made {
    let limits = TurnLimits {
        width: WIDTH,
        photos: 5,
        ..TurnLimits::default()
    };
    made::turn_job(&made::turn_scene(4, &limits), 2.0, 4)
}

fn alignment() -> Made {
    let limits = AlignmentLimits {
        width: WIDTH,
        ..AlignmentLimits::default()
    };
    let asked = AlignmentAsked {
        chamfer: true,
        driven_outer: true,
        mark_sigma: 2.0,
    };
    pulleys::alignment_job(&pulleys::alignment_scene(5, &limits), &asked, 5)
}

/// A calibration from photos of the bench sheet with parts on it.
fn camera() -> Made {
    let limits = PartLimits {
        width: WIDTH,
        photos: 5,
        ..PartLimits::default()
    };
    let scene = made::part_scene(6, &limits);
    let shots = scene.shots.iter().enumerate();
    let photos = shots
        .map(|(k, shot)| made::jpeg(&render(&scene.scene, shot, k as u64)))
        .collect();
    Made {
        job: plain_job(CheckKind::Camera, scene.shots.len()),
        photos,
    }
}

fn plain_job(check: CheckKind, photos: usize) -> Job {
    let listed: Vec<_> = (0..photos)
        .map(|k| serde_json::json!({"file": format!("{k}.jpg")}))
        .collect();
    serde_json::from_value(serde_json::json!({"check": check, "photos": listed})).expect("a job")
}

/// A job whose photos end in the middle: what fails must leave nothing behind either.
fn cut_short(of: &Made) -> Made {
    let half = |bytes: &Vec<u8>| bytes[..bytes.len() / 2].to_vec();
    Made {
        job: of.job.clone(),
        photos: of.photos.iter().map(half).collect(),
    }
}

fn tension() -> Asked {
    let job = serde_json::json!({"check": "tension", "sound": "plucks.wav", "belt": {
        "span": {"value": 100.0, "u95": 1.0}, "mass_per_length": {"value": 58.5, "u95": 3.0}}});
    let recording = concat!(env!("CARGO_MANIFEST_DIR"), "/fuzz/corpus/sound/pluck-16.wav");
    Asked::Sound(
        serde_json::from_value(job).expect("a job"),
        std::fs::read(recording).expect("the recording is there"),
    )
}

fn jobs() -> Vec<Asked> {
    let gap = gap();
    let broken = cut_short(&gap);
    let mut all: Vec<Asked> = [gap, turn(), alignment(), camera(), broken]
        .map(Asked::Photos)
        .into();
    all.push(tension());
    all
}

/// Resident memory, bytes, and open files of this process, as Linux tells them.
fn held() -> Option<(u64, usize)> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?;
    let kilobytes: u64 = line.split_whitespace().next()?.parse().ok()?;
    Some((1024 * kilobytes, std::fs::read_dir("/proc/self/fd").ok()?.count()))
}

#[test]
fn many_jobs_leave_nothing_behind_and_equal_ones_give_equal_digits() {
    if let Some(folder) = std::env::var_os(ALONE) {
        // The harness has not ended its own line yet.
        println!();
        for job in read(Path::new(&folder)) {
            println!("answer {}", job.answer());
        }
        return;
    }
    let count = std::env::var("SHIMWRIGHT_SOAK")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(18);
    let jobs = jobs();
    let mut answers: BTreeMap<usize, String> = BTreeMap::new();
    let mut warm = None;
    let mut random = shimwright_geom::Random::new(1);
    for done in 0..count {
        // Each kind once, then mixed.
        let which = if done < jobs.len() {
            done
        } else {
            (random.bits() % jobs.len() as u64) as usize
        };
        let answer = jobs[which].answer();
        let first = answers.entry(which).or_insert_with(|| answer.clone());
        assert_eq!(&answer, first, "job {done}: other digits from equal input");
        if done == WARM {
            warm = held();
        }
    }
    let measured = answers.values().filter(|answer| answer.starts_with('{')).count();
    assert_eq!(
        measured,
        jobs.len() - 1,
        "all but the broken job are measured: {answers:#?}"
    );
    if let (Some((memory, files)), Some((memory_now, files_now))) = (warm, held()) {
        println!(
            "{count} jobs: {} MB after {WARM}, {} MB at the end; {files} files open, {files_now} at the end",
            memory / 1_000_000,
            memory_now / 1_000_000
        );
        assert_eq!(files_now, files, "open files");
        let most = memory + (SHARE * memory as f64) as u64 + BYTES;
        assert!(
            memory_now < most,
            "memory grew from {memory} to {memory_now} bytes"
        );
    }
    let folder = tempfile::tempdir().expect("a temporary folder");
    keep(&jobs, folder.path());
    one_core_gives_the_same(&answers, folder.path());
}

/// Writes jobs into a folder, each into one of its own.
fn keep(jobs: &[Asked], folder: &Path) {
    for (k, asked) in jobs.iter().enumerate() {
        let at = folder.join(k.to_string());
        std::fs::create_dir(&at).expect("a folder for the job");
        let (job, files): (_, &[Vec<u8>]) = match asked {
            Asked::Photos(made) => (&made.job, &made.photos),
            Asked::Sound(job, bytes) => (job, std::slice::from_ref(bytes)),
        };
        let text = serde_json::to_vec(job).expect("a job is written as JSON");
        std::fs::write(at.join("job.json"), text).expect("the job is kept");
        for (i, bytes) in files.iter().enumerate() {
            std::fs::write(at.join(i.to_string()), bytes).expect("its file is kept");
        }
    }
}

/// Reads what [`keep`] wrote, in the same order.
fn read(folder: &Path) -> Vec<Asked> {
    let folders = (0..)
        .map(|k: usize| folder.join(k.to_string()))
        .take_while(|at| at.is_dir());
    let asked = folders.map(|at| {
        let text = std::fs::read(at.join("job.json")).expect("the job was kept");
        let job: Job = serde_json::from_slice(&text).expect("the job reads back");
        let file = |i: usize| std::fs::read(at.join(i.to_string())).expect("its file was kept");
        match job.check {
            CheckKind::Tension => Asked::Sound(job, file(0)),
            _ => Asked::Photos(Made {
                photos: (0..job.photos.len()).map(file).collect(),
                job,
            }),
        }
    });
    asked.collect()
}

/// Asks the same of a process that may use one core only.
fn one_core_gives_the_same(answers: &BTreeMap<usize, String>, jobs: &Path) {
    let program = std::env::current_exe().expect("this test's own file");
    let alone = Command::new("taskset")
        .args(["--cpu-list", "0"])
        .arg(program)
        .args([
            "--exact",
            "many_jobs_leave_nothing_behind_and_equal_ones_give_equal_digits",
            "--nocapture",
        ])
        .env(ALONE, jobs)
        .output();
    let Ok(output) = alone else {
        println!("skipped: there is no taskset, which bounds a process to one core");
        return;
    };
    let text = String::from_utf8_lossy(&output.stdout);
    let told: Vec<&str> = text
        .lines()
        .filter_map(|line| line.strip_prefix("answer "))
        .collect();
    assert_eq!(told, answers.values().map(String::as_str).collect::<Vec<_>>());
}
