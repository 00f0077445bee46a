//! `advise` and its kinds.

use super::CornerName;
use clap::{Args, Subcommand};
use std::path::PathBuf;

/// `advise`.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true, after_help = EXAMPLES)]
pub struct Advise {
    /// Another kind of advice.
    #[command(subcommand)]
    pub kind: Option<AdviseKind>,
    /// What to choose spacers from.
    #[command(flatten)]
    pub spacer: Spacer,
}

const EXAMPLES: &str = "\
Without a kind it chooses spacers.

Examples:
  shimwright advise --board \"Kestrel 2\"
  shimwright advise recentre --board \"Kestrel 2\" --corner left --picture push.svg
  shimwright advise belt --board \"Kestrel 2\" --json
  shimwright advise shake --board \"Kestrel 2\" --corner left --top-speed 40
  shimwright advise torque
  shimwright advise service --board \"Kestrel 2\" --odometer 640";

/// What to choose spacers from.
#[derive(Debug, Args)]
pub struct Spacer {
    /// A question: drive, measured corners and stock, in the form of the record
    #[arg(
        value_name = "QUESTION.json",
        required_unless_present = "board",
        conflicts_with = "board"
    )]
    pub question: Option<PathBuf>,
    /// Ask for a board's newest gaps instead; its name or id
    #[arg(long)]
    pub board: Option<String>,
    /// Print one JSON document and nothing else
    #[arg(long)]
    pub json: bool,
}

/// Kinds of advice besides spacers.
#[derive(Debug, Subcommand)]
pub enum AdviseKind {
    /// Which way and how far to push a pulley so that it runs true, from the newest saved turn check.
    Recentre(Recentre),
    /// Belt geometry, teeth in mesh, a smaller motor pulley, and how straight the belts run.
    Belt(Belt),
    /// What the measured eccentricity means at speed: force, vibration, balance grade, swing of the belt.
    Shake(Shake),
    /// The torque table with its sources, in N m, in lb and ft lb.
    Torque(Torque),
    /// Service checks by hand with their due dates.
    Service(Service),
}

/// `advise recentre`.
#[derive(Debug, Args)]
pub struct Recentre {
    /// A question in the form of the record, instead of a board
    #[arg(
        value_name = "QUESTION.json",
        required_unless_present = "board",
        conflicts_with_all = ["board", "corner"]
    )]
    pub question: Option<PathBuf>,
    /// Name or id of the board
    #[arg(long, requires = "corner")]
    pub board: Option<String>,
    /// The corner
    #[arg(long)]
    pub corner: Option<CornerName>,
    /// Also write the drawing of screws and push (SVG)
    #[arg(long, value_name = "FILE.svg")]
    pub picture: Option<PathBuf>,
    /// Print one JSON document and nothing else
    #[arg(long)]
    pub json: bool,
}

/// `advise belt`.
#[derive(Debug, Args)]
pub struct Belt {
    /// A question in the form of the record, instead of a board
    #[arg(
        value_name = "QUESTION.json",
        required_unless_present = "board",
        conflicts_with = "board"
    )]
    pub question: Option<PathBuf>,
    /// Name or id of the board
    #[arg(long)]
    pub board: Option<String>,
    /// Print one JSON document and nothing else
    #[arg(long)]
    pub json: bool,
}

/// `advise shake`.
#[derive(Debug, Args)]
pub struct Shake {
    /// A question in the form of the record, instead of a board
    #[arg(
        value_name = "QUESTION.json",
        required_unless_present = "board",
        conflicts_with_all = ["board", "corner", "added"]
    )]
    pub question: Option<PathBuf>,
    /// Name or id of the board
    #[arg(long, requires = "corner")]
    pub board: Option<String>,
    /// The corner
    #[arg(long)]
    pub corner: Option<CornerName>,
    /// Top speed, km/h
    #[arg(long, default_value_t = 40.0, value_name = "KM_H")]
    pub top_speed: f64,
    /// A mass on the wheel away from its axis, such as a valve cap: what it is, its mass in g, its distance in mm; may be
    /// given several times
    #[arg(long, num_args = 3, value_names = ["NAME", "GRAMS", "RADIUS"])]
    pub added: Vec<String>,
    /// Print one JSON document and nothing else
    #[arg(long)]
    pub json: bool,
}

/// `advise torque`.
#[derive(Debug, Args)]
pub struct Torque {
    /// Put the torques of this board's own maker in place; its name or id
    #[arg(long)]
    pub board: Option<String>,
    /// Print one JSON document and nothing else
    #[arg(long)]
    pub json: bool,
}

/// `advise service`.
#[derive(Debug, Args)]
pub struct Service {
    /// Name or id of the board
    #[arg(long)]
    pub board: String,
    /// What its odometer shows today, km; without it only days count
    #[arg(long, value_name = "KM")]
    pub odometer: Option<f64>,
    /// Only one check, by its id, with all its words
    #[arg(long, value_name = "ID")]
    pub check: Option<String>,
    /// Print one JSON document and nothing else
    #[arg(long)]
    pub json: bool,
}

/// `board describe`.
#[derive(Debug, Args)]
pub struct Describe {
    /// Name or id of the board
    pub board: String,
    /// Read the description from a file in the record's form
    #[arg(long, value_name = "DESCRIPTION.json")]
    pub from: Option<PathBuf>,
    /// Set a field, such as `wheel_teeth=60` or `centre_distance=112.5`; may be given several times
    #[arg(long, value_name = "FIELD=VALUE")]
    pub set: Vec<String>,
    /// Print one JSON document and nothing else
    #[arg(long)]
    pub json: bool,
}

/// `board serviced`.
#[derive(Debug, Args)]
pub struct Serviced {
    /// Name or id of the board
    pub board: String,
    /// The check, by its id
    pub check: String,
    /// The day on which it was done, such as 2026-11-25 [default: today]
    #[arg(long)]
    pub day: Option<String>,
    /// What the odometer showed, km
    #[arg(long, value_name = "KM")]
    pub odometer: Option<f64>,
    /// What was found
    #[arg(long, default_value = "", value_name = "TEXT")]
    pub note: String,
}
