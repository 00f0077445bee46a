//! Verifying bundles, with what the history knows of their boards and without.

use super::{VERSION, Workshop, heavy};
use crate::bridge::{Failure, ProgressNote};
use crate::measuring::Cancel;
use crate::proof::{ChainKnown, Verification, verify_bundle};
use shimwright_evidence::{Limits, open_bundle};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What is to be verified.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VerifyAsked {
    /// The bundles.
    pub files: Vec<PathBuf>,
    /// Whether to measure again from their photos.
    pub measure: bool,
}

/// A bundle as it was read.
struct Read {
    name: String,
    bytes: Vec<u8>,
    /// Board, number and seal, when it can be opened.
    link: Option<(String, u32, String)>,
}

/// Verifies bundles, each with what the others and the workshop's history, where there is one, know of its chain.
///
/// # Errors
/// Bad input when one of them cannot be read at all; cancelled.
pub async fn verify(
    asked: VerifyAsked,
    workshop: Option<&Workshop>,
    progress: impl Fn(ProgressNote) + Send + Sync + 'static,
    cancel: &Cancel,
) -> Result<Vec<Verification>, Failure> {
    let bundles = asked
        .files
        .iter()
        .map(|path| read(path))
        .collect::<Result<Vec<_>, Failure>>()?;
    let mut known = Vec::with_capacity(bundles.len());
    for bundle in &bundles {
        known.push(what_is_known(bundle, &bundles, workshop).await?);
    }
    let (measure, cancel, progress) = (asked.measure, cancel.clone(), Arc::new(progress));
    heavy(move || {
        let told = |note: ProgressNote| progress(note);
        let pairs = bundles.iter().zip(&known);
        pairs
            .map(|(bundle, known)| verify_bundle(&bundle.name, &bundle.bytes, known, measure, &told, &cancel))
            .collect()
    })
    .await
}

/// Verifies a bundle that was handed in, with what the workshop's history knows of its chain.
///
/// # Errors
/// As [`verify`].
pub(super) async fn verify_bytes(
    name: &str,
    bytes: Vec<u8>,
    workshop: &Workshop,
    progress: impl Fn(ProgressNote) + Send + Sync + 'static,
    cancel: &Cancel,
) -> Result<Verification, Failure> {
    let bundle = opened(name.to_owned(), bytes);
    let known = what_is_known(&bundle, &[], Some(workshop)).await?;
    let cancel = cancel.clone();
    heavy(move || verify_bundle(&bundle.name, &bundle.bytes, &known, true, &progress, &cancel)).await
}

fn read(path: &Path) -> Result<Read, Failure> {
    let name = path.file_name().map_or_else(
        || path.display().to_string(),
        |name| name.to_string_lossy().into_owned(),
    );
    let bytes = crate::job_file::read_file(path, &name, Limits::default().bytes)?;
    Ok(opened(name, bytes))
}

fn opened(name: String, bytes: Vec<u8>) -> Read {
    let link = open_bundle(&bytes, &Limits::default())
        .ok()
        .filter(|opened| opened.findings.is_empty())
        .map(|opened| (opened.manifest.board.clone(), opened.manifest.number, opened.seal));
    Read { name, bytes, link }
}

async fn what_is_known(
    bundle: &Read,
    all: &[Read],
    workshop: Option<&Workshop>,
) -> Result<ChainKnown, Failure> {
    let mut known = ChainKnown {
        program: VERSION.to_owned(),
        ..ChainKnown::default()
    };
    let Some((board, number, _)) = &bundle.link else {
        return Ok(known);
    };
    let others = all.iter().filter_map(|other| other.link.as_ref());
    known.seals.extend(
        others
            .filter(|other| other.0 == *board && other.1 != *number)
            .map(|other| (other.1, other.2.clone())),
    );
    if let Some(workshop) = workshop {
        let seals = workshop.history.seals(board).await?;
        known
            .seals
            .extend(seals.into_iter().map(|seal| (seal.number, seal.seal)));
        known.own_key = workshop.shop_key()?;
    }
    Ok(known)
}
