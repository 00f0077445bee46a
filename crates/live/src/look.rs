//! One picture: what is seen, and what is wrong with it.

use crate::tagged::{CELLS, shortest_side, target_of_tags};
use crate::trouble::Trouble;
use crate::view::View;
use crate::wish::Wish;
use crate::{hidden, light};
use shimwright_detect::{FoundTarget, Tag, TagParams, find_tags};
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_target::{Target, TargetSet};

/// Smallest cell of a tag in the photo, px: below it targets are found badly.
const LEAST_CELL_PX: f64 = 2.5;
/// Smallest tag that is read, px: smaller than for a photo, so that somebody far away can be told to come closer.
const LEAST_SIDE_PX: f64 = 11.0;
/// Largest blur of a target, px of the picture looked at.
const MOST_BLUR_PX: f64 = 1.4;
/// Blur of a picture's edges from which nothing can be read, px.
const UNREADABLE_PX: f64 = 2.2;
/// Brightest hundredth that a picture must have, grey level.
const LEAST_LEVEL: u8 = 60;
/// Largest tilt, degrees: beyond it cells are half as wide as high.
const MOST_TILT_DEG: f64 = 60.0;

/// What a picture of the running camera shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// Width of the picture, px.
    pub width: usize,
    /// Height of the picture, px.
    pub height: usize,
    /// The targets found that are wanted, by the corners of their tags: pixels of the picture, good to half of one.
    pub found: Vec<FoundTarget>,
    /// From where it was taken, when the target that stands still is in view.
    pub view: Option<View>,
    /// What is wrong with it, what must be mended first first. Empty when it would make a good photo.
    pub troubles: Vec<Trouble>,
}

/// Looks at a picture. `photo_scale` is the width of the photo that would be kept over the width of this picture.
pub fn look(picture: &GreyPicture, targets: &TargetSet, wish: &Wish, photo_scale: f64) -> Seen {
    let tag_params = TagParams {
        min_side_px: LEAST_SIDE_PX,
        scales: vec![1, 2],
        ..TagParams::default()
    };
    let tags = find_tags(picture, &tag_params);
    let wanted: Vec<&Target> = wish
        .targets
        .iter()
        .filter_map(|name| targets.by_name(name))
        .collect();
    let found: Vec<FoundTarget> = wanted
        .iter()
        .filter_map(|target| target_of_tags(picture, &tags, target))
        .collect();
    let (width, height) = (picture.width(), picture.height());
    let fixed = wish.targets.first().copied().unwrap_or_default();
    let view = View::of(&found, fixed, width as u32, height as u32);
    let mut seen = Seen {
        width,
        height,
        found,
        view,
        troubles: Vec::new(),
    };
    let level = light::brightest(picture);
    if level < LEAST_LEVEL {
        seen.troubles.push(Trouble::Dark {
            level,
            limit: LEAST_LEVEL,
        });
    }
    let missing = seen.missing(picture, targets, &wanted, &tags);
    let told = if missing.is_empty() {
        seen.faults(picture, &wanted, wish, photo_scale)
    } else {
        missing
    };
    seen.troubles.extend(told);
    seen
}

impl Seen {
    /// Why a target that is needed was not found.
    fn missing(
        &self,
        picture: &GreyPicture,
        targets: &TargetSet,
        wanted: &[&Target],
        tags: &[Tag],
    ) -> Vec<Trouble> {
        let Some(missing) = wanted.iter().find(|target| self.found(target.name()).is_none()) else {
            return Vec::new();
        };
        let wanted_name = missing.name().to_owned();
        let side = tags
            .iter()
            .filter(|tag| missing.tag(tag.id).is_some())
            .map(shortest_side)
            .reduce(f64::min);
        if let Some(side) = side {
            return vec![self.unsteady(missing, side)];
        }
        // Large tags are still read where small ones are smeared.
        let of_others = self.blur_px().filter(|blur| *blur > MOST_BLUR_PX);
        let of_all = || light::blur_of_edges(picture).filter(|blur| *blur > UNREADABLE_PX);
        if let Some(blur_px) = of_others.or_else(of_all) {
            return vec![Trouble::Blurred {
                blur_px,
                limit_px: MOST_BLUR_PX,
            }];
        }
        let stranger = targets.iter().find(|target| {
            let is_wanted = wanted.iter().any(|wanted| wanted.name() == target.name());
            !is_wanted && tags.iter().filter(|tag| target.tag(tag.id).is_some()).count() >= 2
        });
        vec![match stranger {
            Some(stranger) => Trouble::WrongTarget {
                seen: stranger.name().to_owned(),
                wanted: wanted_name,
            },
            None => Trouble::NoTarget { wanted: wanted_name },
        }]
    }

    /// A tag of the target was read, and too few others: it is too small, or mostly hidden.
    fn unsteady(&self, target: &Target, side: f64) -> Trouble {
        if side / CELLS < LEAST_CELL_PX {
            return Trouble::TooFar {
                cell_px: side / CELLS,
                limit_px: LEAST_CELL_PX,
            };
        }
        Trouble::Covered {
            target: target.name().to_owned(),
            share: 1.0,
        }
    }

    /// What is wrong though all targets were found.
    fn faults(
        &self,
        picture: &GreyPicture,
        wanted: &[&Target],
        wish: &Wish,
        photo_scale: f64,
    ) -> Vec<Trouble> {
        let pairs = || {
            wanted
                .iter()
                .filter_map(|target| Some((*target, self.found(target.name())?)))
        };
        let mut out = Vec::new();
        let cell_px = pairs()
            .filter_map(|(target, found)| Some(cell_sides(target, found)?[0]))
            .reduce(f64::min);
        let too_far = cell_px
            .map(|cell| (cell * photo_scale, LEAST_CELL_PX))
            .filter(|(cell_px, limit_px)| cell_px < limit_px)
            .or_else(|| too_coarse(wanted.first()?, self, wish, photo_scale));
        if let Some((cell_px, limit_px)) = too_far {
            out.push(Trouble::TooFar { cell_px, limit_px });
        }
        if let Some(blur_px) = self.blur_px().filter(|blur| *blur > MOST_BLUR_PX) {
            out.push(Trouble::Blurred {
                blur_px,
                limit_px: MOST_BLUR_PX,
            });
        }
        let tilt_deg = self.view.as_ref().map(|view| view.tilt().to_degrees());
        if let Some(tilt_deg) = tilt_deg.filter(|tilt| *tilt > MOST_TILT_DEG) {
            out.push(Trouble::TooFlat {
                tilt_deg,
                limit_deg: MOST_TILT_DEG,
            });
        }
        if wish.whole {
            out.extend(pairs().flat_map(|(target, found)| hidden::troubles(picture, target, found)));
        }
        out
    }

    /// The larger of the targets' blurs, px.
    fn blur_px(&self) -> Option<f64> {
        self.found
            .iter()
            .filter_map(FoundTarget::blur_px)
            .reduce(f64::max)
    }

    fn found(&self, name: &str) -> Option<&FoundTarget> {
        self.found.iter().find(|target| target.name == name)
    }
}

/// Where a check wants its photos finer than they would be: the side of a cell the longer way, which hangs on the distance and
/// not on the tilt, and the least that it should be, px of the photo.
fn too_coarse(fixed: &Target, seen: &Seen, wish: &Wish, photo_scale: f64) -> Option<(f64, f64)> {
    let [_, longer] = cell_sides(fixed, seen.found(fixed.name())?)?;
    let (cell_px, limit_px) = (longer * photo_scale, wish.least_px_per_mm? * cell_mm(fixed)?);
    (cell_px < limit_px).then_some((cell_px, limit_px))
}

/// Side of a cell of the target's tags, mm.
fn cell_mm(target: &Target) -> Option<f64> {
    let tag = target.tags().first()?;
    Some((tag.corners[1] - tag.corners[0]).norm() / CELLS)
}

/// Sides of a cell of the target's tags in the middle of what was found, px: the shorter way, and the longer.
fn cell_sides(target: &Target, found: &FoundTarget) -> Option<[f64; 2]> {
    let cell_mm = cell_mm(target)?;
    let middle = found.corners.iter().map(|corner| corner.place).sum::<Vec2>() / found.corners.len() as f64;
    let at = found.seen_at(&middle)?;
    let step = |way: Vec2| Some((found.seen_at(&(middle + way))? - at).norm());
    let (across, down) = (step(Vec2::x())?, step(Vec2::y())?);
    Some([cell_mm * across.min(down), cell_mm * across.max(down)])
}
