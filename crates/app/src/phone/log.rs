//! What is written down of phones: every start, every stop, and what came between.

use crate::bridge::{Failure, PhoneLine, PhoneWhat};
use crate::workshop::Clock;
use shimwright_receive::{Event, StopReason};
use shimwright_say::say;
use std::fs::{File, OpenOptions};
use std::io::Write;
use std::path::Path;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// A line of JSON for each event.
const NAME: &str = "phone-log.jsonl";
/// The lines before, once there were too many.
const OLD_NAME: &str = "phone-log.old.jsonl";
/// A longer file makes way for a new one, bytes.
const LONGEST: u64 = 1 << 20;
/// So many lines of earlier days are shown.
const SHOWN: usize = 20;

/// The log of one server, in the history's folder.
pub struct PhoneLog {
    file: Mutex<File>,
    clock: Clock,
    /// Lines of earlier servers.
    before: Vec<PhoneLine>,
    lines: Mutex<Vec<PhoneLine>>,
}

impl PhoneLog {
    /// Goes on with the log of a folder.
    ///
    /// # Errors
    /// Storage trouble: without a log there is no server.
    pub fn open(folder: &Path, clock: Clock) -> Result<Self, Failure> {
        let path = folder.join(NAME);
        let trouble = |error: std::io::Error| {
            Failure::storage(
                say!("the log of phones cannot be kept ({error})"),
                say!("see that the folder can be written to and has room"),
            )
            .about(path.display().to_string())
        };
        let before = read_last(&path).map_err(trouble)?;
        if std::fs::metadata(&path).is_ok_and(|about| about.len() > LONGEST) {
            std::fs::rename(&path, folder.join(OLD_NAME)).map_err(trouble)?;
        }
        let file = OpenOptions::new()
            .create(true)
            .append(true)
            .open(&path)
            .map_err(trouble)?;
        Ok(Self {
            file: Mutex::new(file),
            clock,
            before,
            lines: Mutex::default(),
        })
    }

    /// Writes down what happened.
    pub fn hear(&self, event: &Event) {
        let line = line_of(event, (self.clock)().to_rfc3339());
        if let Ok(mut text) = serde_json::to_string(&line) {
            text.push('\n');
            // A disk that is full by now must not stop the server from saying on the screen what it does.
            let _ = locked(&self.file).write_all(text.as_bytes());
        }
        locked(&self.lines).push(line);
    }

    /// What happened at this server, oldest first.
    pub fn lines(&self) -> Vec<PhoneLine> {
        locked(&self.lines).clone()
    }

    /// The same after the last lines of earlier servers.
    pub fn with_earlier(&self) -> Vec<PhoneLine> {
        [self.before.clone(), self.lines()].concat()
    }
}

/// The last lines of a log; one that was never begun has none, and lines that were cut are left out.
fn read_last(path: &Path) -> std::io::Result<Vec<PhoneLine>> {
    let text = match std::fs::read(path) {
        // A line that was cut in the middle of a sign must not take the others along.
        Ok(bytes) => String::from_utf8_lossy(&bytes).into_owned(),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => String::new(),
        Err(error) => return Err(error),
    };
    let lines: Vec<PhoneLine> = text
        .lines()
        .filter_map(|line| serde_json::from_str(line).ok())
        .collect();
    Ok(lines[lines.len().saturating_sub(SHOWN)..].to_vec())
}

/// An event as a line.
fn line_of(event: &Event, at: String) -> PhoneLine {
    let (what, about) = match event {
        Event::Started { address } => (PhoneWhat::Started, address.to_string()),
        Event::WrongCode { from, .. } => (PhoneWhat::WrongCode, from.to_string()),
        Event::Paired { from } => (PhoneWhat::Paired, from.to_string()),
        Event::Kept { sha256 } => (PhoneWhat::Kept, sha256.clone()),
        Event::Refused { sha256 } => (PhoneWhat::Refused, sha256.clone()),
        Event::Stopped(reason) => (stopped(*reason), String::new()),
    };
    PhoneLine { at, what, about }
}

fn stopped(reason: StopReason) -> PhoneWhat {
    match reason {
        StopReason::Asked => PhoneWhat::Ended,
        StopReason::NobodyPaired => PhoneWhat::NobodyPaired,
        StopReason::WrongCodes => PhoneWhat::WrongCodes,
        StopReason::Idle => PhoneWhat::Idle,
    }
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn noon() -> crate::Clock {
        || chrono::DateTime::parse_from_rfc3339("2026-03-08T12:00:00+01:00").unwrap()
    }

    #[test]
    fn starts_and_stops_stay_on_the_disk() {
        let dir = tempfile::tempdir().unwrap();
        let address = "192.168.1.20:4433".parse().unwrap();
        for _ in 0..2 {
            let log = PhoneLog::open(dir.path(), noon()).unwrap();
            log.hear(&Event::Started { address });
            log.hear(&Event::Stopped(StopReason::Idle));
            assert_eq!(log.lines().len(), 2);
        }
        let log = PhoneLog::open(dir.path(), noon()).unwrap();
        assert!(log.lines().is_empty());
        let earlier = log.with_earlier();
        assert_eq!(earlier.len(), 4);
        assert_eq!(
            (earlier[0].what, earlier[0].about.as_str()),
            (PhoneWhat::Started, "192.168.1.20:4433")
        );
        assert_eq!(
            (earlier[3].what, earlier[3].at.as_str()),
            (PhoneWhat::Idle, "2026-03-08T12:00:00+01:00")
        );
    }

    #[test]
    fn a_long_log_makes_way_and_a_damaged_one_is_gone_on_with() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join(NAME);
        std::fs::write(&path, "no json\n".repeat(200_000)).unwrap();
        let log = PhoneLog::open(dir.path(), noon()).unwrap();
        assert!(log.with_earlier().is_empty());
        log.hear(&Event::Stopped(StopReason::Asked));
        assert!(std::fs::metadata(&path).unwrap().len() < 200);
        assert!(dir.path().join(OLD_NAME).exists());
        assert!(PhoneLog::open(&dir.path().join("nowhere"), noon()).is_err());
    }

    #[test]
    fn what_can_be_read_of_a_log_is_kept_and_what_cannot_is_told() {
        let dir = tempfile::tempdir().unwrap();
        let log = PhoneLog::open(dir.path(), noon()).unwrap();
        log.hear(&Event::Stopped(StopReason::Asked));
        let path = dir.path().join(NAME);
        let mut bytes = std::fs::read(&path).unwrap();
        bytes.extend_from_slice(b"{\"at\":\"\xff\n");
        std::fs::write(&path, bytes).unwrap();
        assert_eq!(
            PhoneLog::open(dir.path(), noon()).unwrap().with_earlier().len(),
            1
        );
        std::fs::remove_file(&path).unwrap();
        std::fs::create_dir(&path).unwrap();
        assert!(PhoneLog::open(dir.path(), noon()).is_err());
    }
}
