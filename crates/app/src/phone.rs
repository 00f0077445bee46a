//! The bench's side of a phone that shoots for one check.

use crate::bridge::{Failure, LookRequest, MeasureRequest, Measured, PhoneKept, PhoneStanding};
use crate::workshop::Workshop;
use serde::Serialize;
use serde_json::Value;
use shimwright_live::Wish;
use shimwright_receive::{Bench, Event, Frame, ReceivedPhoto, Refusal};
use shimwright_record::JobPhoto;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tokio::sync::Notify;

/// One check that a phone shoots for: what it hands in goes the way of every picture, and nothing else can be reached.
pub struct PhoneCheck {
    workshop: Arc<Workshop>,
    asked: MeasureRequest,
    shows: Vec<String>,
    state: Arc<Mutex<State>>,
    told: Notify,
    hear: Box<dyn Fn(&Event) + Send + Sync>,
}

#[derive(Default)]
struct State {
    photos: Vec<crate::bridge::PhotoAdded>,
    measuring: bool,
    outcome: Option<Result<Measured, Failure>>,
}

impl PhoneCheck {
    /// A check whose photos are still to come; `hear` is told what happens at the server.
    ///
    /// # Errors
    /// Bad input for a check that is not measured from photos, or that has some already.
    pub fn new(
        workshop: Arc<Workshop>,
        asked: MeasureRequest,
        hear: impl Fn(&Event) + Send + Sync + 'static,
    ) -> Result<Self, Failure> {
        let check = asked.job.check;
        let wish = Wish::of(check).ok_or_else(|| {
            Failure::bad_input(
                format!("a {} check is not measured from photos", check.name()),
                "hand in what it is measured from",
            )
        })?;
        if !asked.job.photos.is_empty() {
            return Err(Failure::bad_input(
                format!("the check has {} photos already", asked.job.photos.len()),
                "begin a new one for the phone",
            ));
        }
        Ok(Self {
            workshop,
            asked,
            shows: wish.targets.iter().map(|name| (*name).to_owned()).collect(),
            state: Arc::default(),
            told: Notify::new(),
            hear: Box::new(hear),
        })
    }

    /// What was measured last, if anything was.
    pub fn outcome(&self) -> Option<Result<Measured, Failure>> {
        locked(&self.state).outcome.clone()
    }

    /// The photos taken in so far: name and unchanged bytes.
    ///
    /// # Errors
    /// Not found for one that was dropped from memory meanwhile.
    pub async fn photos(&self) -> Result<Vec<(String, Arc<[u8]>)>, Failure> {
        let photos = locked(&self.state).photos.clone();
        let mut out = Vec::with_capacity(photos.len());
        for photo in photos {
            out.push((photo.name, self.workshop.photo(&photo.id).await?));
        }
        Ok(out)
    }

    /// Waits until a result was measured and the phone was told.
    pub async fn told_result(&self) {
        self.told.notified().await;
    }

    fn ids(&self) -> Vec<String> {
        locked(&self.state)
            .photos
            .iter()
            .map(|photo| photo.id.clone())
            .collect()
    }
}

impl Bench for PhoneCheck {
    async fn standing(&self) -> Value {
        let standing = {
            let state = locked(&self.state);
            let outcome = state.outcome.as_ref();
            PhoneStanding {
                check: self.asked.job.check,
                shows: self.shows.clone(),
                photos: state.photos.clone(),
                measuring: state.measuring,
                result: outcome.and_then(|outcome| Some(outcome.as_ref().ok()?.result.clone())),
                failure: outcome.and_then(|outcome| outcome.as_ref().err().cloned()),
            }
        };
        if standing.result.is_some() && !standing.measuring {
            self.told.notify_one();
        }
        value(&standing).unwrap_or(Value::Null)
    }

    async fn look(&self, frame: Frame) -> Result<Value, Refusal> {
        let request = LookRequest {
            check: self.asked.job.check,
            width: frame.width,
            height: frame.height,
            photo_width: frame.photo_width,
            photo_ids: self.ids(),
        };
        let look = self.workshop.look(request, frame.grey).await.map_err(refusal)?;
        value(&look)
    }

    async fn keep(&self, photo: ReceivedPhoto) -> Result<Value, Refusal> {
        let added = self
            .workshop
            .add_photo(&photo.name, photo.bytes)
            .await
            .map_err(refusal)?;
        let shown = |name: &String| added.found.iter().any(|found| found.name == *name);
        let kept = !photo.by_itself || self.shows.iter().all(shown);
        if kept {
            locked(&self.state).photos.push(added.clone());
        } else {
            self.workshop.forget_photos(std::slice::from_ref(&added.id));
        }
        value(&PhoneKept { kept, photo: added })
    }

    async fn measure(&self) -> Result<Value, Refusal> {
        let mut request = self.asked.clone();
        request.job.photos = self
            .ids()
            .into_iter()
            .map(|file| JobPhoto {
                file,
                marks: BTreeMap::new(),
            })
            .collect();
        if std::mem::replace(&mut locked(&self.state).measuring, true) {
            return Err(Refusal::bad_input("it is being measured", "wait for the result"));
        }
        let (workshop, state) = (self.workshop.clone(), self.state.clone());
        tokio::spawn(async move {
            // In a task of its own, so that a fault does not leave a check that is measured for ever.
            let run = tokio::spawn(async move { workshop.measure(request, |_| {}).await });
            let outcome = run.await.unwrap_or_else(|_| {
                Err(Failure::internal(
                    "the measurement stopped by a fault of the program",
                ))
            });
            let mut state = locked(&state);
            state.measuring = false;
            state.outcome = Some(outcome);
        });
        Ok(serde_json::json!({ "measuring": true }))
    }

    fn hear(&self, event: &Event) {
        (self.hear)(event);
    }
}

fn value(said: &impl Serialize) -> Result<Value, Refusal> {
    serde_json::to_value(said).map_err(|error| refusal(Failure::internal(error.to_string())))
}

fn refusal(failure: Failure) -> Refusal {
    let code = serde_json::to_value(failure.code);
    Refusal {
        code: code
            .ok()
            .and_then(|code| code.as_str().map(str::to_owned))
            .unwrap_or_else(|| "internal".into()),
        message: failure.message,
        hint: failure.hint,
    }
}

/// Locks, also after a thread died while it held the lock: what is behind is whole between any two statements.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
