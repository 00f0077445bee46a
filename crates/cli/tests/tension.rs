//! Tension jobs from the recording to the history.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod shop;

use serde_json::{Value, json};
use shop::{Shop, refused};
use std::f64::consts::TAU;

const RATE: u32 = 22_050;

/// Three plucks of a string after a second of quiet, with a little noise, as a 16 bit WAV file.
fn plucks(hz: f64) -> Vec<u8> {
    let mut state = 1u64;
    let samples = (0..4 * RATE).map(|k| {
        let t = f64::from(k) / f64::from(RATE);
        let since = if t < 1.0 { None } else { Some(t % 1.0) };
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let noise = (state >> 40) as f64 / f64::from(1 << 24) - 0.5;
        let rings = since.map_or(0.0, |t| {
            [(1.0, 1.0), (2.0, 0.4), (3.0, 0.2)]
                .iter()
                .map(|(n, level)| level * (-9.0 * n * t).exp() * (TAU * n * hz * t).sin())
                .sum()
        });
        ((0.3 * rings + 0.004 * noise) * 32_767.0) as i16
    });
    wav(&samples.collect::<Vec<_>>())
}

/// Noise that nobody plucked in.
fn noise() -> Vec<u8> {
    let mut state = 7u64;
    let samples = (0..3 * RATE).map(|_| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (state >> 52) as i16
    });
    wav(&samples.collect::<Vec<_>>())
}

fn wav(samples: &[i16]) -> Vec<u8> {
    let bytes = 2 * samples.len() as u32;
    let mut file = b"RIFF".to_vec();
    file.extend((36 + bytes).to_le_bytes());
    file.extend(b"WAVEfmt \x10\0\0\0\x01\0\x01\0");
    file.extend(RATE.to_le_bytes());
    file.extend((2 * RATE).to_le_bytes());
    file.extend(b"\x02\0\x10\0data");
    file.extend(bytes.to_le_bytes());
    file.extend(samples.iter().flat_map(|sample| sample.to_le_bytes()));
    file
}

/// A shop with a recording and its job.
fn shop(hz: f64) -> (Shop, Value) {
    let shop = Shop::new();
    shop.write("plucks.wav", &plucks(hz));
    let job = json!({
        "check": "tension",
        "sound": "plucks.wav",
        "belt": {"span": {"value": 100.0, "u95": 1.0}, "mass_per_length": {"value": 58.5, "u95": 3.0}},
    });
    (shop, job)
}

fn measure(shop: &Shop, job: &Value) -> std::process::Output {
    let path = shop.write_job(job);
    shop.run(["measure".as_ref(), path.as_os_str(), "--json".as_ref()])
}

/// 4 x 0.0585 kg/m x (0.1 m)^2 x (150 Hz)^2 = 52.65 N, by hand.
#[test]
fn a_tension_job_gives_pitch_and_tension() {
    let (shop, job) = shop(150.0);
    let path = shop.write_job(&job);
    let result = shop.json(["measure".as_ref(), path.as_os_str(), "--json".as_ref()]);
    let value = |name: &str| result["values"][name]["value"].as_f64().unwrap();
    assert!((value("frequency") - 150.0).abs() < 0.5, "{result}");
    assert!((value("tension") - 52.65).abs() < 1.0, "{result}");
    assert!((value("pull_to_slack") - 2.0 * value("tension")).abs() < 1e-9);
    assert_eq!(result["values"]["tension"]["unit"], "N");
    assert_eq!(
        result["values"]["plucks"].as_array().unwrap().len(),
        3,
        "{result}"
    );
    assert_eq!(result["verdict"]["state"], "undecided");
    assert_eq!(result["photos"], json!([]));
    // u95 of mass 3 of 58.5 and of length twice 1 of 100: 5.1 % and 2 %.
    let u95 = result["values"]["tension"]["u95"].as_f64().unwrap();
    assert!(u95 > 0.055 * 52.65 && u95 < 0.2 * 52.65, "{u95}");
    let short = shop.json([
        "tension",
        "plucks.wav",
        "--span",
        "100",
        "--mass",
        "58.5",
        "--mass-u95",
        "3",
        "--json",
    ]);
    assert_eq!(short["values"], result["values"]);
    let text = String::from_utf8(shop.run(["measure".as_ref(), path.as_os_str()]).stdout).unwrap();
    for part in ["tension", " N", " Hz", "undecided: ", "belt mass", "plucks 3"] {
        assert!(text.contains(part), "{part:?} is not in\n{text}");
    }
}

/// (140 / 150)^2 = 0.871 of the earlier tension is left: enough by the 70 % rule; a maker's range goes before it.
#[test]
fn it_is_judged_by_the_earlier_reading_or_the_makers_range() {
    let (shop, mut job) = shop(140.0);
    job["belt"]["earlier"] = json!({
        "tension": {"value": 52.65, "u95": 4.0},
        "frequency": {"value": 150.0, "u95": 0.6},
    });
    let verdict = |job: &Value| -> Value {
        serde_json::from_slice::<Value>(&measure(&shop, job).stdout).unwrap()["verdict"].clone()
    };
    let by_earlier = verdict(&job);
    assert_eq!(by_earlier["state"], "within");
    assert!(
        by_earlier["text"].as_str().unwrap().starts_with("87 ± "),
        "{by_earlier}"
    );
    job["belt"]["allowed"] = json!({"least": 80.0, "most": 120.0});
    assert_eq!(verdict(&job)["state"], "outside");
}

#[test]
fn a_tension_is_kept_with_its_recording() {
    let (shop, job) = shop(150.0);
    let path = shop.write_job(&job);
    let board = String::from_utf8(shop.run(["board", "add", "Marlin"]).stdout).unwrap();
    let board = board.trim();
    let entry = shop.json([
        "save".as_ref(),
        path.as_os_str(),
        "--board".as_ref(),
        board.as_ref(),
        "--corner".as_ref(),
        "left".as_ref(),
        "--json".as_ref(),
    ]);
    assert_eq!(entry["result"]["check"], "tension");
    assert_eq!(entry["photo_ids"], json!([]));
    let kept = std::fs::read_dir(shop.path("history/photos")).unwrap();
    let whole = plucks(150.0).len() as u64;
    let found = kept
        .map(|entry| entry.unwrap().path())
        .flat_map(|path| {
            if path.is_dir() {
                std::fs::read_dir(path)
                    .unwrap()
                    .map(|e| e.unwrap().path())
                    .collect()
            } else {
                vec![path]
            }
        })
        .any(|path| std::fs::metadata(path).unwrap().len() == whole);
    assert!(found, "the recording is not in the history");
}

#[test]
fn what_is_wrong_is_said_in_one_line() {
    let (shop, good) = shop(150.0);
    let spoilt = |change: &dyn Fn(&mut Value)| -> Value {
        let mut job = good.clone();
        change(&mut job);
        job
    };
    let cases: [(&str, Value, i32); 8] = [
        (
            "names no recording",
            spoilt(&|job| _ = job.as_object_mut().unwrap().remove("sound")),
            2,
        ),
        (
            "there is no file gone.wav",
            spoilt(&|job| job["sound"] = json!("gone.wav")),
            2,
        ),
        (
            "says nothing of the belt",
            spoilt(&|job| _ = job.as_object_mut().unwrap().remove("belt")),
            2,
        ),
        // Kilograms for grams.
        (
            "`belt.mass_per_length` is 0.0585 g/m, which is not between 2 and 500; give it in g/m",
            spoilt(&|job| job["belt"]["mass_per_length"]["value"] = json!(0.0585)),
            2,
        ),
        (
            "u95 of `belt.span` is -1",
            spoilt(&|job| job["belt"]["span"]["u95"] = json!(-1)),
            2,
        ),
        (
            "neither `least` nor `most`",
            spoilt(&|job| job["belt"]["allowed"] = json!({})),
            2,
        ),
        (
            "is for tension jobs",
            spoilt(&|job| job["check"] = json!("gap")),
            2,
        ),
        (
            "not a WAV file",
            spoilt(&|job| job["sound"] = json!("left-1.jpg")),
            2,
        ),
    ];
    for (part, job, status) in cases {
        let trouble = refused(&measure(&shop, &job), status);
        assert!(trouble.contains(part), "{part:?} is not in {trouble:?}");
    }
    let whole = plucks(150.0);
    shop.write("plucks.wav", &whole[..whole.len() / 2]);
    assert!(refused(&measure(&shop, &good), 2).contains("cut short"));
    shop.write("plucks.wav", &noise());
    let trouble = refused(&measure(&shop, &good), 3);
    assert!(
        trouble.contains("no pluck stands out") || trouble.contains("not clear"),
        "{trouble}"
    );
}

/// The recording goes into the bundle as it is, without what else its file tells, and is listened to again.
#[test]
fn a_tension_check_becomes_a_record_and_a_bundle_that_holds() {
    let (shop, job) = shop(150.0);
    let mut told = plucks(150.0);
    told.splice(12..12, *b"LIST\x10\0\0\0INFOIARLSECRET!!");
    let length = (told.len() as u32 - 8).to_le_bytes();
    told[4..8].copy_from_slice(&length);
    shop.write("plucks.wav", &told);
    let path = shop.write_job(&job);
    assert!(shop.run(["board", "add", "Marlin"]).status.success());
    let save = ["save".as_ref(), path.as_os_str()];
    let board = ["--board", "Marlin", "--corner", "left"].map(std::ffi::OsStr::new);
    assert!(shop.run([&save[..], &board[..]].concat()).status.success());
    let at_marlin = |command: &[&'static str]| {
        shop.run([command, &["--board", "Marlin"]].concat())
            .status
            .success()
    };
    assert!(at_marlin(&["record", "--out", "marlin.pdf"]));
    assert!(at_marlin(&["bundle", "--out", "marlin.zip"]));
    let bundle = std::fs::read(shop.path("marlin.zip")).unwrap();
    assert!(!bundle.windows(6).any(|part| part == b"SECRET"));
    let verified = &shop.json(["verify", "marlin.zip", "--json"])[0];
    assert_eq!(verified["unchanged"], true, "{verified}");
    let numbers = verified["numbers"].as_array().unwrap();
    assert!(
        numbers.len() >= 4 && numbers.iter().all(|number| number["state"] == "same"),
        "{verified}"
    );
    // It becomes a check on another machine, and is known where it came from.
    for (place, checks) in [("other", json!(1)), ("history", json!(null))] {
        let merged = shop.json(["import", "marlin.zip", "--json", "--data-dir", place]);
        assert_eq!(merged["added"]["checks"], checks, "{merged}");
    }
}

#[test]
fn trials_are_refused_and_not_passed_over() {
    let (shop, mut job) = shop(150.0);
    job["trials"] = json!(1000);
    assert!(
        refused(&measure(&shop, &job), 2).contains("for a gap job and for a turn job with a hub ring only")
    );
}
