//! What may be asked for, and what comes back.

use crate::answer::{Answer, content, json, refuse};
use crate::pairing::Tried;
use crate::room::Room;
use crate::uploads::{Added, Announced, Odd};
use crate::{Bench, Frame, Refusal, gate, locked};
use http_body_util::{BodyExt, Limited};
use hyper::body::{Body, Bytes, Incoming};
use hyper::header::{AUTHORIZATION, CONTENT_TYPE, HeaderMap};
use hyper::{Method, Request, StatusCode};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::json;
use shimwright_phrase::Phrase;
use shimwright_say::say;
use std::net::IpAddr;
use std::sync::Arc;
use std::time::Instant;

/// Most bytes of a message in JSON.
const MESSAGE_BYTES: usize = 4096;

/// An answer, or the refusal that ends a request early; boxed, because answers are large.
type Outcome = Result<Answer, Box<Answer>>;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Code {
    code: String,
}

/// Answers a request.
pub(crate) async fn respond<B: Bench>(
    room: Arc<Room<B>>,
    from: IpAddr,
    request: Request<Incoming>,
) -> Answer {
    answer(room, from, request)
        .await
        .unwrap_or_else(|refusal| *refusal)
}

async fn answer<B: Bench>(room: Arc<Room<B>>, from: IpAddr, request: Request<Incoming>) -> Outcome {
    let (method, uri) = (request.method().clone(), request.uri().clone());
    gate::check(&method, &uri, request.headers(), &room.authority)?;
    if !room.guests.may_ask(from, Instant::now()) {
        return Err(no(
            StatusCode::TOO_MANY_REQUESTS,
            say!("too many requests in a second"),
            say!("wait a moment"),
        ));
    }
    let path = uri.path();
    if path == "/api/pair" && method == Method::POST {
        return pair(&room, from, request).await;
    }
    if path == "/api/certificate" && method == Method::GET {
        return Ok(json(StatusCode::OK, &json!({ "fingerprint": room.fingerprint })));
    }
    if !path.starts_with("/api/") {
        return page(&room, &method, path);
    }
    admit(&room, request.headers())?;
    // A page that lies open asks where the check stands, and is not used for that.
    if path != "/api/standing" {
        room.is_used(Instant::now());
    }
    let photo = path.strip_prefix("/api/photos/");
    match (method.as_str(), path, photo) {
        ("GET", "/api/standing", _) => Ok(json(StatusCode::OK, &room.bench.standing().await)),
        ("POST", "/api/look", _) => look(&room, uri.query(), request).await,
        ("POST", "/api/photos", _) => announce(&room, request).await,
        ("PUT", _, Some(sha256)) => piece(room, sha256, uri.query(), request).await,
        ("POST", "/api/measure", _) => Ok(told(room.bench.measure().await)),
        _ => Err(no(
            StatusCode::NOT_FOUND,
            say!("there is nothing of this name"),
            say!("reload the page"),
        )),
    }
}

fn page<B: Bench>(room: &Room<B>, method: &Method, path: &str) -> Outcome {
    if method != Method::GET {
        return Err(no(
            StatusCode::METHOD_NOT_ALLOWED,
            say!("this can only be read"),
            say!("reload the page"),
        ));
    }
    match room.page.file(path) {
        Some((kind, bytes)) => Ok(content(StatusCode::OK, kind, bytes)),
        None => Err(no(
            StatusCode::NOT_FOUND,
            say!("there is no such page"),
            say!("open the address that the bench shows"),
        )),
    }
}

async fn pair<B: Bench>(room: &Room<B>, from: IpAddr, request: Request<Incoming>) -> Outcome {
    let Code { code } = message(room, request).await?;
    match room.pair(&code, from, Instant::now()) {
        Tried::Paired(token) => Ok(json(StatusCode::OK, &json!({ "token": token }))),
        Tried::Wrong { left } => Err(no(
            StatusCode::FORBIDDEN,
            say!("the code is wrong; tries left: {left}"),
            say!("type the digits that the bench shows"),
        )),
        Tried::Spent => Err(no(
            StatusCode::GONE,
            say!("a phone is paired already, and a code is good for one"),
            say!("start receiving again at the bench"),
        )),
        Tried::Over => Err(no(
            StatusCode::GONE,
            say!("the code is good no more"),
            say!("start receiving again at the bench"),
        )),
    }
}

fn admit<B: Bench>(room: &Room<B>, headers: &HeaderMap) -> Result<(), Box<Answer>> {
    let said = headers.get(AUTHORIZATION).and_then(|value| value.to_str().ok());
    let token = said
        .and_then(|said| said.strip_prefix("Bearer "))
        .unwrap_or_default();
    if room.admits(token) {
        return Ok(());
    }
    Err(no(
        StatusCode::UNAUTHORIZED,
        say!("this phone is not paired"),
        say!("type the code that the bench shows"),
    ))
}

async fn look<B: Bench>(room: &Room<B>, query: Option<&str>, request: Request<Incoming>) -> Outcome {
    let side = |name| {
        number(query, name)
            .and_then(|side| u32::try_from(side).ok())
            .filter(|side| *side > 0)
    };
    let (Some(width), Some(height), Some(photo_width)) = (side("width"), side("height"), side("photo_width"))
    else {
        return Err(no(
            StatusCode::BAD_REQUEST,
            say!("width, height and photo_width are no whole numbers above zero"),
            say!("reload the page"),
        ));
    };
    let Ok(_turn) = room.looking.try_acquire() else {
        return Err(no(
            StatusCode::TOO_MANY_REQUESTS,
            say!("another picture is being looked at"),
            say!("send one after the other"),
        ));
    };
    let grey = body(request, "application/octet-stream", room.limits.frame_bytes, room).await?;
    if u64::from(width) * u64::from(height) != grey.len() as u64 {
        return Err(no(
            StatusCode::BAD_REQUEST,
            say!("{} bytes are no picture of {width} x {height} pixels", grey.len()),
            say!("send a byte a pixel"),
        ));
    }
    let frame = Frame {
        width,
        height,
        photo_width,
        grey: grey.to_vec(),
    };
    Ok(told(room.bench.look(frame).await))
}

async fn announce<B: Bench>(room: &Room<B>, request: Request<Incoming>) -> Outcome {
    let photo: Announced = message(room, request).await?;
    let place = {
        let mut uploads = locked(&room.uploads);
        (!uploads.must_wait(&photo.sha256)).then(|| uploads.announce(photo))
    };
    place.map(told).ok_or_else(|| {
        no(
            StatusCode::TOO_MANY_REQUESTS,
            say!("another photo is being looked at"),
            say!("send one after the other"),
        )
    })
}

async fn piece<B: Bench>(
    room: Arc<Room<B>>,
    sha256: &str,
    query: Option<&str>,
    request: Request<Incoming>,
) -> Outcome {
    let Some(at) = number(query, "at").and_then(|at| usize::try_from(at).ok()) else {
        return Err(no(
            StatusCode::BAD_REQUEST,
            say!("`at` is no whole number"),
            say!("reload the page"),
        ));
    };
    let bytes = body(
        request,
        "application/octet-stream",
        room.limits.piece_bytes,
        &room,
    )
    .await?;
    let added = locked(&room.uploads).add(sha256, at, &bytes);
    match added {
        Ok(Added::More(place)) => Ok(json(StatusCode::OK, &place)),
        Ok(Added::Whole(photo)) => Ok(json(StatusCode::OK, &room.hand_on(photo).await)),
        Err(Odd::Elsewhere(place)) => Ok(json(StatusCode::CONFLICT, &place)),
        Err(Odd::NotAnnounced) => Err(no(
            StatusCode::NOT_FOUND,
            say!("no photo of this sum is coming"),
            say!("announce it first"),
        )),
        Err(Odd::TooMany { announced }) => Err(no(
            StatusCode::PAYLOAD_TOO_LARGE,
            say!("the photo was announced with {announced} bytes and has more"),
            say!("announce it anew"),
        )),
        Err(Odd::OtherSum) => Err(no(
            StatusCode::UNPROCESSABLE_ENTITY,
            say!("the photo changed on its way"),
            say!("send it again"),
        )),
    }
}

/// A message in JSON.
async fn message<B: Bench, T: DeserializeOwned>(
    room: &Room<B>,
    request: Request<Incoming>,
) -> Result<T, Box<Answer>> {
    let bytes = body(request, "application/json", MESSAGE_BYTES, room).await?;
    serde_json::from_slice(&bytes).map_err(|_| {
        no(
            StatusCode::BAD_REQUEST,
            say!("the message is not what is asked for here"),
            say!("reload the page"),
        )
    })
}

/// The bytes of a request of this kind: their number is stated beforehand, and they come in time.
async fn body<B: Bench>(
    request: Request<Incoming>,
    kind: &str,
    most: usize,
    room: &Room<B>,
) -> Result<Bytes, Box<Answer>> {
    if request
        .headers()
        .get(CONTENT_TYPE)
        .is_none_or(|stated| stated != kind)
    {
        let message = say!("the message is not of the kind {kind}");
        return Err(no(
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            message,
            say!("reload the page"),
        ));
    }
    let Some(stated) = request.body().size_hint().exact() else {
        return Err(no(
            StatusCode::LENGTH_REQUIRED,
            say!("the message does not state its length"),
            say!("reload the page"),
        ));
    };
    if stated > most as u64 {
        let message = say!("the message has {stated} bytes and the limit is {most}");
        return Err(no(
            StatusCode::PAYLOAD_TOO_LARGE,
            message,
            say!("send smaller pieces"),
        ));
    }
    let all = Limited::new(request.into_body(), most).collect();
    match tokio::time::timeout(room.limits.body_wait, all).await {
        Ok(Ok(bytes)) => Ok(bytes.to_bytes()),
        Ok(Err(_)) => Err(no(
            StatusCode::BAD_REQUEST,
            say!("the message was cut"),
            say!("send it again"),
        )),
        Err(_) => Err(no(
            StatusCode::REQUEST_TIMEOUT,
            say!("the message came too slowly"),
            say!("send it again"),
        )),
    }
}

/// A whole number of a query, written once and in digits.
fn number(query: Option<&str>, name: &str) -> Option<u64> {
    let mut values = query?.split('&').filter_map(|pair| {
        let (key, value) = pair.split_once('=')?;
        (key == name).then_some(value)
    });
    let value = values.next()?;
    let digits = !value.is_empty() && value.bytes().all(|sign| sign.is_ascii_digit());
    (digits && values.next().is_none()).then(|| value.parse().ok())?
}

fn told(said: Result<impl serde::Serialize, Refusal>) -> Answer {
    match said {
        Ok(said) => json(StatusCode::OK, &said),
        Err(refusal) => json(StatusCode::UNPROCESSABLE_ENTITY, &refusal),
    }
}

fn no(status: StatusCode, message: Phrase, hint: Phrase) -> Box<Answer> {
    Box::new(refuse(status, "bad-input", message, hint))
}
