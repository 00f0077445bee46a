//! `receive`.

use super::{CornerName, Form};
use clap::{Args, ValueEnum};
use shimwright_app::record::CheckKind;
use std::net::IpAddr;
use std::path::PathBuf;

/// `receive`. It ends when the check is measured and the phone was told, or when nobody uses it.
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
    /// Also write the photos into this folder
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Keep the result in the board's history
    #[arg(long)]
    pub save: bool,
    /// How to print.
    #[command(flatten)]
    pub form: Form,
}

/// A check that a phone can shoot for without a hand that marks edges.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum ShotCheck {
    /// Run-out over a turn.
    Turn,
    /// Bearing play.
    Play,
}

impl From<ShotCheck> for CheckKind {
    fn from(check: ShotCheck) -> Self {
        match check {
            ShotCheck::Turn => Self::Turn,
            ShotCheck::Play => Self::Play,
        }
    }
}
