//! The bench's side of a phone that shoots for one check.

use crate::bridge::{
    Failure, LookRequest, MeasureRequest, Measured, PhoneKept, PhoneStanding, PhoneTold, PhotoAdded,
};
use crate::workshop::Workshop;
use serde::Serialize;
use serde_json::Value;
use shimwright_live::Wish;
use shimwright_receive::{Bench, Event, Frame, ReceivedPhoto, Refusal};
use shimwright_record::Phrase;
use shimwright_record::{CheckKind, JobPhoto};
use shimwright_say::say;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tokio::sync::Notify;

/// How every JPEG begins (ITU-T T.81, B.1.1.3). Other kinds can want a gigabyte of memory for half a megabyte of file.
const JPEG: &[u8] = &[0xff, 0xd8, 0xff];

/// One check that a phone shoots for: what it hands in goes the way of every picture, and nothing else can be reached.
pub struct PhoneCheck {
    workshop: Arc<Workshop>,
    kind: CheckKind,
    /// What is measured when the phone asks for it; without it that is left to whoever is at the bench.
    asked: Option<MeasureRequest>,
    shows: Vec<String>,
    state: Arc<Mutex<State>>,
    told: Notify,
    hear: Box<dyn Fn(&Event) + Send + Sync>,
}

#[derive(Default)]
struct State {
    /// Photos that the bench knows of.
    photos: Vec<PhotoAdded>,
    /// Those that it has not asked for yet.
    arrived: Vec<PhotoAdded>,
    handed_over: bool,
    /// Whether the phone asked the bench to go on, and the bench has not heard of it yet.
    wished: bool,
    told: PhoneTold,
    outcome: Option<Result<Measured, Failure>>,
    /// Sums of what the camera took by itself and that does not count.
    dropped: BTreeSet<String>,
}

impl State {
    fn all(&self) -> impl Iterator<Item = &PhotoAdded> {
        self.photos.iter().chain(&self.arrived)
    }
}

/// Whether somebody marks edges in the photos before they can be measured.
fn is_by_hand(kind: CheckKind) -> bool {
    matches!(kind, CheckKind::Gap | CheckKind::Part | CheckKind::Alignment)
}

impl PhoneCheck {
    /// A check whose photos are still to come and that is measured when the phone asks for it; `hear` is told what happens
    /// at the server.
    ///
    /// # Errors
    /// Bad input for a check that is not measured from photos alone, or that has some already.
    pub fn new(
        workshop: Arc<Workshop>,
        asked: MeasureRequest,
        hear: impl Fn(&Event) + Send + Sync + 'static,
    ) -> Result<Self, Failure> {
        let kind = asked.job.check;
        if !asked.job.photos.is_empty() {
            return Err(Failure::bad_input(
                say!("the check has {} photos already", asked.job.photos.len()),
                say!("begin a new one for the phone"),
            ));
        }
        let mut check = Self::for_desk(workshop, kind, hear)?;
        if is_by_hand(kind) {
            return Err(Failure::bad_input(
                say!("a {} check wants edges marked by hand", kind.name()),
                say!("take its photos in with the phone, and mark them at the bench"),
            ));
        }
        check.asked = Some(asked);
        Ok(check)
    }

    /// A check whose photos are still to come; marks, sizes and measuring are left to whoever is at the bench.
    ///
    /// # Errors
    /// Bad input for a check that is not measured from photos.
    pub fn for_desk(
        workshop: Arc<Workshop>,
        kind: CheckKind,
        hear: impl Fn(&Event) + Send + Sync + 'static,
    ) -> Result<Self, Failure> {
        let wish = Wish::of(kind).ok_or_else(|| {
            Failure::bad_input(
                say!("a {} check is not measured from photos", kind.name()),
                say!("hand in what it is measured from"),
            )
        })?;
        Ok(Self {
            workshop,
            kind,
            asked: None,
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

    /// Takes over which photos the check has by now; gives those that arrived since it was asked last, and whether the
    /// phone asked meanwhile that the bench goes on.
    pub fn since(&self, photos: Vec<PhotoAdded>) -> (Vec<PhotoAdded>, bool) {
        let mut state = locked(&self.state);
        let arrived = std::mem::take(&mut state.arrived);
        state.photos = photos;
        // The same photo may have been handed in at the bench.
        let new: Vec<PhotoAdded> = arrived
            .into_iter()
            .filter(|photo| state.photos.iter().all(|known| known.id != photo.id))
            .collect();
        state.photos.extend(new.iter().cloned());
        (new, std::mem::take(&mut state.wished))
    }

    /// What the phone is told of the check from now on.
    pub fn tell(&self, told: PhoneTold) {
        locked(&self.state).told = told;
    }

    /// The photos taken in so far: name and unchanged bytes.
    ///
    /// # Errors
    /// Not found for one that was dropped from memory meanwhile.
    pub async fn photos(&self) -> Result<Vec<(String, Arc<[u8]>)>, Failure> {
        let photos: Vec<PhotoAdded> = locked(&self.state).all().cloned().collect();
        let mut out = Vec::with_capacity(photos.len());
        for photo in photos {
            out.push((photo.name, self.workshop.photo(&photo.id).await?));
        }
        Ok(out)
    }

    /// Waits until the phone was told a result, or that it has handed over.
    pub async fn told_result(&self) {
        self.told.notified().await;
    }

    fn ids(&self) -> Vec<String> {
        locked(&self.state).all().map(|photo| photo.id.clone()).collect()
    }
}

impl PhoneCheck {
    fn measure_here(&self, mut request: MeasureRequest) {
        let photos = self.ids().into_iter().map(|file| JobPhoto {
            file,
            marks: BTreeMap::new(),
        });
        request.job.photos = photos.collect();
        let (workshop, state) = (self.workshop.clone(), self.state.clone());
        tokio::spawn(async move {
            // In a task of its own, so that a fault does not leave a check that is measured for ever.
            let run = tokio::spawn(async move { workshop.measure(request, |_| {}).await });
            let outcome = run.await.unwrap_or_else(|_| {
                Err(Failure::internal(say!(
                    "the measurement stopped by a fault of the program"
                )))
            });
            let mut state = locked(&state);
            state.told = PhoneTold {
                measuring: false,
                result: outcome.as_ref().ok().map(|measured| measured.result.clone()),
                failure: outcome.as_ref().err().cloned(),
            };
            state.outcome = Some(outcome);
        });
    }
}

impl Bench for PhoneCheck {
    async fn standing(&self) -> Value {
        let standing = {
            let state = locked(&self.state);
            let PhoneTold {
                measuring,
                result,
                failure,
            } = state.told.clone();
            PhoneStanding {
                check: self.kind,
                shows: self.shows.clone(),
                photos: state.all().cloned().collect(),
                by_hand: is_by_hand(self.kind),
                handed_over: state.handed_over,
                measuring,
                result,
                failure,
            }
        };
        if !standing.measuring && (standing.result.is_some() || (standing.by_hand && standing.handed_over)) {
            self.told.notify_one();
        }
        value(&standing).unwrap_or(Value::Null)
    }

    async fn look(&self, frame: Frame) -> Result<Value, Refusal> {
        let request = LookRequest {
            check: self.kind,
            width: frame.width,
            height: frame.height,
            photo_width: frame.photo_width,
            photo_ids: self.ids(),
        };
        let look = self.workshop.look(request, frame.grey).await.map_err(refusal)?;
        value(&look)
    }

    async fn keep(&self, photo: ReceivedPhoto) -> Result<Value, Refusal> {
        if !photo.bytes.starts_with(JPEG) {
            return Err(Refusal::bad_input(
                say!(
                    "{}: this is no JPEG, and a phone hands in nothing else",
                    photo.name
                ),
                say!("set the phone's camera to JPEG, or add the picture at the bench"),
            ));
        }
        let added = self
            .workshop
            .add_photo(&photo.name, photo.bytes)
            .await
            .map_err(refusal)?;
        let shown = |name: &String| added.found.iter().any(|found| found.name == *name);
        let kept = !photo.by_itself || self.shows.iter().all(shown);
        if kept {
            locked(&self.state).arrived.push(added.clone());
        } else {
            self.workshop.forget_photos(std::slice::from_ref(&added.id));
            locked(&self.state).dropped.insert(photo.sha256);
        }
        value(&PhoneKept { kept, photo: added })
    }

    async fn measure(&self) -> Result<Value, Refusal> {
        {
            let mut state = locked(&self.state);
            if state.told.measuring {
                return Err(Refusal::bad_input(
                    say!("it is being measured"),
                    say!("wait for the result"),
                ));
            }
            state.handed_over = true;
            state.wished = true;
            // What needs no hand is measured at once; whoever is at the bench tells how that ends.
            state.told.measuring = !is_by_hand(self.kind);
        }
        if let Some(asked) = self.asked.clone() {
            self.measure_here(asked);
        }
        Ok(serde_json::json!({ "measuring": !is_by_hand(self.kind) }))
    }

    /// The server takes a shot that does not count for one that was kept: nobody is to be told that it arrived.
    fn hear(&self, event: &Event) {
        if let Event::Kept { sha256 } = event
            && locked(&self.state).dropped.contains(sha256)
        {
            return;
        }
        (self.hear)(event);
    }
}

fn value(said: &impl Serialize) -> Result<Value, Refusal> {
    serde_json::to_value(said).map_err(|error| refusal(Failure::internal(Phrase::foreign(error.to_string()))))
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
