//! The sheets of printed targets, at exact size.

mod bar;
mod grid;
mod plan;
mod single;
mod words;

pub use plan::{Axis, SCALE_BAR_MM, ScaleBar, SheetPlan};

use crate::canvas::{Canvas, Ink, Place};
use crate::font::Typefaces;
use crate::{Error, Paper};
use krilla::Document;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use plan::Arrangement;
use shimwright_target::{Shape, Target, TargetSet, Vec2};

/// Which sheets to make.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sheet {
    /// The board that parts lie on.
    BenchSheet,
    /// The cards for the part that does not turn.
    MountCard,
    /// The rings for the wheel.
    HubRing,
    /// Every target of the set, a user's own ones too.
    All,
}

impl Sheet {
    /// All choices.
    pub const ALL: [Sheet; 4] = [Sheet::BenchSheet, Sheet::MountCard, Sheet::HubRing, Sheet::All];

    /// The sheet of that name: a built-in target's name, or `all`.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.name() == name)
    }

    /// The name of its target, or `all`.
    pub fn name(self) -> &'static str {
        match self {
            Sheet::BenchSheet => "bench-sheet",
            Sheet::MountCard => "mount-card",
            Sheet::HubRing => "hub-ring",
            Sheet::All => "all",
        }
    }
}

/// A sheet as a file.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetPdf {
    /// The target's name and the paper's: `mount-card-a4.pdf`.
    pub file_name: String,
    /// The PDF.
    pub bytes: Vec<u8>,
    /// What lies where on its one page.
    pub plan: SheetPlan,
}

/// The chosen sheets, one file of one page each. The same input gives the same bytes.
pub fn target_sheets(sheet: Sheet, paper: Paper, targets: &TargetSet) -> Result<Vec<SheetPdf>, Error> {
    if sheet == Sheet::All {
        return targets.iter().map(|target| target_sheet(target, paper)).collect();
    }
    let name = sheet.name();
    let target = targets.by_name(name).ok_or_else(|| Error::NoSuchTarget {
        name: name.to_owned(),
        known: targets.iter().map(Target::name).collect::<Vec<_>>().join(", "),
    })?;
    Ok(vec![target_sheet(target, paper)?])
}

/// The sheet of one target: as many copies as the page holds, with lines to cut along, or one large pattern.
pub fn target_sheet(target: &Target, paper: Paper) -> Result<SheetPdf, Error> {
    let plan = SheetPlan::new(target, paper)?;
    let bytes = pdf(target, paper, &plan)?;
    Ok(SheetPdf {
        file_name: format!("{}-{}.pdf", target.name(), paper.name()),
        bytes,
        plan,
    })
}

/// What every part of a sheet is drawn from.
struct Drawing<'a> {
    target: &'a Target,
    paper: Paper,
    plan: &'a SheetPlan,
    faces: Typefaces,
}

fn pdf(target: &Target, paper: Paper, plan: &SheetPlan) -> Result<Vec<u8>, Error> {
    let drawing = Drawing {
        target,
        paper,
        plan,
        faces: Typefaces::read()?,
    };
    let points = |mm: f64| (mm / crate::font::MM_PER_PT) as f32;
    let settings =
        PageSettings::from_wh(points(plan.page_mm.0), points(plan.page_mm.1)).ok_or_else(|| Error::Pdf {
            message: "the page has no size".to_owned(),
        })?;
    let mut document = Document::new();
    let title = format!(
        "Shimwright {}, version {}",
        words::title(target),
        target.version()
    );
    document.set_metadata(Metadata::new().title(title).language("en".to_owned()));
    let mut page = document.start_page_with(settings);
    let mut surface = page.surface();
    {
        let mut canvas = Canvas::new(&mut surface);
        match plan.arrangement {
            Arrangement::Grid => grid::draw(&mut canvas, &drawing),
            Arrangement::Single => single::draw(&mut canvas, &drawing),
        }
        for bar in &plan.bars {
            bar::draw(&mut canvas, bar, &drawing.faces);
        }
    }
    surface.finish();
    page.finish();
    document.finish().map_err(|e| Error::Pdf {
        message: e.to_string(),
    })
}

/// Width of a line to cut along, mm.
const CUT_LINE_MM: f64 = 0.15;

/// Draws a target with its frame's origin at a place on the page.
fn draw_target(canvas: &mut Canvas, drawing: &Drawing, origin: Vec2) {
    let on_page = |p: &Vec2| -> Place { (origin.x + p.x, origin.y + p.y) };
    let path = |outline: &Vec<Vec2>| outline.iter().map(on_page).collect::<Vec<_>>();
    for shape in drawing.target.shapes() {
        match shape {
            Shape::Black(outlines) => {
                let outlines: Vec<_> = outlines.iter().map(path).collect();
                canvas.fill(&outlines, Ink::Black);
            }
            Shape::CutLine(corners) => {
                let corners = path(&corners);
                // A card as large as the paper is not cut.
                if drawing.plan.is_printable(&corners) {
                    canvas.outline(&corners, CUT_LINE_MM, Ink::Line);
                }
            }
            Shape::CutCircle { centre, radius_mm } => {
                canvas.circle(on_page(&centre), radius_mm, CUT_LINE_MM, Ink::Line);
            }
        }
    }
}

#[cfg(test)]
mod tests;
