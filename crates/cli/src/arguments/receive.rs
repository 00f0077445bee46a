//! `receive`.

use super::{CornerName, Form};
use clap::{Args, ValueEnum};
use shimwright_app::record::CheckKind;
use std::net::IpAddr;
use std::path::PathBuf;

/// `receive`. It ends when the check is measured and the phone was told, when the phone handed over, or when nobody uses it.
#[derive(Debug, Args)]
pub struct Receive {
    /// Which check the phone shoots for
    #[arg(long)]
    pub check: ShotCheck,
    /// Name or id of the board
    #[arg(long)]
    pub board: String,
    /// The corner measured
    #[arg(long)]
    pub corner: CornerName,
    /// Address of this computer on the local network, such as 192.168.1.20: it listens there and nowhere else
    #[arg(long, value_name = "IP")]
    pub address: IpAddr,
    /// Port to listen on; 0 takes any that is free
    #[arg(long, default_value = "0")]
    pub port: u16,
    /// Write each photo into this folder as soon as it is there. A check whose edges are marked by hand needs it, and leaves
    /// its job file there too
    #[arg(long, value_name = "DIR", required_if_eq_any([("check", "gap"), ("check", "alignment"), ("check", "part")]))]
    pub out: Option<PathBuf>,
    /// How long the printed page is against what it should be, along its two bars, and how sure that is; for instance
    /// `1.002 0.999 0.001`
    #[arg(long, num_args = 3, value_names = ["X", "Y", "U95"], value_parser = share)]
    pub print_scale: Option<Vec<f64>>,
    /// Keep the result in the board's history
    #[arg(long)]
    pub save: bool,
    /// How to print.
    #[command(flatten)]
    pub form: Form,
}

/// A check that a phone can shoot for.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum ShotCheck {
    /// Run-out over a turn.
    Turn,
    /// Bearing play.
    Play,
    /// The gap; its edges are marked afterwards.
    Gap,
    /// Belt alignment; its edges are marked afterwards.
    Alignment,
    /// A loose part; its edges are marked afterwards.
    Part,
}

/// A number that a print scale or its uncertainty can be; which of the two it is, is looked at when it is measured.
fn share(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if (0.0..=1.1).contains(&value) => Ok(value),
        _ => Err("give a number between 0 and 1.1, such as 1.002".into()),
    }
}

impl From<ShotCheck> for CheckKind {
    fn from(check: ShotCheck) -> Self {
        match check {
            ShotCheck::Turn => Self::Turn,
            ShotCheck::Play => Self::Play,
            ShotCheck::Gap => Self::Gap,
            ShotCheck::Alignment => Self::Alignment,
            ShotCheck::Part => Self::Part,
        }
    }
}
