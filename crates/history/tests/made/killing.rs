//! Running this test program a second time as a worker, and killing it at a moment of one's choice.

use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

/// Says to the worker what to do and where.
const WORK: &str = "SHIMWRIGHT_TEST_WORK";
const PLACE: &str = "SHIMWRIGHT_TEST_PLACE";

/// What this process is to do as a worker; none in the test itself.
pub fn asked() -> Option<(String, String)> {
    Some((std::env::var(WORK).ok()?, std::env::var(PLACE).ok()?))
}

/// A worker that runs.
pub struct Worker {
    child: Child,
    lines: Receiver<String>,
}

impl Worker {
    /// Starts the test function `worker` of this program with its work.
    pub fn start(work: &str, place: &str) -> Self {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["worker", "--exact", "--nocapture"])
            .env(WORK, work)
            .env(PLACE, place)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let out = BufReader::new(child.stdout.take().unwrap());
        let (send, lines) = channel();
        std::thread::spawn(move || {
            for line in out.lines().map_while(Result::ok) {
                // What the harness prints stands before it on the same line.
                if let Some((_, told)) = line.split_once("::") {
                    let _ = send.send(told.to_owned());
                }
            }
        });
        Self { child, lines }
    }

    /// The next thing that the worker tells; none when it ended.
    pub fn told(&self) -> Option<String> {
        self.lines.recv_timeout(Duration::from_secs(120)).ok()
    }

    /// Kills it after a while (SIGKILL); gives what it told.
    pub fn kill_after(mut self, delay: Duration) -> Vec<String> {
        std::thread::sleep(delay);
        self.child.kill().unwrap();
        self.child.wait().unwrap();
        self.lines.iter().collect()
    }

    /// Waits until it ends; gives what it told.
    pub fn finish(mut self) -> Vec<String> {
        assert!(self.child.wait().unwrap().success());
        self.lines.iter().collect()
    }
}

/// How often something is tried: a tenth in every run, all of it when `SHIMWRIGHT_FULL` is set.
pub fn times(all: usize) -> usize {
    match std::env::var_os("SHIMWRIGHT_FULL") {
        Some(_) => all,
        None => all.div_ceil(10),
    }
}

/// Numbers that look random and are the same in every run (xorshift, Marsaglia 2003).
pub struct Dice(u64);

impl Dice {
    /// Seeded.
    pub fn new(seed: u64) -> Self {
        Self(seed | 1)
    }

    /// A moment before `longest`.
    pub fn moment(&mut self, longest: Duration) -> Duration {
        longest.mul_f64(self.share())
    }

    /// From 0 to 1.
    pub fn share(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}
