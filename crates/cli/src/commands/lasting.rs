//! `trend`, `backup`, `restore`, `export`, `import` and `photos`.

use super::Place;
use crate::arguments::{BackupTo, CornerName, Export, FormatName, Import, Photos, Restore, Trend};
use crate::output;
use crate::shell;
use shimwright_app::bridge::Failure;
use shimwright_app::record::{CheckKind, Corner};
use shimwright_app::{ExportForm, ExportPhotos, OnConflict, Workshop, system_clock};
use shimwright_say::say;

/// Prints a value over time.
pub async fn trend(asked: Trend, place: &Place) -> Result<(), Failure> {
    let name = asked.check.as_deref().unwrap_or(match asked.value.as_str() {
        "axis_tilt" => "gap",
        other => other,
    });
    let kind: CheckKind = serde_json::from_value(name.into()).map_err(|_| {
        Failure::bad_input(
            say!("there is no kind of check called {name}"),
            say!("name the kind that measures this value with --check, such as gap or turn"),
        )
    })?;
    let corner = match asked.corner {
        CornerName::Left => Corner::Left,
        CornerName::Right => Corner::Right,
    };
    let workshop = place.open().await?;
    let board = workshop.board_named(&asked.board).await?;
    let points = workshop.trend(&board.id, corner, kind, &asked.value).await?;
    workshop.close().await;
    if asked.form.json {
        shell::print_json(&points)
    } else {
        shell::print(&output::trend(&points, &asked.value, asked.form.inch))
    }
}

/// Backs the history up.
pub async fn backup(asked: BackupTo, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    let backup = workshop.back_up(&asked.out, asked.with_place).await?;
    workshop.close().await;
    if asked.json {
        shell::print_json(&backup)
    } else {
        shell::print(&output::backup(&backup))
    }
}

/// Restores a backup or a daily copy.
pub async fn restore(asked: Restore, place: &Place) -> Result<(), Failure> {
    let home = place.home()?;
    let Some(file) = &asked.file else {
        let restored = Workshop::restore_newest_copy(&home, system_clock).await?;
        return if asked.json {
            shell::print_json(&restored)
        } else {
            shell::print(&output::copy_restored(&restored))
        };
    };
    let restored = Workshop::restore(&home, file, system_clock).await?;
    if asked.json {
        shell::print_json(&restored)
    } else {
        shell::print(&output::restored(&restored))
    }
}

/// Exports the history.
pub async fn export(asked: Export, place: &Place) -> Result<(), Failure> {
    let form = match asked.format {
        FormatName::Csv => ExportForm::Csv,
        FormatName::Json => ExportForm::Json,
    };
    let workshop = place.open().await?;
    let photos = ExportPhotos::asked(asked.with_photos, asked.with_place);
    let exported = workshop.export(&asked.out, form, photos).await?;
    workshop.close().await;
    if asked.json {
        shell::print_json(&exported)
    } else {
        shell::print(&output::exported(&exported))
    }
}

/// Imports another history.
pub async fn import(asked: Import, place: &Place) -> Result<(), Failure> {
    let on_conflict = if asked.keep_both {
        OnConflict::KeepBoth
    } else {
        OnConflict::Refuse
    };
    let workshop = place.open().await?;
    let merged = workshop.import(&asked.from, on_conflict).await?;
    workshop.close().await;
    if asked.json {
        shell::print_json(&merged)
    } else {
        shell::print(&output::merged(&merged))
    }
}

/// Tells the size of the photos, or cleans up.
pub async fn photos(asked: Photos, place: &Place) -> Result<(), Failure> {
    let workshop = place.open().await?;
    if asked.clean_up {
        let done = workshop.clean_up_photos(asked.dry_run).await?;
        workshop.close().await;
        return if asked.json {
            shell::print_json(&done)
        } else {
            shell::print(&output::cleaned_up(&done, asked.dry_run))
        };
    }
    let sizes = workshop.photo_sizes().await?;
    workshop.close().await;
    if asked.json {
        shell::print_json(&sizes)
    } else {
        shell::print(&output::photo_sizes(&sizes))
    }
}
