//! The service record: what a visit found and did, to be read, printed and kept.
//!
//! It is a tagged PDF by the rules of PDF/UA-1: a screen reader hears headings, tables, lists, and what pictures show. It
//! reads in black and white: verdicts are words, and lines in photos differ by their dashes. Text is text, the typefaces are
//! embedded, and the same record gives the same bytes.

mod axis;
mod badge;
mod contents;
mod facts;
mod flow;
mod model;
mod panel;
mod photo;
mod scale;
mod table;
mod text;
mod trend;

pub use model::*;

use crate::canvas::{Canvas, Ink};
use crate::font::{MM_PER_PT, Typefaces};
use crate::{Error, Paper};
use flow::{Placed, paginate};
use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::Point;
use krilla::metadata::{DateTime, Metadata};
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::tagging::{ArtifactType, TagTree};
use krilla::{Document, SerializeSettings};
use std::rc::Rc;
use text::Look;

/// White at the left and the right of a page, mm.
const SIDE_MM: f64 = 17.0;
/// White above the first line and below the last one, mm.
const TOP_MM: f64 = 16.0;
const BOTTOM_MM: f64 = 20.0;
/// Digits of the fingerprint at the foot of each page: enough to tell two records apart at a glance.
const FOOT_DIGITS: usize = 16;

/// A service record as a PDF.
///
/// # Errors
/// [`Error::Picture`] for a photo that is no JPEG, and [`Error::Pdf`] for a fault of the program.
pub fn service_record(record: &ServiceRecord, paper: Paper) -> Result<Vec<u8>, Error> {
    let faces = Rc::new(Typefaces::read()?);
    let (width_mm, height_mm) = paper.portrait_mm();
    let column_mm = width_mm - 2.0 * SIDE_MM;
    let blocks = contents::blocks(record, &faces, column_mm)?;
    let pages = paginate(blocks, TOP_MM, height_mm - BOTTOM_MM);

    let mut document = Document::new_with(settings()?);
    document.set_metadata(metadata(record));
    let mut tags = TagTree::new().with_lang(Some("en".to_owned()));
    let mut outline = Outline::new();
    let points = |mm: f64| (mm / MM_PER_PT) as f32;
    for (number, placed) in pages.iter().enumerate() {
        let settings =
            PageSettings::from_wh(points(width_mm), points(height_mm)).ok_or_else(|| Error::Pdf {
                message: "the paper has no size".to_owned(),
            })?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        let mut canvas = Canvas::new(&mut surface);
        for Placed { block, top_mm } in placed {
            for node in block.draw(&mut canvas, (SIDE_MM, *top_mm)) {
                tags.push(node);
            }
            if let Some(entry) = block.entry() {
                let place = Point::from_xy(points(SIDE_MM), points(top_mm - 2.0));
                outline.push_child(OutlineNode::new(
                    entry.to_owned(),
                    XyzDestination::new(number, place),
                ));
            }
        }
        foot(
            &mut canvas,
            &faces,
            record,
            (number + 1, pages.len()),
            (width_mm, height_mm),
        );
        drop(canvas);
        surface.finish();
        page.finish();
    }
    document.set_outline(outline);
    document.set_tag_tree(tags);
    document.finish().map_err(|error| Error::Pdf {
        message: format!("{error:?}"),
    })
}

/// Tagged by the rules of PDF/UA-1 (ISO 14289-1); the writer refuses what it can see to break them.
fn settings() -> Result<SerializeSettings, Error> {
    let configuration = ConfigurationBuilder::new()
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|error| Error::Pdf {
            message: format!("{error:?}"),
        })?;
    Ok(SerializeSettings {
        configuration,
        ..SerializeSettings::default()
    })
}

fn metadata(record: &ServiceRecord) -> Metadata {
    let made = &record.made;
    let (hours, minutes) = (made.offset_minutes / 60, made.offset_minutes.unsigned_abs() % 60);
    let date = DateTime::new(made.year)
        .month(made.month)
        .day(made.day)
        .hour(made.hour)
        .minute(made.minute)
        .second(made.second)
        .utc_offset_hour(hours as i8)
        .utc_offset_minute(minutes as u8);
    let authors = if record.shop.is_empty() {
        Vec::new()
    } else {
        vec![record.shop.clone()]
    };
    Metadata::new()
        .title(format!("Service record: {}", record.board))
        .language("en".to_owned())
        .authors(authors)
        .creator(record.program.clone())
        .producer(record.program.clone())
        .creation_date(date)
        .document_id(record.evidence.fingerprint.clone())
}

/// Board, page and the beginning of the fingerprint, at the foot of every page.
fn foot(
    canvas: &mut Canvas,
    faces: &Typefaces,
    record: &ServiceRecord,
    (page, of): (usize, usize),
    size_mm: (f64, f64),
) {
    let y = size_mm.1 - 13.0;
    let right = size_mm.0 - SIDE_MM;
    let fingerprint: String = record.evidence.fingerprint.chars().take(FOOT_DIGITS).collect();
    let left_words = Look::SMALL
        .face(faces)
        .printable(&format!("{} \u{b7} evidence {fingerprint}", record.board));
    let right_words = format!("page {page} of {of}");
    canvas.artifact(ArtifactType::Footer, |canvas| {
        canvas.line(&[(SIDE_MM, y - 2.0), (right, y - 2.0)], 0.12, Ink::Line, None);
        let lines = Look::SMALL.lines(faces, &left_words, right - SIDE_MM - 30.0);
        if let Some(line) = lines.first() {
            Look::SMALL.draw(canvas, faces, (SIDE_MM, y), line);
        }
        let width = Look::SMALL
            .face(faces)
            .width_mm(&right_words, Look::SMALL.size_pt);
        Look::SMALL.draw(canvas, faces, (right - width, y), &right_words);
    });
}
