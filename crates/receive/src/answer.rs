//! Answers, and what every one of them says to the browser.

use crate::Refusal;
use http_body_util::Full;
use hyper::body::Bytes;
use hyper::header::{HeaderName, HeaderValue};
use hyper::{Response, StatusCode};
use serde::Serialize;
use shimwright_phrase::Phrase;

/// An answer.
pub(crate) type Answer = Response<Full<Bytes>>;

/// Nothing from elsewhere runs in the page, nobody frames it, nothing is kept in a cache.
const ALWAYS: &[(&str, &str)] = &[
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; connect-src 'self'; \
         img-src 'self' blob: data:; media-src 'self' blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("cache-control", "no-store"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    (
        "permissions-policy",
        "camera=(self), geolocation=(), microphone=()",
    ),
];

/// An answer of a kind of content.
pub(crate) fn content(status: StatusCode, kind: &'static str, bytes: Bytes) -> Answer {
    let mut answer = Response::new(Full::new(bytes));
    *answer.status_mut() = status;
    let headers = answer.headers_mut();
    headers.insert(hyper::header::CONTENT_TYPE, HeaderValue::from_static(kind));
    for (name, value) in ALWAYS {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    answer
}

/// An answer in JSON.
pub(crate) fn json(status: StatusCode, value: &impl Serialize) -> Answer {
    match serde_json::to_vec(value) {
        Ok(bytes) => content(status, "application/json", bytes.into()),
        // Values made here have text for keys and finite numbers.
        Err(_) => content(
            StatusCode::INTERNAL_SERVER_ERROR,
            "application/json",
            Bytes::new(),
        ),
    }
}

/// A refusal of what was asked.
pub(crate) fn refuse(status: StatusCode, code: &str, message: Phrase, hint: Phrase) -> Answer {
    let refusal = Refusal {
        code: code.to_owned(),
        message,
        hint,
    };
    json(status, &refusal)
}
