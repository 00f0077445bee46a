//! `record`, `bundle`, `verify` and `key`.

use super::Place;
use crate::arguments_of_records::{Bundle, Key, Record, Verify, Which};
use crate::output;
use crate::shell::{self, Progress, cancel_on_interrupt};
use serde::Serialize;
use shimwright_app::bridge::{Failure, FailureCode};
use shimwright_app::told::verified::seal_trouble;
use shimwright_app::{BundleAsked, RecordAsked, Verification, VerifyAsked, write_files};
use shimwright_say::say;
use std::path::Path;

/// A record that was written, as one JSON document.
#[derive(Serialize)]
struct RecordWritten<'a> {
    file: String,
    visit: &'a str,
    fingerprint: &'a str,
}

/// A bundle that was written, as one JSON document.
#[derive(Serialize)]
struct BundleWritten<'a> {
    file: String,
    visit: &'a str,
    number: u32,
    seal: &'a str,
    fingerprint: &'a str,
    public_key: Option<&'a str>,
    with_place: bool,
}

/// Prints a board's history, or writes the record of a visit.
pub async fn record(asked: Record, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let board = workshop.board_named(&asked.which.board).await?;
    let Some(out) = asked.out else {
        let detail = workshop.board(&board.id).await?;
        workshop.close().await;
        return if asked.form.json {
            shell::print_json(&detail)
        } else {
            shell::print(&output::history(&detail, asked.form.inch))
        };
    };
    let made = workshop.record_pdf(&board, &wanted(asked.which)).await?;
    workshop.close().await;
    write(&out, &made.pdf)?;
    let file = out.display().to_string();
    if asked.form.json {
        return shell::print_json(&RecordWritten {
            file,
            visit: &made.day,
            fingerprint: &made.fingerprint,
        });
    }
    shell::print(&format!(
        "{file}\nrecord of {}, visit of {}\nfingerprint of the evidence (SHA-256): {}\n",
        board.name, made.day, made.fingerprint
    ))
}

/// Seals a visit and writes its bundle.
pub async fn bundle(asked: Bundle, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let board = workshop.board_named(&asked.which.board).await?;
    let wanted = BundleAsked {
        record: wanted(asked.which),
        sign: asked.sign,
        with_place: asked.with_place,
    };
    let made = workshop.bundle(&board, &wanted).await?;
    workshop.close().await;
    write(&asked.out, &made.zip)?;
    let file = asked.out.display().to_string();
    if asked.json {
        return shell::print_json(&BundleWritten {
            file,
            visit: &made.day,
            number: made.number,
            seal: &made.seal,
            fingerprint: &made.fingerprint,
            public_key: made.public_key.as_deref(),
            with_place: asked.with_place,
        });
    }
    let photos = if asked.with_place {
        "the photos are untouched and may tell where they were taken"
    } else {
        "the photos are copies that do not tell where they were taken"
    };
    let key = made
        .public_key
        .map_or_else(|| "not signed".to_owned(), |key| format!("signed by {key}"));
    shell::print(&format!(
        "{file}\nrecord {} of {}, visit of {}; {photos}\nfingerprint of the evidence (SHA-256): {}\nseal: {}\n{key}\n",
        made.number, board.name, made.day, made.fingerprint, made.seal
    ))
}

/// Verifies bundles. What is wrong is printed, and then told by the exit status.
pub async fn verify(asked: Verify, place: &Place) -> Result<(), Failure> {
    let workshop = place.open_if_there().await?;
    let cancel = cancel_on_interrupt();
    let progress = Progress::new();
    let wanted = VerifyAsked {
        files: asked.files,
        measure: !asked.sums_only,
    };
    let outcome = shimwright_app::verify(
        wanted,
        workshop.as_ref(),
        move |note| progress.show(&note),
        &cancel,
    )
    .await;
    progress.clear();
    let verified = outcome?;
    if let Some(workshop) = workshop {
        workshop.close().await;
    }
    if asked.json {
        shell::print_json(&verified)?;
    } else {
        shell::print(
            &verified
                .iter()
                .map(output::verification)
                .collect::<Vec<_>>()
                .join("\n"),
        )?;
    }
    verified.iter().try_for_each(judged)
}

/// Fails when a bundle does not hold: bad input when it was changed, not measurable when its numbers do not come out again.
fn judged(of: &Verification) -> Result<(), Failure> {
    if !of.is_as_sealed() {
        let what = of.findings.first().map_or_else(
            || seal_trouble(of),
            |finding| say!("{}: {}", finding.subject, finding.message),
        );
        return Err(Failure::bad_input(
            say!("{} is not as it was sealed ({what})", of.file),
            say!("ask for the file as it was handed out"),
        ));
    }
    if of.numbers_hold() {
        return Ok(());
    }
    let what = of.not_measured.first().map_or_else(
        || say!("a number differs from the one in the bundle"),
        |finding| say!("{}: {}", finding.subject, finding.message),
    );
    let failure = Failure::bad_input(
        say!("the numbers of {} do not come out again ({what})", of.file),
        say!("do not rely on them, and ask who sealed the bundle"),
    );
    Err(Failure {
        code: FailureCode::NotMeasurable,
        ..failure
    })
}

/// Shows the shop's public key.
pub async fn key(asked: Key, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let key = if asked.make {
        Some(workshop.shop_key_made()?)
    } else {
        workshop.shop_key()?
    };
    let folder = workshop.app_info().data_dir;
    workshop.close().await;
    if asked.json {
        return shell::print_json(&serde_json::json!({ "public_key": key }));
    }
    let Some(key) = key else {
        return Err(Failure::not_found(
            say!("the shop has no key yet"),
            say!("make one with `shimwright key --make`, or sign a bundle"),
        ));
    };
    shell::print(&format!(
        "{key}\npublic key (Ed25519): give it to who is to check your bundles; the secret one stays in {folder}, keep a \
         backup of it\n"
    ))
}

fn wanted(which: Which) -> RecordAsked {
    RecordAsked {
        visit: which.visit,
        paper: which.paper,
    }
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let name = path.file_name().and_then(|name| name.to_str()).ok_or_else(|| {
        Failure::bad_input(
            say!("--out names no file"),
            say!("name the file to write, such as kestrel.pdf"),
        )
    })?;
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    write_files(folder, std::iter::once((name, bytes)))?;
    Ok(())
}
