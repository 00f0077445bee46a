//! What the command line may say of records, bundles, visits and the shop.

use clap::{Args, Subcommand};
use std::path::PathBuf;

/// Which visit, on which paper.
#[derive(Debug, Args)]
pub struct Which {
    /// Name or id of the board
    #[arg(long)]
    pub board: String,
    /// The visit: its day, such as 2026-03-08, or its id [default: the newest one]
    #[arg(long, value_name = "DAY")]
    pub visit: Option<String>,
    /// Which paper: a4 or letter
    #[arg(long, default_value = "a4")]
    pub paper: String,
}

/// `record`.
#[derive(Debug, Args)]
pub struct Record {
    /// Which visit, on which paper.
    #[command(flatten)]
    pub which: Which,
    /// Write the service record of a visit as PDF; without it, the board's whole history is printed here
    #[arg(long, value_name = "FILE.pdf")]
    pub out: Option<PathBuf>,
    /// How to print.
    #[command(flatten)]
    pub form: crate::arguments::Form,
}

/// `bundle`.
#[derive(Debug, Args)]
pub struct Bundle {
    /// Which visit, on which paper.
    #[command(flatten)]
    pub which: Which,
    /// The bundle to write
    #[arg(long, value_name = "FILE.zip")]
    pub out: PathBuf,
    /// Sign it with the shop's key, which is made when there is none yet
    #[arg(long)]
    pub sign: bool,
    /// Hand out the photos untouched, with the place where they were taken; otherwise they are copies without it
    #[arg(long)]
    pub with_place: bool,
    /// Print one JSON document and nothing else
    #[arg(long)]
    pub json: bool,
}

/// `verify`.
#[derive(Debug, Args)]
pub struct Verify {
    /// Bundles; those of earlier records of the board let the chain be checked
    #[arg(required = true, value_name = "FILE.zip")]
    pub files: Vec<PathBuf>,
    /// Check sums, order, signature, chain and record only, and do not measure again
    #[arg(long)]
    pub sums_only: bool,
    /// Print one JSON document and nothing else
    #[arg(long)]
    pub json: bool,
}

/// `key`.
#[derive(Debug, Args)]
pub struct Key {
    /// Make the key when there is none yet
    #[arg(long)]
    pub make: bool,
    /// Print one JSON document and nothing else
    #[arg(long)]
    pub json: bool,
}

/// `shop`. What is not given stays as it is.
#[derive(Debug, Args)]
pub struct Shop {
    /// Name of the shop
    #[arg(long)]
    pub name: Option<String>,
    /// Where to find or call it
    #[arg(long)]
    pub address: Option<String>,
    /// Who does the work when a visit does not say
    #[arg(long)]
    pub technician: Option<String>,
    /// Print one JSON document and nothing else
    #[arg(long)]
    pub json: bool,
}

/// `visit`.
#[derive(Debug, Subcommand)]
pub enum VisitCommand {
    /// Write down what is to be said of a visit beside its checks. What is not given stays as it is.
    Note(Box<VisitNote>),
}

/// `visit note`.
#[derive(Debug, Args)]
pub struct VisitNote {
    /// Name or id of the board
    #[arg(long)]
    pub board: String,
    /// The visit: its day or id [default: today's, which is opened when there is none]
    #[arg(long, value_name = "DAY")]
    pub visit: Option<String>,
    /// What the board's distance counter shows, km
    #[arg(long, value_name = "KM")]
    pub odometer: Option<f64>,
    /// Who did the work
    #[arg(long)]
    pub technician: Option<String>,
    /// A part that was fitted: how many, and what; may be given several times
    #[arg(long, num_args = 2, value_names = ["COUNT", "NAME"])]
    pub part: Vec<String>,
    /// Screws and their torque in newton metres, and who states it (the board's maker); may be given several times
    #[arg(long, num_args = 3, value_names = ["SCREWS", "NM", "SOURCE"])]
    pub torque: Vec<String>,
    /// Anything else
    #[arg(long, value_name = "TEXT")]
    pub remarks: Option<String>,
    /// Print one JSON document and nothing else
    #[arg(long)]
    pub json: bool,
}
