//! Backups, exports, imports, photos, and values over time.

use super::table;
use shimwright_app::record::Conformity;
use shimwright_app::{
    Backup, CleanUp, Conflict, CopyRestored, Exported, Merged, PhotoSizes, Restored, TrendPoint, told,
};

/// A value over time.
pub fn trend(points: &[TrendPoint], value: &str, inch: bool) -> String {
    if points.is_empty() {
        return format!("no check of this corner has a value called {value}\n");
    }
    let rows: Vec<Vec<String>> = points
        .iter()
        .map(|point| {
            let number = if inch {
                told::quantity_inch_first(&point.quantity)
            } else {
                told::quantity(&point.quantity)
            };
            let state = match point.verdict.state {
                Conformity::Within => "within",
                Conformity::Outside => "OUTSIDE",
                Conformity::Undecided => "undecided",
            };
            vec![point.at.clone(), number, state.into()]
        })
        .collect();
    table(&rows)
}

/// A backup.
pub fn backup(backup: &Backup) -> String {
    let mut text = format!(
        "{}: {} with {}\n",
        backup.file.display(),
        told::size(backup.bytes),
        told::photos_gone(backup.photos, backup.copies)
    );
    if backup.copies > 0 {
        text += "the untouched photos stay here only; --with-place takes them along\n";
    }
    text + &left_out(&backup.left_out, &backup.kept_back)
}

fn left_out(missing: &[String], kept_back: &[String]) -> String {
    let missing = missing
        .iter()
        .map(|photo| format!("LEFT OUT, because it is missing or damaged: photo {photo}\n"));
    let kept_back = kept_back.iter().map(|photo| {
        format!("LEFT OUT, because it cannot lose its place (--with-place takes it along): photo {photo}\n")
    });
    missing.chain(kept_back).collect()
}

/// A restored backup.
pub fn restored(restored: &Restored) -> String {
    let mut text = format!(
        "restored the backup of {} with {} photos\n",
        restored.made_at, restored.photos
    );
    if let Some(aside) = &restored.kept_aside {
        text += &format!("the database that was there is kept in {}\n", aside.display());
    }
    text
}

/// A restored daily copy.
pub fn copy_restored(restored: &CopyRestored) -> String {
    let mut text = format!(
        "restored the copy of {}; what was saved after it is missing\n",
        restored.day
    );
    if let Some(aside) = &restored.kept_aside {
        text += &format!("the database that was there is kept in {}\n", aside.display());
    }
    text
}

/// An export.
pub fn exported(exported: &Exported) -> String {
    let mut text = format!(
        "{}: what the columns mean stands in COLUMNS.md\n",
        exported.folder.display()
    );
    let rows: Vec<Vec<String>> = exported
        .rows
        .iter()
        .map(|(file, rows)| vec![file.clone(), format!("{rows} rows")])
        .collect();
    text += &table(&rows);
    if exported.photos > 0 {
        let photos = told::photos_gone(exported.photos, exported.copies);
        text += &format!("  {photos}\n");
    }
    text + &left_out(&exported.left_out, &exported.kept_back)
}

/// An import.
pub fn merged(merged: &Merged) -> String {
    let added: u64 = merged.added.values().sum();
    let mut text = format!("{added} entries added, {} were here already\n", merged.same);
    let rows: Vec<Vec<String>> = merged
        .added
        .iter()
        .map(|(table, rows)| vec![(*table).to_owned(), format!("{rows} added")])
        .collect();
    text += &table(&rows);
    text += &conflicts("BOTH KEPT", &merged.conflicts);
    text + &conflicts("LEFT OUT, ours stays", &merged.left_out)
}

fn conflicts(what: &str, conflicts: &[Conflict]) -> String {
    conflicts
        .iter()
        .map(|one| format!("{what}: {} {}: {}\n", one.what, one.id, one.differs))
        .collect()
}

/// The room that photos take.
pub fn photo_sizes(sizes: &PhotoSizes) -> String {
    let mut text = table(&[
        vec![
            "named by records".into(),
            format!("{} photos", sizes.named),
            told::size(sizes.named_bytes).into(),
            format!("used {} times", sizes.uses),
        ],
        vec![
            "named by no record".into(),
            format!("{} photos", sizes.unnamed),
            told::size(sizes.unnamed_bytes).into(),
        ],
    ]);
    text.extend(
        sizes
            .missing
            .iter()
            .map(|photo| format!("MISSING: photo {photo}\n")),
    );
    text
}

/// A clean-up.
pub fn cleaned_up(done: &CleanUp, dry_run: bool) -> String {
    let mut text = format!(
        "{} {} photos that nothing names, {}\n",
        if dry_run { "would remove" } else { "removed" },
        done.photos.len(),
        told::size(done.bytes)
    );
    text.extend(done.photos.iter().map(|photo| format!("  {photo}\n")));
    text
}
