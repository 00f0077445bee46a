//! `propose`.

use super::Place;
use super::measure::in_background;
use crate::arguments::Propose;
use crate::{output, shell};
use shimwright_app::bridge::Failure;
use shimwright_app::{load_job, propose_for, use_kept_profile};

/// Finds the edges of a gap job without marks and prints them.
pub async fn propose(asked: Propose, place: &Place) -> Result<(), Failure> {
    let mut loaded = load_job(&asked.job)?;
    if let Ok(folder) = place.folder() {
        use_kept_profile(&folder, &mut loaded)?;
    }
    let (_, proposal) = in_background(loaded, propose_for).await?;
    if asked.json {
        shell::print_json(&proposal)
    } else {
        shell::print(&output::proposal(&proposal))
    }
}
