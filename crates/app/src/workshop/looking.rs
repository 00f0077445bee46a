//! Looking through a running camera for a check.

use super::{Workshop, heavy, lock};
use crate::bridge::{Failure, Look, LookRequest};
use shimwright_detect::FoundTarget;
use shimwright_geom::{GreyPicture, Vec2};
use shimwright_live::{Seen, View, Wish, judge, look};
use shimwright_record::Drawn;
use shimwright_say::say;
use shimwright_target::TargetSet;

/// Most pixels of a picture to be looked at: more only cost time.
const MOST_PIXELS: u64 = 4_000_000;

impl Workshop {
    /// Looks at a picture of a running camera: grey bytes, row by row. Nothing of it is kept but where the targets lay,
    /// so that the next picture tells whether they stand still.
    ///
    /// # Errors
    /// Bad input for a check that is not measured from photos, and for bytes that are not a picture of the stated size.
    pub async fn look(&self, request: LookRequest, grey: Vec<u8>) -> Result<Look, Failure> {
        let wish = Wish::of(request.check).ok_or_else(|| {
            Failure::bad_input(
                say!("a {} check is not measured from photos", request.check.name()),
                say!("hand in what it is measured from"),
            )
        })?;
        let picture = picture(&request, grey)?;
        let scale = f64::from(request.photo_width) / f64::from(request.width);
        let targets = self.targets.clone();
        let (seen, wish) = heavy(move || Ok((look(&picture, &targets, &wish, scale), wish))).await?;
        let taken = self.views_of(&request.photo_ids, &wish);
        let still = lock(&self.stillness).after(&seen);
        Ok(Look {
            drawn: outlines(&seen, &self.targets),
            judged: judge(&wish, &seen, still, &taken),
            wheel_angle: seen
                .view
                .as_ref()
                .and_then(|view| view.wheel_angle)
                .map(f64::to_degrees),
            troubles: seen.troubles,
        })
    }

    /// From where the photos of a check were taken; those that do not show the target that stands still are left out.
    fn views_of(&self, ids: &[String], wish: &Wish) -> Vec<View> {
        let Some(fixed) = wish.targets.first() else {
            return Vec::new();
        };
        let shelf = lock(&self.shelf);
        ids.iter()
            .filter_map(|id| shelf.view(id, fixed).cloned())
            .collect()
    }
}

/// The views of a photo by each target found in it, with the targets' names.
pub(super) fn views(found: &[FoundTarget], width: u32, height: u32) -> Vec<(String, View)> {
    found
        .iter()
        .filter_map(|target| Some((target.name.clone(), View::of(found, &target.name, width, height)?)))
        .collect()
}

fn picture(request: &LookRequest, grey: Vec<u8>) -> Result<GreyPicture, Failure> {
    let (width, height) = (request.width, request.height);
    let bytes = grey.len();
    let small = u64::from(width) * u64::from(height) <= MOST_PIXELS && request.photo_width >= width;
    GreyPicture::new(width as usize, height as usize, grey)
        .filter(|_| small)
        .ok_or_else(|| {
            Failure::bad_input(
                say!("{bytes} bytes are no picture of {width} x {height} pixels to be looked at"),
                say!("send one byte a pixel, at most {MOST_PIXELS}"),
            )
        })
}

/// The papers' outlines where they lie in the picture.
fn outlines(seen: &Seen, targets: &TargetSet) -> Vec<Drawn> {
    let outline = |found: &FoundTarget| {
        let around = targets.by_name(&found.name)?.outline();
        let points = around
            .iter()
            .map(|place: &Vec2| found.seen_at(place).map(|at| [at.x, at.y]));
        Some(Drawn {
            what: "target".into(),
            points: points.collect::<Option<_>>()?,
        })
    };
    seen.found.iter().filter_map(outline).collect()
}
