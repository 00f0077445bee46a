//! Marks carried from one photo of a check to another, to be dragged into place there.

use super::{Workshop, heavy, lock};
use crate::bridge::{CarriedMarks, Failure};
use crate::job_file::LoadedPhoto;
use crate::ring_view::carried;
use shimwright_measure::{FoundInPhoto, PhotoInput, look_at};
use shimwright_say::say;
use shimwright_target::TargetSet;
use std::collections::BTreeMap;

impl Workshop {
    /// Carries marks from one photo in memory to another, by the plane of a target that both show: what stands out of that plane
    /// lands off by its parallax. What would land outside the picture is left out.
    ///
    /// # Errors
    /// Not found for an unknown photo; not measurable when the photos share no target.
    pub async fn carry_marks(
        &self,
        from: &str,
        to: &str,
        marks: BTreeMap<String, Vec<[f64; 2]>>,
    ) -> Result<CarriedMarks, Failure> {
        let (from, to) = (self.waiting(from)?, self.waiting(to)?);
        let targets = self.targets.clone();
        heavy(move || {
            let (seen, other) = (found(&from, &targets)?, found(&to, &targets)?);
            let inside = |[x, y]: &[f64; 2]| {
                (0.0..f64::from(to.facts.width)).contains(x) && (0.0..f64::from(to.facts.height)).contains(y)
            };
            let mut moved = BTreeMap::new();
            for (name, points) in marks {
                let places = points
                    .iter()
                    .map(|point| carried(&seen, &other, &name, *point))
                    .collect::<Option<Vec<_>>>();
                let places = places.ok_or_else(|| strangers(&from, &to))?;
                moved.insert(name, places.into_iter().filter(inside).collect());
            }
            Ok(CarriedMarks { marks: moved })
        })
        .await
    }

    fn waiting(&self, id: &str) -> Result<LoadedPhoto, Failure> {
        lock(&self.shelf).get(id).cloned().ok_or_else(|| {
            Failure::not_found(
                say!("a photo of this check is no longer in memory"),
                say!("add the photo again"),
            )
            .about(id)
        })
    }
}

fn found(photo: &LoadedPhoto, targets: &TargetSet) -> Result<FoundInPhoto, Failure> {
    let seen = PhotoInput {
        name: &photo.name,
        bytes: &photo.bytes,
    };
    Ok(look_at(&seen, targets)?)
}

fn strangers(from: &LoadedPhoto, to: &LoadedPhoto) -> Failure {
    Failure::bad_input(
        say!("{} and {} show no card or sheet in common", from.name, to.name),
        say!("mark the edges in this photo by hand"),
    )
    .about(&to.name)
}
