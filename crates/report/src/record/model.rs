//! What a service record says: words and numbers that are ready to be set. Nothing is rounded or decided here.

use shimwright_record::{Conformity, Drawn};

/// A service record.
#[derive(Clone, Debug, PartialEq)]
pub struct ServiceRecord {
    /// Who hands it out; empty when nobody has said.
    pub shop: String,
    /// Where to find the shop, a line each.
    pub shop_lines: Vec<String>,
    /// The board.
    pub board: String,
    /// What is to be known first: owner, date, odometer, technician and the like.
    pub facts: Vec<Fact>,
    /// One line for each corner and kind of check.
    pub summary: Vec<SummaryLine>,
    /// The checks, in order.
    pub checks: Vec<CheckSheet>,
    /// How the numbers went over the visits.
    pub trends: Vec<Trend>,
    /// What was done, a paragraph each.
    pub work: Vec<String>,
    /// Parts that were fitted: count and name.
    pub parts: Vec<[String; 2]>,
    /// Torques: screws, torque, who states it.
    pub torques: Vec<[String; 3]>,
    /// Cautions, one sentence or two each.
    pub cautions: Vec<String>,
    /// What the record rests on.
    pub evidence: EvidenceSheet,
    /// When it was made.
    pub made: Moment,
    /// The program and its version.
    pub program: String,
}

/// A label and what it says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fact {
    /// The label.
    pub label: String,
    /// What it says.
    pub text: String,
}

/// A line of the summary.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SummaryLine {
    /// Corner and check.
    pub what: String,
    /// The number before, or a dash.
    pub before: String,
    /// The last number of the visit.
    pub now: String,
    /// The limit.
    pub limit: String,
    /// What the number means.
    pub state: Conformity,
}

/// A check on its own.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckSheet {
    /// Corner and check.
    pub title: String,
    /// When, and with which program.
    pub about: String,
    /// The number with its uncertainty and unit.
    pub number: String,
    /// The same in inches; may be empty.
    pub number_inch: String,
    /// What it means.
    pub state: Conformity,
    /// The same in a sentence.
    pub verdict: String,
    /// The number against its limit.
    pub scale: Option<Scale>,
    /// The other values, and what was known of the drive.
    pub values: Vec<Fact>,
    /// Parts of the uncertainty: part, standard uncertainty, what it stands for.
    pub budget: Vec<[String; 3]>,
    /// The photos with what was found in them; the first is shown large.
    pub photos: Vec<RecordPhoto>,
    /// What to beware of.
    pub warnings: Vec<String>,
    /// The advice: its headline, then its lines.
    pub advice: Vec<String>,
    /// The work, step by step, as it was advised.
    pub steps: Vec<String>,
    /// What was done; may be empty.
    pub work_done: String,
}

/// A number against its limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Scale {
    /// Numbers to show, the newest last.
    pub marks: Vec<ScaleMark>,
    /// The limit.
    pub limit: f64,
    /// Whether the limit is the lowest allowed number, and not the highest.
    pub limit_is_lowest: bool,
    /// The unit of all of them.
    pub unit: String,
    /// The same in words, for who cannot see it.
    pub told: String,
}

/// A number on a scale.
#[derive(Clone, Debug, PartialEq)]
pub struct ScaleMark {
    /// What it is: `before`, `now`.
    pub label: String,
    /// The number.
    pub value: f64,
    /// Its expanded uncertainty (95 %).
    pub u95: f64,
}

/// A number over the visits.
#[derive(Clone, Debug, PartialEq)]
pub struct Trend {
    /// Corner and check.
    pub title: String,
    /// The unit.
    pub unit: String,
    /// The numbers, oldest first.
    pub points: Vec<TrendPoint>,
    /// The limit, if there is one.
    pub limit: Option<f64>,
    /// The same in words, for who cannot see it.
    pub told: String,
}

/// A number at a moment.
#[derive(Clone, Debug, PartialEq)]
pub struct TrendPoint {
    /// When, in days since some day.
    pub day: f64,
    /// The date in words.
    pub date: String,
    /// The number.
    pub value: f64,
    /// Its expanded uncertainty (95 %).
    pub u95: f64,
}

/// A photo with what was found in it.
#[derive(Clone, Debug, PartialEq)]
pub struct RecordPhoto {
    /// The picture as a JPEG without metadata.
    pub jpeg: Vec<u8>,
    /// The part of the upright photo that it shows: left, top, right, bottom, in the photo's pixels.
    pub window: [f64; 4],
    /// What was found, in the photo's pixels.
    pub drawn: Vec<Drawn>,
    /// Words at the gap, such as `0.36 ± 0.05 mm`.
    pub gap: String,
    /// Its name and what it gave.
    pub caption: String,
    /// What it shows, for who cannot see it.
    pub told: String,
}

/// What the record rests on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EvidenceSheet {
    /// SHA-256 of the evidence.
    pub fingerprint: String,
    /// Number, seal before, public key and the like.
    pub facts: Vec<Fact>,
    /// Photos: name and SHA-256 of the file that the camera wrote.
    pub photos: Vec<[String; 2]>,
    /// How to check it, a paragraph each.
    pub how: Vec<String>,
}

/// A moment as a clock on the wall shows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moment {
    /// Year.
    pub year: u16,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day, 1 to 31.
    pub day: u8,
    /// Hour.
    pub hour: u8,
    /// Minute.
    pub minute: u8,
    /// Second.
    pub second: u8,
    /// Offset from UTC, minutes.
    pub offset_minutes: i32,
}
