//! Photos for the page: the original bytes by their SHA-256, by a scheme of their own and not as JSON.

use crate::Shop;
use shimwright_app::bridge::{Failure, FailureCode};
use tauri::http::{Request, Response, StatusCode, header};
use tauri::{Manager, Runtime, UriSchemeContext, UriSchemeResponder};

/// Answers a request for a photo, without holding up the page.
pub fn answer<R: Runtime>(
    context: UriSchemeContext<'_, R>,
    request: Request<Vec<u8>>,
    responder: UriSchemeResponder,
) {
    let app = context.app_handle().clone();
    let id = request.uri().path().trim_start_matches('/').to_owned();
    tauri::async_runtime::spawn(async move {
        let photo = match app.state::<Shop>().workshop() {
            Ok(workshop) => workshop.photo(&id).await,
            Err(failure) => Err(failure),
        };
        responder.respond(match photo {
            Ok(bytes) => picture(&bytes),
            Err(failure) => refusal(&failure),
        });
    });
}

fn picture(bytes: &[u8]) -> Response<Vec<u8>> {
    let mut response = Response::new(bytes.to_vec());
    let headers = response.headers_mut();
    headers.insert(
        header::CONTENT_TYPE,
        header::HeaderValue::from_static(kind(bytes)),
    );
    // The page lives under another scheme; only this window can ask at all.
    headers.insert(
        header::ACCESS_CONTROL_ALLOW_ORIGIN,
        header::HeaderValue::from_static("*"),
    );
    // The name is the content's own sum: it never changes.
    headers.insert(
        header::CACHE_CONTROL,
        header::HeaderValue::from_static("max-age=31536000, immutable"),
    );
    response
}

fn refusal(failure: &Failure) -> Response<Vec<u8>> {
    let mut response = Response::new(failure.message.as_bytes().to_vec());
    *response.status_mut() = match failure.code {
        FailureCode::NotFound | FailureCode::BadInput => StatusCode::NOT_FOUND,
        _ => StatusCode::INTERNAL_SERVER_ERROR,
    };
    response
}

/// The picture's type by its first bytes.
fn kind(bytes: &[u8]) -> &'static str {
    match bytes {
        [0xff, 0xd8, ..] => "image/jpeg",
        [0x89, b'P', b'N', b'G', ..] => "image/png",
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => "image/webp",
        [b'I', b'I', 42, 0, ..] | [b'M', b'M', 0, 42, ..] => "image/tiff",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_phrase::Phrase;

    #[test]
    fn a_picture_names_its_type_and_lets_the_page_read_it() {
        let response = picture(&[0xff, 0xd8, 0xff]);
        assert_eq!(response.headers()[header::CONTENT_TYPE], "image/jpeg");
        assert_eq!(response.headers()[header::ACCESS_CONTROL_ALLOW_ORIGIN], "*");
        assert_eq!(kind(b"RIFF1234WEBPVP8 "), "image/webp");
        assert_eq!(kind(b"MM\0*"), "image/tiff");
        assert_eq!(kind(b"hello"), "application/octet-stream");
    }

    #[test]
    fn a_photo_that_is_not_there_is_not_found() {
        let failure = Failure::not_found(
            Phrase::foreign("no such photo"),
            Phrase::foreign("look at the list"),
        );
        assert_eq!(refusal(&failure).status(), StatusCode::NOT_FOUND);
    }
}
