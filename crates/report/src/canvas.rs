//! A page to draw on in millimetres, x right and y down from the paper's top-left corner.

use crate::font::{MM_PER_PT, Typeface};
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point, Size, Transform};
use krilla::image::Image;
use krilla::num::NormalizedF32;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, Node, SpanTag};
use krilla::text::TextDirection;

/// A place on the page, mm.
pub(crate) type Place = (f64, f64);

/// A colour of the house.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Ink {
    /// Patterns and scale bars: pure black.
    Black,
    /// Words that matter.
    Text,
    /// Words beside them.
    Quiet,
    /// Step numbers.
    Accent,
    /// Lines to cut along and to write on.
    Line,
    /// Grounds of tables and plots.
    Pale,
    /// Paper, on dark grounds and around lines over photos.
    White,
    /// What keeps its limit.
    Good,
    /// What passes its limit.
    Bad,
    /// What is not decided.
    Open,
    /// The mount's edge in photos.
    MountEdge,
    /// The rim's edge in photos.
    RimEdge,
    /// The gap in photos.
    Gap,
}

impl Ink {
    fn colour(self) -> rgb::Color {
        match self {
            Ink::Black => rgb::Color::new(0, 0, 0),
            Ink::Text => rgb::Color::new(0x1c, 0x27, 0x33),
            Ink::Quiet => rgb::Color::new(0x5b, 0x68, 0x76),
            Ink::Accent => rgb::Color::new(0x0b, 0x6f, 0x76),
            Ink::Line => rgb::Color::new(0x9a, 0xa6, 0xb2),
            Ink::Pale => rgb::Color::new(0xee, 0xf1, 0xf4),
            Ink::White => rgb::Color::new(0xff, 0xff, 0xff),
            Ink::Good => rgb::Color::new(0x0b, 0x5d, 0x4e),
            Ink::Bad => rgb::Color::new(0x8f, 0x1d, 0x14),
            Ink::Open => rgb::Color::new(0x6b, 0x4a, 0x00),
            // Apart for colour-blind eyes (Okabe and Ito, "Color Universal Design", 2008); in print also by their dashes.
            Ink::MountEdge => rgb::Color::new(230, 159, 0),
            Ink::RimEdge => rgb::Color::new(86, 180, 233),
            Ink::Gap => rgb::Color::new(240, 228, 66),
        }
    }
}

/// How a line of text is set.
#[derive(Clone, Copy)]
pub(crate) struct Style<'a> {
    pub face: &'a Typeface,
    /// Font size in points.
    pub size_pt: f64,
    pub ink: Ink,
}

/// Which way a line of text runs.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Direction {
    /// To the right.
    Right,
    /// From the bottom to the top of the page.
    Up,
}

pub(crate) struct Canvas<'s, 'p> {
    surface: &'s mut Surface<'p>,
}

impl<'s, 'p> Canvas<'s, 'p> {
    /// Draws in millimetres until it is dropped.
    pub fn new(surface: &'s mut Surface<'p>) -> Self {
        let scale = (1.0 / MM_PER_PT) as f32;
        surface.push_transform(&Transform::from_scale(scale, scale));
        Self { surface }
    }

    /// Fills outlines; a point is inside when an odd number of them holds it.
    pub fn fill(&mut self, outlines: &[Vec<Place>], ink: Ink) {
        let mut builder = PathBuilder::new();
        for outline in outlines {
            polygon(&mut builder, outline);
        }
        let fill = Fill {
            paint: ink.colour().into(),
            opacity: NormalizedF32::ONE,
            rule: FillRule::EvenOdd,
        };
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(fill));
        self.draw(builder.finish());
    }

    /// Fills a rectangle from its top-left to its bottom-right corner.
    pub fn rectangle(&mut self, from: Place, to: Place, ink: Ink) {
        self.fill(&[vec![from, (to.0, from.1), to, (from.0, to.1)]], ink);
    }

    /// A closed thin line.
    pub fn outline(&mut self, corners: &[Place], width_mm: f64, ink: Ink) {
        let mut builder = PathBuilder::new();
        polygon(&mut builder, corners);
        self.stroke(builder.finish(), width_mm, ink);
    }

    /// A thin circle.
    pub fn circle(&mut self, centre: Place, radius: f64, width_mm: f64, ink: Ink) {
        // Four cubic arcs: 4/3 tan(pi/8) keeps them within 0.03 % of the radius.
        let k = radius * 4.0 / 3.0 * (std::f64::consts::PI / 8.0).tan();
        let p = |dx: f64, dy: f64| ((centre.0 + dx) as f32, (centre.1 + dy) as f32);
        let r = radius;
        let mut builder = PathBuilder::new();
        let start = p(r, 0.0);
        builder.move_to(start.0, start.1);
        let arcs = [
            [p(r, k), p(k, r), p(0.0, r)],
            [p(-k, r), p(-r, k), p(-r, 0.0)],
            [p(-r, -k), p(-k, -r), p(0.0, -r)],
            [p(k, -r), p(r, -k), p(r, 0.0)],
        ];
        for [a, b, c] in arcs {
            builder.cubic_to(a.0, a.1, b.0, b.1, c.0, c.1);
        }
        builder.close();
        self.stroke(builder.finish(), width_mm, ink);
    }

    /// A line of text from the start of its baseline.
    pub fn text(&mut self, at: Place, direction: Direction, style: Style, text: &str) {
        let size = (style.size_pt * MM_PER_PT) as f32;
        let (x, y) = (at.0 as f32, at.1 as f32);
        let place = match direction {
            Direction::Right => Transform::from_translate(x, y),
            Direction::Up => Transform::from_row(0.0, -1.0, 1.0, 0.0, x, y),
        };
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(Fill {
            paint: style.ink.colour().into(),
            ..Fill::default()
        }));
        self.surface.push_transform(&place);
        let font = style.face.font.clone();
        let origin = Point::from_xy(0.0, 0.0);
        self.surface
            .draw_text(origin, font, size, text, false, TextDirection::LeftToRight);
        self.surface.pop();
    }

    /// A line through points, solid or dashed (lengths of dash and gap, mm).
    pub fn line(&mut self, points: &[Place], width_mm: f64, ink: Ink, dash_mm: Option<[f64; 2]>) {
        let mut builder = PathBuilder::new();
        for (i, &(x, y)) in points.iter().enumerate() {
            if i == 0 {
                builder.move_to(x as f32, y as f32);
            } else {
                builder.line_to(x as f32, y as f32);
            }
        }
        let stroke = Stroke {
            paint: ink.colour().into(),
            width: width_mm as f32,
            line_cap: LineCap::Butt,
            line_join: LineJoin::Round,
            dash: dash_mm.map(|[on, off]| StrokeDash {
                array: vec![on as f32, off as f32],
                offset: 0.0,
            }),
            ..Stroke::default()
        };
        self.surface.set_fill(None);
        self.surface.set_stroke(Some(stroke));
        self.draw(builder.finish());
    }

    /// A filled disc.
    pub fn disc(&mut self, centre: Place, radius: f64, ink: Ink) {
        let corners = (0..32).map(|i| {
            let turn = f64::from(i) / 32.0 * std::f64::consts::TAU;
            (centre.0 + radius * turn.cos(), centre.1 + radius * turn.sin())
        });
        self.fill(&[corners.collect()], ink);
    }

    /// A picture in a rectangle.
    pub fn picture(&mut self, image: &Image, from: Place, size_mm: Place) {
        let Some(size) = Size::from_wh(size_mm.0 as f32, size_mm.1 as f32) else {
            return;
        };
        self.surface
            .push_transform(&Transform::from_translate(from.0 as f32, from.1 as f32));
        self.surface.draw_image(image.clone(), size);
        self.surface.pop();
    }

    /// Draws inside a rectangle only.
    pub fn clipped(&mut self, from: Place, to: Place, draw: impl FnOnce(&mut Self)) {
        let mut builder = PathBuilder::new();
        polygon(&mut builder, &[from, (to.0, from.1), to, (from.0, to.1)]);
        let Some(path) = builder.finish() else { return };
        self.surface.push_clip_path(&path, &FillRule::NonZero);
        draw(self);
        self.surface.pop();
    }

    /// Draws content that a reader hears; gives its leaf for the document's structure.
    pub fn content(&mut self, draw: impl FnOnce(&mut Self)) -> Node {
        let id = self.surface.start_tagged(ContentTag::Span(SpanTag::empty()));
        draw(self);
        self.surface.end_tagged();
        id.into()
    }

    /// Draws what is there to be seen only: rules, grounds, running feet.
    pub fn artifact(&mut self, kind: ArtifactType, draw: impl FnOnce(&mut Self)) {
        self.surface
            .start_tagged(ContentTag::Artifact(Artifact::with_kind(kind)));
        draw(self);
        self.surface.end_tagged();
    }

    fn stroke(&mut self, path: Option<Path>, width_mm: f64, ink: Ink) {
        let stroke = Stroke {
            paint: ink.colour().into(),
            width: width_mm as f32,
            ..Stroke::default()
        };
        self.surface.set_fill(None);
        self.surface.set_stroke(Some(stroke));
        self.draw(path);
    }

    fn draw(&mut self, path: Option<Path>) {
        if let Some(path) = path {
            self.surface.draw_path(&path);
        }
    }
}

impl Drop for Canvas<'_, '_> {
    fn drop(&mut self) {
        self.surface.pop();
    }
}

fn polygon(builder: &mut PathBuilder, corners: &[Place]) {
    for (i, &(x, y)) in corners.iter().enumerate() {
        if i == 0 {
            builder.move_to(x as f32, y as f32);
        } else {
            builder.line_to(x as f32, y as f32);
        }
    }
    builder.close();
}
