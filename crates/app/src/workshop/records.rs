//! Records as PDF, and evidence bundles.

use super::{VERSION, Workshop, heavy};
use crate::bridge::Failure;
use crate::proof::{Issue, Package, Told, draw_record, gather, make_key, read_key};
use serde::{Deserialize, Serialize};
use shimwright_evidence::{Place, SealOptions, ShopKey, seal_bundle, sha256_hex};
use shimwright_history::{Seal, Time};
use shimwright_record::Board;
use shimwright_record::Phrase;
use shimwright_report::Paper;
use shimwright_say::say;
use std::sync::Arc;

/// Which record is wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordAsked {
    /// The visit, by its day or id; the newest one when absent.
    pub visit: Option<String>,
    /// `a4` or `letter`.
    pub paper: String,
}

/// A record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordMade {
    /// The PDF.
    pub pdf: Vec<u8>,
    /// The day of the visit.
    pub day: String,
    /// SHA-256 of the evidence.
    pub fingerprint: String,
}

/// Which bundle is wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BundleAsked {
    /// The record in it.
    pub record: RecordAsked,
    /// Whether it is signed with the shop's key, which is made when there is none.
    pub sign: bool,
    /// Whether the photos are handed out untouched, with the place where they were taken.
    pub with_place: bool,
}

/// A sealed bundle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BundleMade {
    /// The zip file.
    pub zip: Vec<u8>,
    /// The day of the visit.
    pub day: String,
    /// Its number among the board's sealed records.
    pub number: u32,
    /// SHA-256 of its manifest.
    pub seal: String,
    /// SHA-256 of the evidence.
    pub fingerprint: String,
    /// The key that it is signed with.
    pub public_key: Option<String>,
}

/// How a bundle was sealed, as the history keeps it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Form {
    program: String,
    paper: String,
    place: Place,
    public_key: Option<String>,
}

impl Workshop {
    /// The record of a visit as a PDF. Nothing is sealed.
    ///
    /// # Errors
    /// Not found, bad input for an unknown paper, or storage trouble.
    pub async fn record_pdf(&self, board: &Board, asked: &RecordAsked) -> Result<RecordMade, Failure> {
        let paper = paper(&asked.paper)?;
        let package = self.package(board, asked, Place::Kept).await?;
        let at = stamp(self.now());
        heavy(move || {
            let fingerprint = sha256_hex(&package.evidence.to_json()?);
            let issue = Issue {
                at,
                program: VERSION.to_owned(),
                fingerprint: fingerprint.clone(),
                sealed: None,
                public_key: None,
            };
            let pdf = draw_record(&package.evidence, &package.files, &issue, paper)?;
            Ok(RecordMade {
                pdf,
                day: package.evidence.visit.day,
                fingerprint,
            })
        })
        .await
    }

    /// Seals a visit into the board's chain. Asked again while nothing has changed, it gives the same bundle again, byte
    /// for byte, and the chain does not grow.
    ///
    /// # Errors
    /// Not found, bad input for an unknown paper or a photo whose place cannot be taken out, or storage trouble.
    pub async fn bundle(&self, board: &Board, asked: &BundleAsked) -> Result<BundleMade, Failure> {
        let paper = paper(&asked.record.paper)?;
        let place = if asked.with_place {
            Place::Kept
        } else {
            Place::Removed
        };
        let package = Arc::new(self.package(board, &asked.record, place).await?);
        if let (Place::Kept, Some(name)) = (place, package.copies.first()) {
            return Err(Failure::bad_input(
                say!(
                    "of {} photos of this visit, such as {name}, only copies without their place are here",
                    package.copies.len()
                ),
                say!("make the bundle on the bench that took them, or without their place"),
            )
            .about(name));
        }
        let key = if asked.sign {
            Some(Arc::new(self.make_shop_key()?))
        } else {
            None
        };
        let form = Form {
            program: VERSION.to_owned(),
            paper: paper.name().to_owned(),
            place,
            public_key: key.as_ref().map(|key| key.public().to_text()),
        };
        let form_text = serde_json::to_string(&form)
            .map_err(|error| Failure::internal(Phrase::foreign(error.to_string())))?;
        let fingerprint = sha256_hex(&package.evidence.to_json()?);
        let seals = self.history.seals(&board.id).await?;
        let last = seals.last();
        if let Some(last) = last.filter(|last| last.form == form_text && last.fingerprint == fingerprint) {
            let made = made(
                &package,
                &form,
                last.number,
                last.previous.clone(),
                last.at.clone(),
                key.clone(),
            )
            .await?;
            if made.seal == last.seal {
                return Ok(made);
            }
        }
        let number = last.map_or(1, |last| last.number + 1);
        let previous = last.map(|last| last.seal.clone());
        let at = stamp(self.now());
        let made = made(&package, &form, number, previous.clone(), at.clone(), key).await?;
        // Known before it is written: a bundle that gets lost on the way can be made again, byte for byte.
        let seal = Seal {
            number,
            visit_id: package.evidence.visit.id.clone(),
            seal: made.seal.clone(),
            previous,
            fingerprint,
            form: form_text,
            at,
        };
        self.history.add_seal(&board.id, &seal).await?;
        Ok(made)
    }

    /// The shop's public key, 64 hexadecimal digits; `None` when there is no key yet.
    ///
    /// # Errors
    /// Storage trouble, also when others may read the secret key.
    pub fn shop_key(&self) -> Result<Option<String>, Failure> {
        Ok(read_key(self.history.folder())?.map(|key| key.public().to_text()))
    }

    /// The shop's public key; the key is made when there is none yet.
    ///
    /// # Errors
    /// As [`Workshop::shop_key`].
    pub fn shop_key_made(&self) -> Result<String, Failure> {
        Ok(self.make_shop_key()?.public().to_text())
    }

    fn make_shop_key(&self) -> Result<ShopKey, Failure> {
        let mut seed = [0; 32];
        getrandom::fill(&mut seed)
            .map_err(|error| Failure::internal(say!("the system gives no random numbers ({error})")))?;
        make_key(self.history.folder(), seed)
    }

    async fn package(&self, board: &Board, asked: &RecordAsked, place: Place) -> Result<Package, Failure> {
        let visit = self.visit(board, asked.visit.as_deref()).await?;
        let checks = self.history.visit_checks(&visit.id).await?;
        let mut earlier = self.history.checks(&board.id).await?;
        earlier.reverse();
        let first = checks.first().map(|check| check.id.clone());
        // What came after the visit is not known to its record, so that the record stays the same.
        if let Some(first) = first.and_then(|first| earlier.iter().position(|check| check.id == first)) {
            earlier.truncate(first);
        }
        earlier.retain(|check| !checks.iter().any(|own| own.id == check.id));
        let told = Told {
            shop: self.history.shop().await?,
            service: self.history.service_done(&board.id).await?,
            board: board.clone(),
            visit,
            checks,
            earlier,
        };
        let store = self.history.photos().clone();
        heavy(move || gather(told, &store, place)).await
    }
}

async fn made(
    package: &Arc<Package>,
    form: &Form,
    number: u32,
    previous: Option<String>,
    at: String,
    key: Option<Arc<ShopKey>>,
) -> Result<BundleMade, Failure> {
    let (package, form) = (package.clone(), form.clone());
    heavy(move || {
        let evidence = &package.evidence;
        let paper = paper(&form.paper)?;
        let issue = Issue {
            at: at.clone(),
            program: form.program.clone(),
            fingerprint: sha256_hex(&evidence.to_json()?),
            sealed: Some((number, previous.clone())),
            public_key: form.public_key.clone(),
        };
        let pdf = draw_record(evidence, &package.files, &issue, paper)?;
        let options = SealOptions {
            program: form.program.clone(),
            number,
            previous,
            sealed_at: at,
            paper: form.paper.clone(),
            place: form.place,
        };
        let bundle = seal_bundle(evidence, &pdf, &package.files, &options, key.as_deref())?;
        Ok(BundleMade {
            zip: bundle.bytes,
            day: evidence.visit.day.clone(),
            number,
            seal: bundle.seal,
            fingerprint: bundle.fingerprint,
            public_key: form.public_key,
        })
    })
    .await
}

fn paper(name: &str) -> Result<Paper, Failure> {
    Paper::from_name(name).ok_or_else(|| {
        let known: Vec<&str> = Paper::ALL.into_iter().map(Paper::name).collect();
        Failure::bad_input(
            say!("there is no paper `{name}`"),
            say!("use one of {}", known.join(", ")),
        )
    })
}

fn stamp(at: Time) -> String {
    at.to_rfc3339_opts(chrono::SecondsFormat::Secs, false)
}
