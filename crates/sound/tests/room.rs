//! Plucks and noise made by programs that are not ours: `sox` makes plucked strings (Karplus and Strong) and noise,
//! `espeak-ng` speaks into them.
// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

use shimwright_sound::{Limits, Recording, listen};
use std::path::{Path, PathBuf};
use std::process::Command;

const RATE: &str = "22050";

/// Runs a program; false when it is not there.
fn run(program: &str, arguments: &[&str]) -> bool {
    match Command::new(program).args(arguments).output() {
        Ok(output) => {
            assert!(
                output.status.success(),
                "{program} {arguments:?}: {}",
                String::from_utf8_lossy(&output.stderr)
            );
            true
        }
        Err(_) => {
            println!("skipped: {program} is not installed");
            false
        }
    }
}

struct Room {
    folder: PathBuf,
}

impl Room {
    /// A folder of one's own, or nothing where the programs are missing.
    fn open(name: &str) -> Option<Self> {
        let there = run("sox", &["--version"]) && run("espeak-ng", &["--version"]);
        there.then(|| {
            let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
            std::fs::create_dir_all(&folder).unwrap();
            Self { folder }
        })
    }

    fn path(&self, name: &str) -> String {
        self.folder.join(name).display().to_string()
    }

    /// Three plucks of a string after a second of quiet, as WAV.
    fn plucks(&self, hz: f64) -> String {
        let (one, all) = (self.path("one.wav"), self.path("plucks.wav"));
        let pitch = format!("{hz}");
        run(
            "sox",
            &[
                "-R", "-n", "-r", RATE, "-b", "16", &one, "synth", "0.9", "pluck", &pitch, "gain", "-12",
            ],
        );
        run("sox", &["-R", &one, &one, &one, &all, "pad", "1", "0.3"]);
        all
    }

    /// A minute's worth of speech, cut to `seconds`, at the rate of the plucks.
    fn speech(&self, seconds: &str, gain_db: &str) -> String {
        let (raw, cut) = (self.path("raw.wav"), self.path("speech.wav"));
        let words =
            "the left wheel was rubbing so we took the spacer out and measured it twice before we rode home";
        run("espeak-ng", &["-w", &raw, words]);
        run(
            "sox",
            &[
                "-R", &raw, "-r", RATE, &cut, "pad", "0.2", "6", "trim", "0", seconds, "gain", "-n", gain_db,
            ],
        );
        cut
    }

    fn mixed(&self, a: &str, b: &str) -> Recording {
        let both = self.path("both.wav");
        run("sox", &["-R", "-m", "-v", "1", a, "-v", "1", b, &both]);
        read(&both)
    }
}

fn read(path: &str) -> Recording {
    Recording::from_wav(&std::fs::read(path).unwrap(), &Limits::default()).unwrap()
}

#[test]
fn plucks_are_heard_through_pink_noise() {
    let Some(room) = Room::open("pink") else { return };
    for hz in [62.0, 98.0, 155.0, 247.0] {
        let plucks = room.plucks(hz);
        let pink = room.path("pink.wav");
        run(
            "sox",
            &[
                "-R",
                "-n",
                "-r",
                RATE,
                "-b",
                "16",
                &pink,
                "synth",
                "4",
                "pinknoise",
                "gain",
                "-34",
            ],
        );
        let heard = listen(&room.mixed(&plucks, &pink)).unwrap();
        let miss = heard.frequency_hz / hz - 1.0;
        println!(
            "{hz} Hz: {:.2} +- {:.2} Hz",
            heard.frequency_hz,
            1.96 * heard.sigma_hz()
        );
        assert!(miss.abs() < 0.01, "{hz} Hz heard as {} Hz", heard.frequency_hz);
    }
}

/// Vowels have harmonics too, and they rise suddenly. They do not ring and die away at one pitch.
#[test]
fn speech_has_no_pitch() {
    let Some(room) = Room::open("speech") else { return };
    let heard = listen(&read(&room.speech("6", "-6")));
    assert!(heard.is_err(), "{heard:?}");
}

/// With somebody talking near by the pitch is right or not clear.
#[test]
fn speech_beside_the_plucks_makes_no_wrong_pitch() {
    let Some(room) = Room::open("both") else { return };
    for hz in [62.0, 98.0, 155.0, 247.0] {
        let (plucks, speech) = (room.plucks(hz), room.speech("4", "-30"));
        match listen(&room.mixed(&plucks, &speech)) {
            Ok(heard) => {
                println!(
                    "{hz} Hz: {:.2} +- {:.2} Hz",
                    heard.frequency_hz,
                    1.96 * heard.sigma_hz()
                );
                let miss = (heard.frequency_hz - hz).abs();
                assert!(miss < 0.01 * hz, "{hz} Hz heard as {} Hz", heard.frequency_hz);
            }
            Err(unclear) => println!("{hz} Hz: {unclear}"),
        }
    }
}
