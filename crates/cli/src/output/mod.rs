//! Results as people read them in a terminal.

mod advice;
mod history;
mod lasting;
mod phone;
mod proposal;
mod records;
mod result;
mod work;

pub use advice::advice;
pub use history::{board, boards, history, stock};
pub use lasting::{backup, cleaned_up, copy_restored, exported, merged, photo_sizes, restored, trend};
pub use phone::{event, invitation};
pub use proposal::proposal;
pub use records::{shop, verification, visit_notes};
pub use result::result;
pub use work::{belt, description, guidance, recentre, service, shake, torque};

/// Width of a line of running text.
const WIDTH: usize = 100;

/// Words broken into lines, the first after `first` and the others after `rest`.
fn paragraph(first: &str, rest: &str, text: &str) -> String {
    let mut lines = vec![String::from(first)];
    let mut empty = true;
    for word in text.split_whitespace() {
        let line = lines.last().map_or(0, |line| line.chars().count());
        if !empty && line + 1 + word.chars().count() > WIDTH {
            lines.push(String::from(rest));
            empty = true;
        }
        if let Some(line) = lines.last_mut() {
            if !empty {
                line.push(' ');
            }
            line.push_str(word);
            empty = false;
        }
    }
    lines.join("\n") + "\n"
}

/// Columns with two spaces between, each as wide as its widest cell; the last one is left ragged.
fn table(rows: &[Vec<String>]) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        rows.iter()
            .filter_map(|row| row.get(column))
            .map(|cell| cell.chars().count())
            .max()
            .unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let mut text = String::new();
    for row in rows {
        let mut line = String::from(" ");
        for (cell, width) in row.iter().zip(&widths) {
            line += &format!(" {cell:width$} ");
        }
        text += line.trim_end();
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paragraphs_break_between_words_and_indent() {
        let text = paragraph("- ", "  ", &"word ".repeat(60));
        assert!(text.lines().count() >= 3);
        assert!(text.lines().all(|line| line.chars().count() <= WIDTH));
        assert!(text.lines().skip(1).all(|line| line.starts_with("  word")));
        assert_eq!(text.split_whitespace().filter(|word| *word == "word").count(), 60);
    }

    #[test]
    fn columns_line_up() {
        let text = table(&[vec!["a".into(), "b".into()], vec!["long".into(), "±".into()]]);
        assert_eq!(text, "  a     b\n  long  ±\n");
    }
}
