//! What a request must say before anything of it is looked at: that it is meant for this server, and comes from its page.

use crate::answer::{Answer, refuse};
use hyper::header::{HOST, HeaderMap, ORIGIN};
use hyper::{Method, StatusCode, Uri};
use shimwright_say::say;

/// Turns away requests that were meant for another name (a name that was bound anew to this address, DNS rebinding) or
/// that the page of another site makes a browser send.
pub(crate) fn check(
    method: &Method,
    uri: &Uri,
    headers: &HeaderMap,
    authority: &str,
) -> Result<(), Box<Answer>> {
    let named = uri.authority().is_none_or(|given| given.as_str() == authority);
    if !named || only(headers, HOST.as_str()) != Some(authority) {
        return Err(Box::new(refuse(
            StatusCode::MISDIRECTED_REQUEST,
            "bad-input",
            say!("the request is for another address"),
            say!("open the address that the bench shows"),
        )));
    }
    let own = format!("https://{authority}");
    let reads = method == Method::GET;
    let from_here = match headers.get(ORIGIN) {
        // Browsers name the origin of whatever changes something.
        None => reads,
        Some(_) => only(headers, ORIGIN.as_str()) == Some(own.as_str()),
    };
    let site_fits = match headers.get("sec-fetch-site") {
        None => true,
        Some(site) => site == "same-origin" || (reads && site == "none"),
    };
    if !from_here || !site_fits {
        return Err(Box::new(refuse(
            StatusCode::FORBIDDEN,
            "bad-input",
            say!("the request comes from another page"),
            say!("open the address that the bench shows"),
        )));
    }
    Ok(())
}

/// The value of a header that is there once.
fn only<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    let mut values = headers.get_all(name).iter();
    let first = values.next()?.to_str().ok()?;
    values.next().is_none().then_some(first)
}

#[cfg(test)]
mod tests {
    use super::*;
    use hyper::header::{HeaderName, HeaderValue};

    const AUTHORITY: &str = "192.168.1.20:4433";
    const OWN: &str = "https://192.168.1.20:4433";

    fn status(method: Method, uri: &str, said: &[(&'static str, &str)]) -> u16 {
        let mut headers = HeaderMap::new();
        for (name, value) in said {
            let value = HeaderValue::from_str(value).expect("a value");
            headers.append(HeaderName::from_static(name), value);
        }
        let uri: Uri = uri.parse().expect("an address");
        check(&method, &uri, &headers, AUTHORITY).map_or_else(|answer| answer.status().as_u16(), |()| 200)
    }

    #[test]
    fn a_name_bound_anew_is_turned_away() {
        for host in [
            "attacker.example",
            "192.168.1.20",
            "192.168.1.20:443",
            "localhost:4433",
            "",
        ] {
            assert_eq!(status(Method::GET, "/", &[("host", host)]), 421, "{host}");
        }
        assert_eq!(status(Method::GET, "/", &[]), 421);
        assert_eq!(
            status(Method::GET, "/", &[("host", AUTHORITY), ("host", AUTHORITY)]),
            421
        );
        let absolute = status(Method::GET, "https://attacker.example/", &[("host", AUTHORITY)]);
        assert_eq!(absolute, 421);
        assert_eq!(status(Method::GET, "/", &[("host", AUTHORITY)]), 200);
    }

    #[test]
    fn another_site_is_turned_away() {
        let post = |said: &[(&'static str, &str)]| {
            let said: Vec<_> = [("host", AUTHORITY)].iter().chain(said).copied().collect();
            status(Method::POST, "/api/pair", &said)
        };
        assert_eq!(post(&[("origin", OWN)]), 200);
        assert_eq!(post(&[("origin", OWN), ("sec-fetch-site", "same-origin")]), 200);
        assert_eq!(post(&[]), 403);
        for origin in [
            "null",
            "https://attacker.example",
            "http://192.168.1.20:4433",
            "https://192.168.1.20",
        ] {
            assert_eq!(post(&[("origin", origin)]), 403, "{origin}");
        }
        for site in ["cross-site", "same-site", "none"] {
            assert_eq!(post(&[("origin", OWN), ("sec-fetch-site", site)]), 403, "{site}");
        }
        let linked = [("host", AUTHORITY), ("sec-fetch-site", "cross-site")];
        assert_eq!(status(Method::GET, "/", &linked), 403);
        let typed = [("host", AUTHORITY), ("sec-fetch-site", "none")];
        assert_eq!(status(Method::GET, "/", &typed), 200);
    }
}
