//! Boards, stock and history.

use super::{paragraph, table};
use shimwright_app::bridge::{BoardDetail, BoardSummary, HistoryEntry};
use shimwright_app::record::{Board, Conformity, Corner, SpacerStock};
use shimwright_app::told;

/// The list of boards, all or those found by words.
pub fn boards(boards: &[BoardSummary], search: Option<&str>) -> String {
    if let (true, Some(words)) = (boards.is_empty(), search) {
        return format!("no board has the words {words:?} in its name, owner or notes\n");
    }
    if boards.is_empty() {
        return "no boards yet: add one with `shimwright board add`, or try `shimwright demo`\n".to_owned();
    }
    let rows: Vec<Vec<String>> = boards
        .iter()
        .map(|board| {
            vec![
                board.name.clone(),
                board.owner.clone(),
                format!("{} checks", board.checks),
                board
                    .last_check
                    .as_ref()
                    .map_or_else(|| "never measured".into(), |at| format!("last {at}")),
                board.id.clone(),
            ]
        })
        .collect();
    table(&rows)
}

/// A board's drive and what is fitted.
pub fn board(board: &Board) -> String {
    let drive = &board.drive;
    let optional = |mm: Option<f64>| mm.map_or_else(|| "not known".to_owned(), told::set_length);
    let mut rows = vec![
        vec!["name".into(), board.name.clone()],
        vec!["owner".into(), board.owner.clone()],
        vec!["notes".into(), board.notes.clone()],
        vec!["id".into(), board.id.clone()],
        vec!["rim diameter".into(), told::set_length(drive.rim_diameter)],
        vec!["mount chamfer".into(), optional(drive.mount_chamfer)],
        vec!["rim chamfer".into(), optional(drive.rim_chamfer)],
        vec![
            "located on the axle".into(),
            format!("{:?}", drive.located).to_lowercase(),
        ],
        vec!["minimum gap".into(), told::set_length(drive.minimum_gap)],
        vec![
            "same spacer everywhere".into(),
            if drive.same_spacer_everywhere { "yes" } else { "no" }.into(),
        ],
        vec![
            "spacers in a stack".into(),
            format!("{} at most", drive.stack_limit),
        ],
    ];
    for (corner, state) in Corner::BOTH.into_iter().zip(&board.corners) {
        let offset = told::plain(state.belt_offset, state.belt_offset_u95);
        rows.push(vec![
            corner.name().into(),
            format!(
                "{} of {}, belt offset {offset}",
                state.spacer_label,
                told::set_length(state.spacer_thickness)
            ),
        ]);
    }
    table(&rows)
}

/// The stock.
pub fn stock(stock: &[SpacerStock]) -> String {
    if stock.is_empty() {
        return "no rings yet: add some with `shimwright stock add LABEL THICKNESS`\n".to_owned();
    }
    let rows: Vec<Vec<String>> = stock
        .iter()
        .map(|line| {
            vec![
                line.label.clone(),
                told::plain(line.thickness, line.u95),
                format!("{} in the drawer", line.count),
            ]
        })
        .collect();
    table(&rows)
}

/// A board with all its checks, newest first.
pub fn history(detail: &BoardDetail, inch: bool) -> String {
    let mut text = board(&detail.board);
    if detail.history.is_empty() {
        text += "\nno checks yet\n";
    }
    for entry in &detail.history {
        text += &check(entry, inch);
    }
    text
}

fn check(entry: &HistoryEntry, inch: bool) -> String {
    let result = &entry.result;
    let number = result
        .quantity(result.check.name())
        .map_or_else(String::new, |quantity| {
            if inch {
                told::quantity_inch_first(quantity)
            } else {
                told::quantity(quantity)
            }
        });
    let state = match result.verdict.state {
        Conformity::Within => "within",
        Conformity::Outside => "OUTSIDE",
        Conformity::Undecided => "undecided",
    };
    let mut text = format!(
        "\n{}  {} corner  {} {number}\n",
        entry.at,
        entry.corner.name(),
        result.check.name()
    );
    text += &paragraph(&format!("  {state}: "), "    ", &result.verdict.text);
    if let Some(advice) = &entry.advice {
        for section in advice.guidance.sections() {
            let mark = match section.title {
                "headline" => "  advice: ",
                "cautions" => "  ! ",
                // The rest is asked for with `advise`.
                _ => continue,
            };
            for line in section.lines {
                text += &paragraph(mark, "    ", line);
            }
        }
    }
    if !entry.work_done.is_empty() {
        text += &paragraph("  work done: ", "    ", &entry.work_done);
    }
    for (photo, id) in entry.job.photos.iter().zip(&entry.photo_ids) {
        text += &format!("  photo {}  sha256 {id}\n", photo.file);
    }
    text
}
