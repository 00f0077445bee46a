//! What a definition must keep to before anything is drawn or measured by it.

use crate::tag36h11::{self, CELLS};
use crate::target::{Kind, Page, Parts, TagPlace};
use crate::{Error, layout};
use shimwright_geom::Vec2;

/// Most tags on one target: the whole family.
pub(crate) const MAX_TAGS: usize = tag36h11::COUNT as usize;

/// How far a listed place may lie from the exact one, mm: files round to micrometres or to single precision.
pub(crate) const PLACE_TOLERANCE_MM: f64 = 0.002;

/// Most squares along one side of a board.
const MAX_SQUARES: usize = 64;
/// Smallest tag: cells of a quarter millimetre, about as fine as an office printer keeps square.
const MIN_TAG_MM: f64 = 2.0;
/// Largest length of anything printed.
const MAX_MM: f64 = 2000.0;
const MAX_NAME: usize = 40;
/// A note is printed on the sheet, on one line.
const MAX_NOTE: usize = 90;

/// Refuses a count outside its limits.
pub(crate) fn count(what: &str, got: usize, min: usize, max: usize) -> Result<(), Error> {
    if (min..=max).contains(&got) {
        return Ok(());
    }
    Err(Error::Count {
        what: what.to_owned(),
        got,
        min,
        max,
    })
}

/// Refuses measures that cannot be printed; runs before tags are laid out by them.
pub(crate) fn measures(name: &str, kind: &Kind) -> Result<(), Error> {
    let length = |key, value, min, max| length(name, key, value, min, max);
    match *kind {
        Kind::Board {
            columns,
            rows,
            square_mm,
            marker_mm,
        } => {
            count(
                &format!("squares across \"{name}\""),
                columns as usize,
                2,
                MAX_SQUARES,
            )?;
            count(&format!("squares down \"{name}\""), rows as usize, 2, MAX_SQUARES)?;
            length("square_mm", square_mm, MIN_TAG_MM, MAX_MM)?;
            length("marker_mm", marker_mm, MIN_TAG_MM, square_mm)
        }
        Kind::Ring {
            outer_diameter_mm,
            hole_diameter_mm,
            tag_mm,
            tag_radius_mm,
        } => {
            length("outer_d_mm", outer_diameter_mm, MIN_TAG_MM, MAX_MM)?;
            length("hole_d_mm", hole_diameter_mm, 0.0, outer_diameter_mm)?;
            length("tag_mm", tag_mm, MIN_TAG_MM, outer_diameter_mm)?;
            length("tag_radius_mm", tag_radius_mm, 0.0, outer_diameter_mm)
        }
        Kind::Tags => Ok(()),
    }
}

/// Refuses ids beyond the family and ids given twice on one target.
pub(crate) fn ids(name: &str, tags: &[TagPlace]) -> Result<(), Error> {
    let mut seen = vec![false; MAX_TAGS];
    for tag in tags {
        let slot = seen.get_mut(tag.id as usize);
        let slot = slot.ok_or_else(|| Error::IdBeyondFamily {
            target: name.to_owned(),
            id: tag.id,
        })?;
        if std::mem::replace(slot, true) {
            let name = name.to_owned();
            return Err(Error::DuplicateId {
                id: tag.id,
                first: name.clone(),
                second: name,
            });
        }
    }
    Ok(())
}

/// All that must hold for one target by itself.
pub(crate) fn target(parts: &Parts) -> Result<(), Error> {
    let name = parts.name.as_str();
    let is_name = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if name.is_empty() || name.len() > MAX_NAME || !name.chars().all(is_name) {
        return Err(Error::Name {
            name: name.to_owned(),
        });
    }
    count(
        &format!("letters in the note of \"{name}\""),
        parts.note.chars().count(),
        0,
        MAX_NOTE,
    )?;
    count(&format!("tags of \"{name}\""), parts.tags.len(), 1, MAX_TAGS)?;
    ids(name, &parts.tags)?;
    for tag in &parts.tags {
        square(name, tag)?;
    }
    white_around_tags(parts)?;
    if let Some(page) = parts.page {
        page_holds_tags(name, page, &parts.tags)?;
    }
    Ok(())
}

fn length(name: &str, key: &'static str, value: f64, min: f64, max: f64) -> Result<(), Error> {
    if (min..=max).contains(&value) {
        return Ok(());
    }
    Err(Error::Length {
        target: name.to_owned(),
        key,
        value,
        min,
        max,
    })
}

fn square(name: &str, tag: &TagPlace) -> Result<(), Error> {
    let [a, b, c, d] = tag.corners;
    let (target, id) = (name.to_owned(), tag.id);
    for corner in tag.corners {
        length(name, "tags", corner.x, -MAX_MM, MAX_MM)?;
        length(name, "tags", corner.y, -MAX_MM, MAX_MM)?;
    }
    let side = b - a;
    length(name, "tags", side.norm(), MIN_TAG_MM, MAX_MM)?;
    // With y down, a quarter turn clockwise leads from the upper side to the right one.
    let down = Vec2::new(-side.y, side.x);
    if down.dot(&(d - a)) < 0.0 {
        return Err(Error::TagMirrored { target, id });
    }
    let off_mm = (c - b - down).norm().max((d - a - down).norm());
    if off_mm > PLACE_TOLERANCE_MM {
        return Err(Error::TagNotSquare { target, id, off_mm });
    }
    Ok(())
}

fn white_around_tags(parts: &Parts) -> Result<(), Error> {
    let too_tight = |id: u32, other: String, gap_mm: f64, need_mm: f64| Error::TooTight {
        target: parts.name.clone(),
        id,
        other,
        gap_mm,
        need_mm,
    };
    match parts.kind {
        Kind::Board {
            square_mm, marker_mm, ..
        } => {
            let (gap, need) = ((square_mm - marker_mm) / 2.0, marker_mm / CELLS as f64);
            if gap < need {
                let square = "the black squares".to_owned();
                return Err(too_tight(parts.tags[0].id, square, gap, need));
            }
        }
        Kind::Ring {
            outer_diameter_mm,
            hole_diameter_mm,
            tag_mm,
            tag_radius_mm,
        } => {
            let (half, need) = (tag_mm / 2.0, tag_mm / CELLS as f64);
            let to_hole = tag_radius_mm - half - hole_diameter_mm / 2.0;
            let to_outside = outer_diameter_mm / 2.0 - (tag_radius_mm + half).hypot(half);
            for (gap, what) in [(to_hole, "the hole"), (to_outside, "the outer cut")] {
                if gap < need {
                    return Err(too_tight(parts.tags[0].id, what.to_owned(), gap, need));
                }
            }
        }
        Kind::Tags => {}
    }
    for (i, a) in parts.tags.iter().enumerate() {
        for b in &parts.tags[i + 1..] {
            let gap = gap_mm(&a.corners, &b.corners);
            let need = side_mm(a).max(side_mm(b)) / CELLS as f64;
            if gap < need {
                return Err(too_tight(b.id, format!("tag {}", a.id), gap, need));
            }
        }
    }
    Ok(())
}

fn side_mm(tag: &TagPlace) -> f64 {
    (tag.corners[1] - tag.corners[0]).norm()
}

/// The widest gap between two squares along any of their sides' normals: at most their distance, negative when
/// they overlap (separating axis theorem).
fn gap_mm(a: &[Vec2; 4], b: &[Vec2; 4]) -> f64 {
    let normals = [a, b].into_iter().flat_map(|q| [q[1] - q[0], q[2] - q[1]]);
    let reach = |q: &[Vec2; 4], n: &Vec2| {
        let along = q.map(|corner| corner.dot(n));
        (
            along.iter().copied().fold(f64::INFINITY, f64::min),
            along.iter().copied().fold(f64::MIN, f64::max),
        )
    };
    normals
        .map(|n| {
            let n = n.normalize();
            let ((a_low, a_high), (b_low, b_high)) = (reach(a, &n), reach(b, &n));
            (b_low - a_high).max(a_low - b_high)
        })
        .fold(f64::NEG_INFINITY, f64::max)
}

fn page_holds_tags(name: &str, page: Page, tags: &[TagPlace]) -> Result<(), Error> {
    for value in [page.size.x, page.size.y] {
        length(name, "page_mm", value, MIN_TAG_MM, MAX_MM)?;
    }
    for value in [page.origin.x, page.origin.y] {
        length(name, "page_origin_in_frame_mm", value, -MAX_MM, MAX_MM)?;
    }
    let corners = layout::rectangle(page.origin, page.size);
    let (low, high) = (corners[0], corners[2]);
    for tag in tags {
        let need_mm = side_mm(tag) / CELLS as f64;
        let to_edge = |c: &Vec2| (c - low).min().min((high - c).min());
        let gap_mm = tag.corners.iter().map(to_edge).fold(f64::INFINITY, f64::min);
        if gap_mm < need_mm {
            let other = "the edge of its page".to_owned();
            return Err(Error::TooTight {
                target: name.to_owned(),
                id: tag.id,
                other,
                gap_mm,
                need_mm,
            });
        }
    }
    Ok(())
}
