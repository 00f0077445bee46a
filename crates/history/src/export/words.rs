//! What the columns mean, in words.

use super::ExportForm;
use super::values::VALUES;
use crate::tables::TABLES;

/// The page that lies beside an export.
pub(super) fn columns(form: ExportForm) -> String {
    let (end, how) = match form {
        ExportForm::Csv => (
            "csv",
            "Text is UTF-8, fields are separated by commas and quoted as RFC 4180 says, numbers have a decimal point; what is empty \
             was not stated. A text that begins with `=`, `+`, `-`, `@`, `'`, a tab or a line's end has a `'` put before it, so \
             that no spreadsheet takes it for a formula: leave that one sign away to get the text. `shimwright import` reads \
             this folder and does so.",
        ),
        ExportForm::Json => (
            "json",
            "Each file is a list of objects; what is empty is `null`. `shimwright import` reads this folder.",
        ),
    };
    let mut page = format!(
        "# Columns of this export\n\n{how} Lengths are millimetres (`_mm`), moments milliseconds (`_ms`), sizes bytes. \
         `u95` is an expanded uncertainty at 95 % (JCGM 100).\n\n## values.{end}\n\nEvery measured number, one a line; \
         checks marked as deleted are left out.\n\n| column | meaning |\n| --- | --- |\n"
    );
    page.extend(
        VALUES
            .iter()
            .map(|(name, about)| format!("| `{name}` | {about} |\n")),
    );
    for table in TABLES {
        page += &format!(
            "\n## {}.{end}\n\n{}\n\n| column | meaning |\n| --- | --- |\n",
            table.name, table.about
        );
        page.extend(
            table
                .columns
                .iter()
                .map(|column| format!("| `{}` | {} |\n", column.name, column.about)),
        );
    }
    page
}
