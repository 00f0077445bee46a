//! What a job of the app leaves open and the board, its history or a mark can tell.

use super::{Workshop, heavy, lock};
use crate::bridge::Failure;
use crate::ring_view::{SCREW_1, direction_on_ring};
use crate::told::day_of;
use shimwright_measure::{PhotoInput, look_at};
use shimwright_record::{Board, CheckKind, Corner, Job, JobDrive, Phrase, StatedLength};
use shimwright_say::say;

impl Workshop {
    /// Fills in the job's drive; gives what was decided on the way, in words.
    ///
    /// # Errors
    /// Bad input for a marked screw in a photo that does not show the ring; storage trouble.
    pub(super) async fn fill_in(
        &self,
        job: &mut Job,
        board: &Board,
        corner: Corner,
    ) -> Result<Vec<Phrase>, Failure> {
        let screw = take_screw(job);
        let mut notes = Vec::new();
        let mut drive = job.drive.take().unwrap_or_default();
        match job.check {
            CheckKind::Gap => {
                drive = with_edges(drive, board);
                notes.extend(
                    self.wobble(&mut drive, board, corner, say!("the gap over a turn"))
                        .await?,
                );
            }
            CheckKind::Turn => {
                drive = with_limits(with_edges(drive, board), board);
                if let Some((photo, at)) = screw {
                    drive.mark_screw_angle = Some(self.screw_direction(&photo, at).await?);
                }
            }
            CheckKind::Alignment => {
                let described = board.drive.description.as_ref();
                drive.rim_diameter = drive.rim_diameter.or(Some(board.drive.rim_diameter));
                drive.alignment_limit = drive
                    .alignment_limit
                    .or(described.map(|told| told.alignment_limit));
                let what = say!("what a turned wheel changes in the alignment");
                notes.extend(self.wobble(&mut drive, board, corner, what).await?);
            }
            _ => {}
        }
        job.drive = (drive != JobDrive::default()).then_some(drive);
        Ok(notes)
    }

    /// Takes the axial run-out of the corner's newest saved turn check where none is stated; says `what` rests on it.
    async fn wobble(
        &self,
        drive: &mut JobDrive,
        board: &Board,
        corner: Corner,
        what: Phrase,
    ) -> Result<Option<Phrase>, Failure> {
        if drive.axial_runout.is_some() {
            return Ok(None);
        }
        let Some(turn) = self.history.newest(&board.id, corner, CheckKind::Turn).await? else {
            return Ok(None);
        };
        let day = day_of(&turn.at);
        Ok(turn.result.quantity("axial_runout").map(|runout| {
            drive.axial_runout = Some(StatedLength {
                value: runout.value,
                u95: runout.u95,
            });
            say!(
                "{what} rests on the axial run-out of the turn check of {day}: {:.2} mm, give or take {:.2}; measure the turn \
                 again if the pulley was taken off since",
                runout.value, runout.u95
            )
        }))
    }

    /// Direction of what was marked in a photo, in the hub ring's frame, degrees.
    async fn screw_direction(&self, photo: &str, at: [f64; 2]) -> Result<f64, Failure> {
        let loaded = lock(&self.shelf).get(photo).cloned().ok_or_else(|| {
            Failure::not_found(
                say!("a photo of this check is no longer in memory"),
                say!("add the photo again"),
            )
            .about(photo)
        })?;
        let targets = self.targets.clone();
        heavy(move || {
            let seen = PhotoInput {
                name: &loaded.name,
                bytes: &loaded.bytes,
            };
            direction_on_ring(&look_at(&seen, &targets)?, at).ok_or_else(|| {
                Failure::bad_input(
                    say!(
                        "screw 1 is marked in {}, which does not show the hub ring",
                        loaded.name
                    ),
                    say!("mark it in a photo that shows the whole ring"),
                )
                .about(&loaded.name)
            })
        })
        .await
    }
}

/// Takes the screw's mark out of the job: the photo's id and the place.
fn take_screw(job: &mut Job) -> Option<(String, [f64; 2])> {
    let mut taken = None;
    for photo in &mut job.photos {
        if let Some(point) = photo
            .marks
            .remove(SCREW_1)
            .and_then(|points| points.first().copied())
        {
            taken = taken.or_else(|| Some((photo.file.clone(), point)));
        }
    }
    taken
}

fn with_edges(drive: JobDrive, board: &Board) -> JobDrive {
    JobDrive {
        rim_diameter: drive.rim_diameter.or(Some(board.drive.rim_diameter)),
        mount_chamfer: drive.mount_chamfer.or(board.drive.mount_chamfer),
        rim_chamfer: drive.rim_chamfer.or(board.drive.rim_chamfer),
        minimum_gap: drive.minimum_gap.or(Some(board.drive.minimum_gap)),
        ..drive
    }
}

/// Limit and screw 1 of a turn, where the drive is described.
fn with_limits(drive: JobDrive, board: &Board) -> JobDrive {
    let Some(description) = &board.drive.description else {
        return drive;
    };
    JobDrive {
        // Radial run-out is twice the eccentricity.
        runout_limit: drive.runout_limit.or(Some(2.0 * description.eccentricity_limit)),
        mark_screw_angle: drive.mark_screw_angle.or(description.screw_1_angle),
        ..drive
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{from_value, json};
    use shimwright_history::NewCheck;

    #[tokio::test]
    async fn a_saved_turn_tells_an_alignment_how_the_pulley_wobbles() {
        let dir = tempfile::tempdir().unwrap();
        let workshop = Workshop::open(dir.path()).await.unwrap();
        let board = workshop.load_demo().await.unwrap();
        let alignment = || -> Job { from_value(json!({ "check": "alignment", "photos": [] })).unwrap() };
        let mut before = alignment();
        let notes = workshop.fill_in(&mut before, &board, Corner::Left).await.unwrap();
        assert!(notes.is_empty() && before.drive.unwrap().axial_runout.is_none());

        let verdict = json!({ "state": "outside", "text": "it runs out", "limit": 0.1, "probability": 0.0 });
        let values = json!({ "axial_runout": { "value": 0.3, "u95": 0.05, "unit": "mm" } });
        let turn = json!({
            "check": "turn", "values": values, "verdict": verdict, "budget": [], "photos": [], "warnings": [],
        });
        let check = NewCheck {
            board: board.clone(),
            corner: Corner::Left,
            job: from_value(json!({ "check": "turn", "photos": [] })).unwrap(),
            camera: None,
            result: from_value(turn).unwrap(),
            advice: None,
            work_done: String::new(),
            photos: Vec::new(),
        };
        workshop.history.save_check(check, workshop.now()).await.unwrap();
        for (corner, wobbles) in [(Corner::Left, true), (Corner::Right, false)] {
            let mut job = alignment();
            let notes = workshop.fill_in(&mut job, &board, corner).await.unwrap();
            let runout = job.drive.unwrap().axial_runout;
            assert_eq!(
                runout.map(|stated| (stated.value, stated.u95)),
                wobbles.then_some((0.3, 0.05))
            );
            assert_eq!(notes.len(), usize::from(wobbles), "{notes:?}");
        }
        let mut stated = alignment();
        stated.drive = Some(JobDrive {
            axial_runout: Some(StatedLength {
                value: 0.1,
                u95: 0.01,
            }),
            ..JobDrive::default()
        });
        let notes = workshop.fill_in(&mut stated, &board, Corner::Left).await.unwrap();
        assert!(notes.is_empty(), "what is stated counts");
    }
}
