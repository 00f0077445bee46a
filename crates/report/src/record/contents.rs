//! From a record to the blocks of its document, in the order in which it is read.

use super::facts::Facts;
use super::flow::{Block, Split};
use super::model::{CheckSheet, Fact, ServiceRecord};
use super::panel::Panel;
use super::photo::PictureRow;
use super::table::{Cell, Table};
use super::text::{Look, Text, group};
use super::trend::TrendRow;
use crate::Error;
use crate::canvas::{Canvas, Ink, Place};
use crate::font::Typefaces;
use krilla::tagging::{ArtifactType, Node, Tag};
use std::rc::Rc;

/// What stands in the photos, for who reads in black and white.
const LEGEND: &str = "In the photos: full line, the mount\u{2019}s edge as found; dashed line, the rim\u{2019}s edge as found; \
    line between two dots, the gap at its narrowest.";

/// Said beside every torque.
const TORQUE_NOTE: &str = "Torques are the board maker\u{2019}s to give. Where the source is not the maker, check the \
    value in the board\u{2019}s manual before you rely on it.";

/// The blocks of a record.
pub(super) fn blocks(
    record: &ServiceRecord,
    faces: &Rc<Typefaces>,
    width_mm: f64,
) -> Result<Vec<Box<dyn Block>>, Error> {
    let mut page = Contents {
        faces,
        width_mm,
        blocks: Vec::new(),
    };
    page.opening(record);
    for check in &record.checks {
        page.check(check)?;
    }
    if !record.trends.is_empty() {
        page.heading(2, "How the numbers went");
        page.blocks
            .extend(TrendRow::rows(faces, &record.trends, width_mm));
    }
    page.work(record);
    if !record.cautions.is_empty() {
        page.heading(2, "Cautions");
        page.blocks
            .extend(Text::list(faces, &record.cautions, false, width_mm));
    }
    page.evidence(record);
    page.blocks.push(Box::new(Signatures {
        faces: faces.clone(),
        width_mm,
    }));
    Ok(page.blocks)
}

struct Contents<'a> {
    faces: &'a Rc<Typefaces>,
    width_mm: f64,
    blocks: Vec<Box<dyn Block>>,
}

impl Contents<'_> {
    fn heading(&mut self, level: u16, text: &str) {
        self.blocks
            .push(Box::new(Text::heading(self.faces, level, text, self.width_mm)));
    }

    fn paragraph(&mut self, look: Look, text: &str) {
        if !text.trim().is_empty() {
            self.blocks
                .push(Box::new(Text::paragraph(self.faces, look, text, self.width_mm)));
        }
    }

    fn facts(&mut self, facts: &[Fact], columns: usize) {
        if !facts.is_empty() {
            self.blocks
                .push(Box::new(Facts::new(self.faces, facts, columns, self.width_mm)));
        }
    }

    fn table(&mut self, head: &[&str], shares: &[f64], rows: &[Vec<Cell>]) {
        if !rows.is_empty() {
            self.blocks.push(Box::new(Table::new(
                self.faces,
                head,
                shares,
                rows,
                self.width_mm,
            )));
        }
    }

    /// Shop, title, what is to be known first, and the numbers at a glance.
    fn opening(&mut self, record: &ServiceRecord) {
        self.paragraph(
            Look {
                size_pt: 10.5,
                ..Look::STRONG
            },
            &record.shop,
        );
        self.paragraph(Look::SMALL, &record.shop_lines.join("\n"));
        self.heading(1, &format!("Service record: {}", record.board));
        self.facts(&record.facts, 4);
        self.heading(2, "What was measured");
        if record.summary.is_empty() {
            self.paragraph(Look::BODY, "Nothing was measured on this visit.");
        }
        let rows: Vec<Vec<Cell>> = record
            .summary
            .iter()
            .map(|line| {
                vec![
                    Cell::Strong(line.what.clone()),
                    Cell::Words(line.before.clone()),
                    Cell::Strong(line.now.clone()),
                    Cell::Words(line.limit.clone()),
                    Cell::State(line.state),
                ]
            })
            .collect();
        self.table(
            &["Check", "Before", "At the end of the visit", "Limit", "Verdict"],
            &[22.0, 22.0, 24.0, 18.0, 18.0],
            &rows,
        );
        if !record.summary.is_empty() {
            self.paragraph(
                Look::SMALL,
                "Every number is given with its expanded uncertainty at 95 % (JCGM 100). Within and outside are said when \
                 the limit is kept or passed with at least 95 % confidence (ISO 14253-1), undecided otherwise.",
            );
        }
    }

    fn check(&mut self, check: &CheckSheet) -> Result<(), Error> {
        self.heading(2, &check.title);
        self.blocks.push(Box::new(Text::introduction(
            self.faces,
            Look::SMALL,
            &check.about,
            self.width_mm,
        )));
        self.blocks
            .push(Box::new(Panel::new(self.faces, check, self.width_mm)?));
        self.blocks.extend(PictureRow::rows(
            self.faces,
            check.photos.get(1..).unwrap_or_default(),
            self.width_mm,
        )?);
        if !check.photos.is_empty() {
            self.paragraph(Look::SMALL, LEGEND);
        }
        if !check.warnings.is_empty() {
            self.heading(3, "To beware of");
            self.blocks
                .extend(Text::list(self.faces, &check.warnings, false, self.width_mm));
        }
        self.facts(&check.values, 4);
        let budget: Vec<Vec<Cell>> = check
            .budget
            .iter()
            .map(|line| line.iter().cloned().map(Cell::Words).collect())
            .collect();
        if !budget.is_empty() {
            self.heading(3, "What the uncertainty is made of");
            self.table(
                &["Part", "Standard uncertainty", "What it stands for"],
                &[22.0, 22.0, 70.0],
                &budget,
            );
        }
        if let Some((headline, rest)) = check.advice.split_first() {
            self.heading(3, "Advice given");
            self.paragraph(Look::STRONG, headline);
            for line in rest {
                self.paragraph(Look::BODY, line);
            }
            self.blocks
                .extend(Text::list(self.faces, &check.steps, true, self.width_mm));
        }
        if !check.work_done.trim().is_empty() {
            self.heading(3, "What was done");
            self.paragraph(Look::BODY, &check.work_done);
        }
        Ok(())
    }

    fn work(&mut self, record: &ServiceRecord) {
        if record.work.is_empty() && record.parts.is_empty() && record.torques.is_empty() {
            return;
        }
        self.heading(2, "Work done");
        for text in &record.work {
            self.paragraph(Look::BODY, text);
        }
        let words = |row: &[String]| row.iter().cloned().map(Cell::Words).collect::<Vec<_>>();
        let parts: Vec<Vec<Cell>> = record.parts.iter().map(|row| words(row)).collect();
        if !parts.is_empty() {
            self.heading(3, "Parts fitted");
            self.table(&["Count", "Part"], &[12.0, 88.0], &parts);
        }
        let torques: Vec<Vec<Cell>> = record.torques.iter().map(|row| words(row)).collect();
        if !torques.is_empty() {
            self.heading(3, "Torques");
            self.table(
                &["Screws", "Torque", "Who states it"],
                &[40.0, 20.0, 40.0],
                &torques,
            );
            self.paragraph(Look::SMALL, TORQUE_NOTE);
        }
    }

    fn evidence(&mut self, record: &ServiceRecord) {
        let evidence = &record.evidence;
        self.heading(2, "Evidence");
        self.paragraph(Look::LABEL, "Fingerprint of the evidence (SHA-256)");
        self.paragraph(
            Look {
                size_pt: 10.0,
                ..Look::STRONG
            },
            &evidence.fingerprint,
        );
        self.facts(&evidence.facts, 1);
        let photos: Vec<Vec<Cell>> = evidence
            .photos
            .iter()
            .map(|row| row.iter().cloned().map(Cell::Words).collect())
            .collect();
        if !photos.is_empty() {
            self.heading(3, "Photos as the camera wrote them");
            self.table(&["Photo", "SHA-256"], &[30.0, 70.0], &photos);
        }
        if !evidence.how.is_empty() {
            self.heading(3, "How to check this record");
        }
        for text in &evidence.how {
            self.paragraph(Look::BODY, text);
        }
    }
}

/// Lines to sign on.
struct Signatures {
    faces: Rc<Typefaces>,
    width_mm: f64,
}

impl Block for Signatures {
    fn height(&self) -> f64 {
        22.0
    }

    fn space(&self) -> f64 {
        4.0
    }

    fn split(self: Box<Self>, _room_mm: f64) -> Split {
        Split::Whole(self)
    }

    fn draw(&self, canvas: &mut Canvas, at: Place) -> Vec<Node> {
        let each = (self.width_mm - 8.0) / 2.0;
        let line = at.1 + 16.0;
        let mut nodes = Vec::new();
        for (place, words) in [
            "Date and signature of the technician",
            "Date and signature of the owner",
        ]
        .iter()
        .enumerate()
        {
            let x = at.0 + place as f64 * (each + 8.0);
            canvas.artifact(ArtifactType::Layout, |canvas| {
                canvas.line(&[(x, line), (x + each, line)], 0.2, Ink::Text, None);
            });
            let words =
                canvas.content(|canvas| Look::SMALL.draw(canvas, &self.faces, (x, line + 1.4), words));
            nodes.push(group(Tag::P, vec![words]));
        }
        nodes
    }
}
