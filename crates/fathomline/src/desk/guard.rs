//! What every request meets first: limits, the same-origin rule, and headers that keep a browser from mischief.

use super::Desk;
use super::sessions::{CSRF_HEADER, Guest};
use super::wire::Refused;
use axum::Json;
use axum::extract::{FromRequestParts, Request};
use axum::http::header::{CACHE_CONTROL, CONTENT_SECURITY_POLICY, COOKIE, HOST, ORIGIN};
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;
use std::time::Duration;

/// Longest path with its query \[bytes\].
const PATH_MOST: usize = 1024;
/// Time for one request, its body included; live updates go on for ever.
const REQUEST_WITHIN: Duration = Duration::from_secs(20);
/// Where live updates come from.
pub const LIVE: &str = "/api/live";

/// Nothing but our own files, no script in a page, in nobody's frame. Styles of single elements are moved by scripts.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; style-src-attr 'unsafe-inline'; \
    img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self'; manifest-src 'self'; worker-src 'self'; \
    base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

const FIXED: [(&str, &str); 7] = [
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("permissions-policy", "geolocation=(self), camera=(), microphone=()"),
    ("x-robots-tag", "noindex"),
];

/// An answer that says what is wrong and the way out.
pub fn refuse(
    status: StatusCode,
    code: &str,
    what: impl Into<String>,
    remedy: impl Into<String>,
) -> Response {
    (status, Json(Refused { code: code.into(), what: what.into(), remedy: remedy.into() })).into_response()
}

/// Every request passes here, and every answer on its way out.
pub async fn every(request: Request, next: Next) -> Response {
    let is_live = request.uri().path() == LIVE;
    let keeps = request.uri().path().starts_with("/api/") || request.uri().path().starts_with("/files/");
    let mut answer = match refused_at_once(&request) {
        Some(refused) => refused,
        None if is_live => next.run(request).await,
        None => match tokio::time::timeout(REQUEST_WITHIN, next.run(request)).await {
            Ok(answer) => answer,
            Err(_) => {
                refuse(StatusCode::REQUEST_TIMEOUT, "D004", "the request took too long", "send it again")
            }
        },
    };
    let headers = answer.headers_mut();
    for (name, value) in FIXED {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    headers.entry(CONTENT_SECURITY_POLICY).or_insert(HeaderValue::from_static(POLICY));
    if keeps {
        headers.entry(CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    }
    answer
}

fn refused_at_once(request: &Request) -> Option<Response> {
    let length = request.uri().path_and_query().map_or(0, |all| all.as_str().len());
    if length > PATH_MOST {
        let what = format!("the address is {length} bytes long");
        return Some(refuse(StatusCode::URI_TOO_LONG, "D003", what, "shorten it"));
    }
    if ![Method::GET, Method::HEAD].contains(request.method()) && !is_from_our_page(request.headers()) {
        let what = "the request comes from another page";
        return Some(refuse(StatusCode::FORBIDDEN, "D002", what, "open the desk's own page"));
    }
    None
}

/// What a browser says of where a request comes from; a program that is no browser says nothing.
fn is_from_our_page(headers: &HeaderMap) -> bool {
    let text = |name: &str| headers.get(name).map(|value| value.to_str().unwrap_or("?"));
    if text("sec-fetch-site").is_some_and(|site| !["same-origin", "none"].contains(&site)) {
        return false;
    }
    match (text(ORIGIN.as_str()), text(HOST.as_str())) {
        (None, _) => true,
        (Some(origin), Some(host)) => origin.split_once("://").is_some_and(|(_, from)| from == host),
        (Some(_), None) => false,
    }
}

/// A device that has joined.
pub struct Joined(pub Guest);

/// A device that has joined, and whose request comes from our own page.
pub struct Posted(pub Guest);

impl FromRequestParts<Arc<Desk>> for Joined {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, desk: &Arc<Desk>) -> Result<Self, Response> {
        guest(&parts.headers, desk).map(Joined).ok_or_else(|| {
            let remedy = "join with today's crew word or the QR code";
            refuse(StatusCode::UNAUTHORIZED, "D001", "this device has not joined", remedy)
        })
    }
}

impl FromRequestParts<Arc<Desk>> for Posted {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, desk: &Arc<Desk>) -> Result<Self, Response> {
        let Joined(guest) = Joined::from_request_parts(parts, desk).await?;
        let sent = parts.headers.get(CSRF_HEADER).and_then(|value| value.to_str().ok()).unwrap_or_default();
        if super::secrets::same(sent, &guest.csrf) {
            return Ok(Posted(guest));
        }
        let what = format!("the header {CSRF_HEADER} is missing or wrong");
        Err(refuse(StatusCode::FORBIDDEN, "D002", what, "load the page again"))
    }
}

/// The device behind a request, if it has joined.
pub fn guest(headers: &HeaderMap, desk: &Desk) -> Option<Guest> {
    let mut cookies = headers.get_all(COOKIE).iter();
    let first = cookies.next()?.to_str().ok()?;
    // Two cookie headers are not what a browser sends over HTTP/1.
    cookies.next().is_none().then(|| desk.sessions.guest(first)).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(all: &[(&'static str, &'static str)]) -> HeaderMap {
        all.iter()
            .map(|(name, value)| (HeaderName::from_static(name), HeaderValue::from_static(value)))
            .collect()
    }

    #[test]
    fn a_post_from_another_page_is_told_by_what_the_browser_says() {
        let ours = [("host", "10.0.0.2:7316"), ("origin", "http://10.0.0.2:7316")];
        assert!(is_from_our_page(&headers(&ours)));
        assert!(is_from_our_page(&headers(&[("host", "a")])), "no browser");
        for odd in [
            vec![("host", "10.0.0.2:7316"), ("origin", "http://10.0.0.2:7317")],
            vec![("host", "10.0.0.2"), ("origin", "null")],
            vec![("host", "10.0.0.2"), ("origin", "http://10.0.0.2"), ("sec-fetch-site", "cross-site")],
            vec![("origin", "http://10.0.0.2")],
        ] {
            assert!(!is_from_our_page(&headers(&odd)), "{odd:?}");
        }
    }
}
